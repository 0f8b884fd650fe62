// Looks for typing errors in a table: what a reader of one value cannot see, but its neighbours show.
#pragma once

#include <string>
#include <vector>

#include "sievecloth/edition.hpp"

namespace sievecloth::tablegen {

struct Finding {
  std::string where;    ///< `19 mm, wire.maximum`
  std::string text;     ///< what looks wrong
  bool listed = false;  ///< an erratum of the table speaks of this value
};

/// Values that grow from a size to the next smaller one (counts: that fall); one preferred wire with two ranges; a wire range wider
/// than 0.80 d to 1.22 d; grades out of order; X or Y far from the formulas of ISO 3310-1; a limit of the standard deviation that
/// does not fit X + Y.
std::vector<Finding> find_implausible(const Edition& edition);

/// `X is 0.99 to 1.00 times 2/3 w^0.75 + 4 w^0.25, Y is ...`: how the tolerances follow the formulas of ISO 3310-1.
std::string describe_tolerances(const Edition& edition);

}  // namespace sievecloth::tablegen
