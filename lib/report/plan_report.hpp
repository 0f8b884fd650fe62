// A plan as figures, as readings to fill in, and as a picture.
#pragma once

#include <string>

#include "sievecloth/plan.hpp"

namespace sievecloth {

/// The figures, and where to measure: a line for each field, as many as fit on a screen.
std::string plan_text(const Plan& plan);

/// The readings as read by `check`, with empty apertures and wires. Comment lines give instructions.
std::string plan_csv(const Plan& plan);

/// The piece and the measurement positions, as one SVG document with real text.
std::string plan_svg(const Plan& plan);

/// One JSON document, `"schema": "sievecloth-plan/1"`.
std::string plan_json(const Plan& plan);

}  // namespace sievecloth
