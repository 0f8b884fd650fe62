// Where a measured value lies between its limits, as a figure and as a small drawing.
#pragma once

#include <optional>

#include "report/report_context.hpp"

namespace sievecloth {

/// The expanded measurement uncertainty of the compared value [um], of K s where that is compared; empty if it is not fully known.
std::optional<double> expanded_uncertainty_um(const ReportContext& of, const Criterion& criterion);

/// A drawing one line high: heavy strokes at the tolerance limits, a grey band and light strokes at the acceptance limits, a dot
/// for the value and a bar for its expanded uncertainty. An arrow stands for a value beyond the drawing. Empty if there is no value
/// or no limit.
std::optional<Drawing> limit_scale(const ReportContext& of, const Criterion& criterion);

}  // namespace sievecloth
