// The lines of a laboratory's uncertainty budget, as a job file states them.
#pragma once

#include <optional>
#include <vector>

#include "sievecloth/job.hpp"
#include "yaml/yaml_file.hpp"

namespace sievecloth {

/// Reads `lines:`; none where there is no such key. A contribution is a length; it is the product of value and sensitivity, as far
/// as their units tell, and where each line has one, `mean` is at least their root sum of squares times the coverage factor (JCGM
/// 100:2008, 5.1.2 and 6.2.1).
/// Errors: those of YamlMapping; wrong_value.
std::vector<BudgetLine> read_budget_lines(const YamlNode* node, const std::optional<StatedUncertainty>& mean,
                                          Complaints& complaints);

}  // namespace sievecloth
