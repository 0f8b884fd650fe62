// Where a measured value lies between its limits, as a small drawing.
#pragma once

#include <optional>

#include "report/report_context.hpp"

namespace sievecloth {

/// A drawing one line high: heavy strokes at the tolerance limits, a grey band and light strokes at the acceptance limits, a dot
/// for the value and a bar for its expanded uncertainty. An arrow stands for a value beyond the drawing. Empty if there is no value
/// or no limit.
std::optional<Drawing> limit_scale(const ReportContext& of, const Criterion& criterion);

}  // namespace sievecloth
