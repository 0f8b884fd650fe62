// The catalogue of criteria: one function for each, and what others have to know of it.
#pragma once

#include <optional>
#include <span>
#include <variant>
#include <vector>

#include "sievecloth/assessment.hpp"

namespace sievecloth {

/// What all criteria of one assessment share.
struct Case {
  const Specification& specification;
  const Conditions& conditions;
  const Evidence& evidence;
  const std::optional<RequiredCount>& required;
  bool all_measured;

  const Sample& sample() const { return evidence.sample; }
  const Row& row() const { return *specification.row; }
  const Rules& rules() const { return specification.edition->rules; }
};

/// One criterion of the catalogue. Whatever else has to know of a criterion asks here.
struct CatalogueEntry {
  using OfPiece = Criterion (*)(const Case&);
  using OfDirection = Criterion (*)(const Case&, Direction);

  CriterionId id;
  Compared compared;
  std::variant<OfPiece, OfDirection> judge;                        // once, or once for each direction
  double (*allowance_um)(const Row&, const Criterion&) = nullptr;  // of lengths alone
  bool (*is_rejected)(const Case&, Direction) = nullptr;           // whatever readings follow; nullptr: never before the end
};

/// Every criterion, in the order of CriterionId.
std::span<const CatalogueEntry> catalogue() noexcept;

/// Every criterion judged, in the order of the catalogue, warp before weft.
std::vector<Criterion> judge_all(const Case& the_case);

}  // namespace sievecloth
