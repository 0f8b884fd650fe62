// Looks for typing errors in a table: what no single value shows, but its neighbours and the formulas of the standards do.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "sievecloth/edition.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// A value that cannot be right, as far as its neighbours tell.
struct Implausibility {
  const Row* row = nullptr;  ///< of the edition that was looked through
  std::string value;         ///< `wire.maximum`
  std::string text;          ///< what looks wrong
  bool explained = false;    ///< an erratum of the table speaks of this value
};

/// Values that grow from a size to the next smaller one (counts: that fall); one preferred wire with two ranges; a wire range wider
/// than 0.80 d to 1.22 d; grades out of order; X or Y far from the formulas of ISO 3310-1 times the factor that most rows of the
/// table have; a limit of the standard deviation that does not fit X + Y; fewer than ten apertures or wires required of a
/// direction. In the order of these checks. Source: formulas of ISO 3310-1:1990, which all built-in editions follow within 0.8
/// to 1.31.
std::vector<Implausibility> find_implausible(const Edition& edition);

/// `X is 0.99 to 1.00 times 2/3 w^0.75 + 4 w^0.25, Y is ...`: how the tolerances follow the formulas of ISO 3310-1.
std::string describe_tolerances(const Edition& edition);

}  // namespace sievecloth
