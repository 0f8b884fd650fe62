// One function for each criterion.
#pragma once

#include <optional>
#include <vector>

#include "sievecloth/assessment.hpp"

namespace sievecloth {

/// What all criteria of one assessment share.
struct Case {
  const Specification& specification;
  const Conditions& conditions;
  const Sample& sample;
  const std::optional<RequiredCount>& required;
  bool all_measured;

  const Row& row() const { return *specification.row; }
  const Rules& rules() const { return specification.edition->rules; }
};

/// Every criterion, in the order of CriterionId, warp before weft.
std::vector<Criterion> judge_all(const Case& the_case);

}  // namespace sievecloth
