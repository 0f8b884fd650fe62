#include "check/uncertainty_terms.hpp"

#include <array>

#include <fmt/format.h>

#include "sievecloth/uncertainty.hpp"

namespace sievecloth {
namespace {

struct NamedFigure {
  std::string_view name;
  std::optional<StatedUncertainty> StatedUncertainties::*stated;
  std::optional<Uncertainty> FigureUncertainties::*known;
};

constexpr std::array<NamedFigure, 4> k_figures{
    {{"mean", &StatedUncertainties::mean, &FigureUncertainties::mean},
     {"largest", &StatedUncertainties::largest, &FigureUncertainties::largest},
     {"standard_deviation", &StatedUncertainties::standard_deviation, &FigureUncertainties::standard_deviation},
     {"wire", &StatedUncertainties::wire, &FigureUncertainties::wire}}};

// An uncertainty as large as the aperture was mistyped.
Result<void> check_size(const FigureUncertainties& known, Length nominal, const Where& where) {
  for (const NamedFigure& figure : k_figures) {
    const std::optional<Uncertainty>& one = known.*figure.known;
    if (!one || one->expanded_um < nominal.um()) continue;
    return Error{ErrorCode::wrong_value,
                 fmt::format("the expanded uncertainty ({}) cannot be as large as the aperture", figure.name),
                 fmt::format("{:.6g} um", one->expanded_um), "below " + to_text(nominal), where};
  }
  return {};
}

Result<void> check_capability(const Job& job, const FigureUncertainties& known, const Where& where) {
  for (const NamedFigure& figure : k_figures) {
    const std::optional<StatedUncertainty>& least = job.laboratory.capability.*figure.stated;
    const std::optional<Uncertainty>& one = known.*figure.known;
    if (!least || !one || !one->complete || one->expanded_um >= expanded_um(*least)) continue;
    return Error{ErrorCode::wrong_value,
                 fmt::format("the expanded uncertainty ({}) is below the laboratory's accredited capability (cmc)", figure.name),
                 fmt::format("{:.6g} um", one->expanded_um), fmt::format("at least {:.6g} um", expanded_um(*least)), where};
  }
  return {};
}

bool budget_is_smaller(const FigureUncertainties& known) {
  for (const NamedFigure& figure : k_figures) {
    const std::optional<Uncertainty>& one = known.*figure.known;
    if (one && one->budget_is_smaller) return true;
  }
  return false;
}

}  // namespace

Result<void> check_uncertainties(const Job& job, const Assessment& assessment) {
  const Where where = job.measured.uncertainty ? job.measured.uncertainty->where : Where{};
  const Length nominal = assessment.specification.row->nominal;
  for (const Direction direction : k_directions) {
    if (const Result<void> possible = check_size(assessment.uncertainty[direction], nominal, where); !possible) return possible;
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
