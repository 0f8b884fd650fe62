// Finds typing errors in a table: values that do not fit their neighbours or the formulas of the standards.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "sievecloth/edition.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// A value that does not fit its neighbours.
struct Implausibility {
  const Row* row = nullptr;  ///< row of the edition checked
  std::string value;         ///< `wire.maximum`
  std::string text;          ///< what looks wrong
  bool explained = false;    ///< an erratum of the table concerns this value
};

/// Finds, in this order: values that grow from a size to the next smaller one (counts: that fall); one preferred wire with two
/// ranges; a wire range wider than 0.80 d to 1.22 d; grades out of order; X or Y far from the formulas of ISO 3310-1 times the
/// factor of most rows of the table; a limit of the standard deviation that does not fit X + Y; fewer than ten apertures or wires
/// required in a direction. Source: formulas of ISO 3310-1:1990, which all built-in editions follow within 0.8 to 1.31.
std::vector<Implausibility> find_implausible(const Edition& edition);

/// `X is 0.99 to 1.00 times 2/3 w^0.75 + 4 w^0.25, Y is ...`: how the tolerances follow the formulas of ISO 3310-1.
std::string describe_tolerances(const Edition& edition);

}  // namespace sievecloth
