// The factor K that covers a standard deviation from a small sample.
#pragma once

#include <cstdint>

#include "sievecloth/length.hpp"

namespace sievecloth {

/// K = sqrt((n - 1) / q), q the quantile of chi-square with n - 1 degrees of freedom at `tail_millionths` / 10^6. n >= 2.
/// Accuracy: 1e-12 relative. Source: e-Handbook of Statistical Methods, 7.2.3.1 (interval for a standard deviation).
double standard_deviation_factor(std::int64_t n, std::int32_t tail_millionths);

/// Returns the largest s for which K s <= limit holds despite the rounding of K: limit / K, less the accuracy of K, rounded down to
/// the picometre.
Length limit_without_factor(Length limit, double factor);

}  // namespace sievecloth
