// Charts of the readings: distribution, order and positions.
#pragma once

#include <vector>

#include "report/shown.hpp"
#include "report/words.hpp"
#include "sievecloth/report.hpp"

namespace sievecloth {

/// Rows of charts, one chart for each direction that has apertures. Empty without readings; the map only if positions are given.
std::vector<Pictures> draw_readings(const Assessment& assessment, const std::vector<Reading>& readings, const Words& words,
                                    const Shown& shown);

}  // namespace sievecloth
