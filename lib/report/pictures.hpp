// Charts of the readings: distribution, order and positions.
#pragma once

#include <vector>

#include "report/report_context.hpp"

namespace sievecloth {

/// Rows of charts, one chart for each direction that has apertures. Empty without readings; the map only if positions are given.
std::vector<Pictures> draw_readings(const ReportContext& of);

}  // namespace sievecloth
