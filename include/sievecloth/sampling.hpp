// Statistical inference from a sample to the apertures that were not measured. Figures are doubles in the unit of the input values;
// shares and probabilities are from 0 to 1. Undefined results are empty. Accuracy: 1e-9 relative unless stated. No allocation
// unless stated; thread-safe.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "sievecloth/observations.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// A closed interval.
struct Interval {
  double lower = 0;  ///< lower end
  double upper = 0;  ///< upper end
};

/// Mean (empty without values) and standard deviation (empty below two values).
struct Moments {
  std::int64_t n = 0;                        ///< values
  std::optional<double> mean;                ///< sum / n
  std::optional<double> standard_deviation;  ///< with n - 1
};
/// Computes the moments of `values`.
Moments moments(std::span<const double> values) noexcept;
/// The same of counted values.
Moments moments(std::span<const Counted> values) noexcept;
/// Returns the different values, ascending, and how often each occurs. Allocates.
std::vector<Counted> counted(std::span<const double> values);
/// Lag-1 autocorrelation of values in order: sum of (x_i - m)(x_(i+1) - m) over the sum of (x_i - m)^2. Empty below two values or
/// without a spread. Source: NIST StRD, univariate summary statistics.
std::optional<double> lag1_correlation(std::span<const double> values) noexcept;

/// How much wider the variance of values in order varies than with independent ones, given their lag-1 correlation, -0.5 to 1: that
/// of a moving average if negative, of an autoregression if positive (Bartlett).
double variance_inflation(double correlation) noexcept;

/// An estimated mean and how far it may be off.
struct MeanEstimate {
  double mean = 0;            ///< estimate
  double standard_error = 0;  ///< of that estimate
  double freedom = 0;         ///< degrees of freedom of the standard error, 1 or more
};

/// Returns the mean of independent values with the standard error s / sqrt(n). Empty below two values.
std::optional<MeanEstimate> mean_of(const Moments& moments) noexcept;

/// Returns the mean of the means of groups, each counted once however many readings it has, with their number less one as degrees
/// of freedom. Student's t then holds at 92 % confidence and above whatever the groups' sizes and the correlation within them: the
/// means are independent, and normal with unequal variances at worst. Empty below two groups. Source: Bakirov and Szekely, Journal
/// of Mathematical Sciences 139 (2006); Ibragimov and Mueller, Journal of Business and Economic Statistics 28 (2010).
std::optional<MeanEstimate> mean_of_groups(std::span<const GroupSums> groups, double reference);

/// Returns the difference a - b, with the smaller degrees of freedom of the two: its interval is never too narrow. Source: Mickey
/// and Brown, Annals of Mathematical Statistics 37 (1966).
MeanEstimate difference_of(const MeanEstimate& a, const MeanEstimate& b) noexcept;

/// Two-sided confidence interval for a mean (Student's t). Source: e-Handbook of Statistical Methods, 1.3.5.2.
Interval mean_interval(const MeanEstimate& estimate, double confidence);

/// Probability that a quantity estimated by `estimate` lies within the limits, by the same distribution as mean_interval: where the
/// interval crosses a limit, at most 1 less half of what the interval leaves out.
double probability_within(const MeanEstimate& estimate, double lower, double upper);

/// Smallest number of independent units, above `units`, whose interval would lie on one side of a limit `margin` away from the mean
/// with a probability of `assurance`, if the mean and the deviation `deviation` of one unit stay as they are (noncentral t). Empty
/// above `most`. Requires margin > 0, deviation > 0.
std::optional<std::int64_t> units_to_clear(double margin, double deviation, std::int64_t units, double confidence, double assurance,
                                           std::int64_t most);

/// Two-sided confidence interval for the standard deviation of independent values, whose tails are taken into account by their
/// kurtosis, and whose lag-1 correlation is `correlation`; a step `step` of the values is taken out (Sheppard). For 100 values and
/// more: of 95 %, at least 90 % hold with heavy tails or skewness, 94 % if normal. Requires values with a spread. Source: Bonett,
/// Computational Statistics & Data Analysis 50 (2006).
Interval deviation_interval(std::span<const Counted> values, double step, double correlation, double confidence);

/// The same from readings in groups: the wider, at each end, of the interval for normal groups and readings (Graybill and Wang,
/// Journal of the American Statistical Association 75 (1980), with the unweighted means of Thomas and Hultquist, Annals of
/// Statistics 6 (1978)) and of the jackknife of the logarithm over groups (Miller, Biometrika 61 (1974)). For ten groups and more,
/// of which at least one has a second reading, with a spread.
Interval deviation_interval(std::span<const GroupSums> groups, double step, double confidence);

/// One-sided upper confidence bound on a share of a large lot, given `count` of `n` in the sample (Clopper-Pearson). Requires 0 <=
/// count <= n and n >= 1.
double share_upper_bound(std::int64_t count, std::int64_t n, double confidence);

/// The same from readings in groups, given the sum over `groups` of the share within each: that sum counts, rounded up, as if each
/// group were one reading. Exact if the readings of a group are all alike, conservative otherwise.
double share_upper_bound_of_groups(double sum_of_shares, std::int64_t groups, double confidence);

/// The same for a lot of `total`: the greatest number in the whole lot that the sample does not rule out (hypergeometric). Requires
/// n <= total <= 2^31.
std::int64_t number_upper_bound(std::int64_t count, std::int64_t n, std::int64_t total, double confidence);

}  // namespace sievecloth
