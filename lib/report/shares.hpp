// Shares, probabilities and counts as one prints them: never more digits than they are worth.
#pragma once

#include <string>

#include "report/words.hpp"

namespace sievecloth {

/// In percent. What is nearer to none or to all than 0.0001 % is said to be so.
std::string shown_share(double share, const Words& words);
/// The same of an upper bound, which is never shown as less than 0.0001 %.
std::string shown_share_bound(double share, const Words& words);
/// The same of a probability, which is never none or all.
std::string shown_probability(double probability, const Words& words);
/// Whole from 100 on, with three significant digits; one decimal below 10.
std::string shown_count(double number);
/// The same of an upper bound, rounded up.
std::string shown_count_bound(double number);

}  // namespace sievecloth
