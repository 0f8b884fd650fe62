// The catalogue of criteria: one function per criterion, and its properties.
#pragma once

#include <optional>
#include <span>
#include <variant>
#include <vector>

#include "sievecloth/assessment.hpp"

namespace sievecloth {

/// Inputs shared by all criteria of one assessment.
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

/// One criterion of the catalogue; the single source of its properties.
struct CatalogueEntry {
  using OfPiece = Criterion (*)(const Case&);
  using OfDirection = Criterion (*)(const Case&, Direction);

  CriterionId id;
  Compared compared;
  std::variant<OfPiece, OfDirection> judge;                        // once, or once per direction
  double (*allowance_um)(const Row&, const Criterion&) = nullptr;  // for lengths only
  bool (*is_rejected)(const Case&, Direction) = nullptr;           // whatever readings follow; nullptr: not before the end
};

/// Every criterion, in the order of CriterionId.
std::span<const CatalogueEntry> catalogue() noexcept;

/// Every criterion judged, in the order of the catalogue, warp before weft.
std::vector<Criterion> judge_all(const Case& the_case);

}  // namespace sievecloth
