#include "check/uncertainty_terms.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "sievecloth/uncertainty.hpp"

namespace sievecloth {
namespace {

// An uncertainty as large as the aperture or the wire was mistyped.
Result<void> check_size(const FigureUncertainties& known, const Row& row, const Where& where) {
  for (const CertifiedFigure figure : k_certified_figures) {
    const bool of_wire = figure == CertifiedFigure::wire;
    const Length nominal = of_wire ? row.wire.preferred.value : row.nominal;
    const std::optional<Uncertainty>& one = known[figure];
    if (!one || one->expanded_um < nominal.um()) continue;
    return Error{ErrorCode::wrong_value,
                 fmt::format("the expanded uncertainty ({}) cannot be as large as the {}", to_text(figure),
                             of_wire ? "wire" : "aperture"),
                 fmt::format("{:.6g} um", one->expanded_um), "below " + to_text(nominal), where};
  }
  return {};
}

Result<void> check_capability(const Job& job, const FigureUncertainties& known, const Where& where) {
  for (const CertifiedFigure figure : k_certified_figures) {
    const std::optional<StatedUncertainty>& least = job.laboratory.capability[figure];
    const std::optional<Uncertainty>& one = known[figure];
    if (!least || !one || !one->complete || one->expanded_um >= expanded_um(*least)) continue;
    return Error{
        ErrorCode::wrong_value,
        fmt::format("the expanded uncertainty ({}) is below the laboratory's accredited capability (cmc)", to_text(figure)),
        fmt::format("{:.6g} um", one->expanded_um), fmt::format("at least {:.6g} um", expanded_um(*least)), where};
  }
  return {};
}

bool budget_is_smaller(const FigureUncertainties& known) {
  return std::any_of(k_certified_figures.begin(), k_certified_figures.end(),
                     [&](CertifiedFigure figure) { return known[figure] && known[figure]->budget_is_smaller; });
}

}  // namespace

Result<void> check_uncertainties(const Job& job, const Assessment& assessment) {
  const Where where = job.measured.uncertainty ? job.measured.uncertainty->where : Where{};
  for (const Direction direction : k_directions) {
    if (const Result<void> possible = check_size(assessment.uncertainty[direction], *assessment.specification.row, where); !possible) return possible;
    if (const Result<void> capable = check_capability(job, assessment.uncertainty[direction], where); !capable) return capable;
  }
  return {};
}

void warn_of_uncertainties(Assessment& assessment) {
  const Row& row = *assessment.specification.row;
  for (const Direction direction : k_directions) {
    const FigureUncertainties& known = assessment.uncertainty[direction];
    if (budget_is_smaller(known)) assessment.warnings.push_back({.kind = Warning::Kind::budget_is_smaller, .direction = direction});
    const bool said = assessment.conditions.decision != DecisionRule::simple;  // by the criterion itself
    if (!said && known.mean && known.mean->expanded_um >= row.average_tolerance.value.um())
      assessment.warnings.push_back({.kind = Warning::Kind::too_uncertain, .direction = direction});
  }
}

}  // namespace sievecloth
