// The cells that are simulated: docs/statistics.md has the results.
#pragma once

#include "support/cells.hpp"

namespace sievecloth::test {

/// Every cell: good cloth, what coverage is claimed for, and faults of stated size.
std::vector<Cell> all_cells();

}  // namespace sievecloth::test
