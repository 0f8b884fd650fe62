// What the readings look like: their distribution, their order, and their places.
#pragma once

#include <vector>

#include "report/shown.hpp"
#include "report/words.hpp"
#include "sievecloth/report.hpp"

namespace sievecloth {

/// Rows of pictures, one picture for each direction that has apertures. None without readings; the map only where positions are
/// given.
std::vector<Pictures> draw_readings(const Assessment& assessment, const std::vector<Reading>& readings, const Words& words,
                                    const Shown& shown);

}  // namespace sievecloth
