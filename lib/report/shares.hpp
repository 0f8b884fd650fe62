// Shares, probabilities and counts as printed: never more digits than are justified.
#pragma once

#include <string>

#include "report/words.hpp"

namespace sievecloth {

/// In percent. Shares closer to none or to all than 0.0001 % are shown as such.
std::string shown_share(double share, const Words& words);
/// The same for an upper bound, which is never shown as less than 0.0001 %.
std::string shown_share_bound(double share, const Words& words);
/// The same for a probability, which is never shown as none or all.
std::string shown_probability(double probability, const Words& words);
/// Whole from 100 up, with three significant digits; one decimal below 10.
std::string shown_count(double number);
/// The same for an upper bound, rounded up.
std::string shown_count_bound(double number);

}  // namespace sievecloth
