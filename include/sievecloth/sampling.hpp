// Statistical inference from a sample to the apertures that were not measured. Figures are doubles in the unit of the input values;
// shares and probabilities are from 0 to 1. Undefined results are empty. Accuracy: 1e-9 relative unless stated. No allocation
// unless stated; thread-safe.
#pragma once

#include <cstdint>
#include <optional>
#include <span>

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
/// Lag-1 autocorrelation of values in order: sum of (x_i - m)(x_(i+1) - m) over the sum of (x_i - m)^2. Empty below two values or
/// without a spread. Source: NIST StRD, univariate summary statistics.
std::optional<double> lag1_correlation(std::span<const double> values) noexcept;

/// Two-sided confidence interval for a mean with `standard_error` and `freedom` degrees of freedom (Student's t). Requires freedom
/// >= 1. Source: e-Handbook of Statistical Methods, 1.3.5.2.
Interval mean_interval(double mean, double standard_error, double freedom, double confidence);

/// Two-sided confidence interval for a standard deviation (chi-square). Requires freedom >= 1. Source: e-Handbook, 1.3.5.8.
Interval standard_deviation_interval(double standard_deviation, double freedom, double confidence);

/// One-sided upper confidence bound on a share of a large lot, given `count` of `n` in the sample (Clopper-Pearson). Requires 0 <=
/// count <= n and n >= 1.
double share_upper_bound(std::int64_t count, std::int64_t n, double confidence);

/// The same for a lot of `total`: the greatest number in the whole lot that the sample does not rule out (hypergeometric). Requires
/// n <= total <= 2^31.
std::int64_t number_upper_bound(std::int64_t count, std::int64_t n, std::int64_t total, double confidence);

/// One-sided upper confidence bound on the share of a normal population above `limit`, from the noncentral t distribution. Requires
/// n >= 2 and a standard deviation above 0; `n` may be an effective number. In the far tail it rests on the normal model alone. It
/// inverts the one-sided tolerance limit: at limit = mean + k(n, p) s, with k the tolerance factor, it is 1 - p. Source:
/// e-Handbook, 7.2.6.3, which computes it approximately.
double normal_share_upper_bound(double mean, double standard_deviation, double n, double limit, double confidence);

/// Readings in groups: one gap between two wires, or one field of view.
struct Clustering {
  std::int64_t n = 0;              ///< readings
  std::int64_t clusters = 0;       ///< groups with at least one reading
  double correlation = 0;          ///< intraclass correlation, from 0 to 1
  double design_effect = 1;        ///< readings equivalent to one independent reading, at least 1
  double effective_n = 0;          ///< n / design effect, never above n
  double mean_standard_error = 0;  ///< of the mean of all readings
  double mean_freedom = 0;         ///< clusters - 1; n - 1 if every group has a single reading
  double standard_deviation = 0;   ///< of the population: within and between groups combined
  double deviation_freedom = 0;    ///< of that (Welch-Satterthwaite), at most effective_n - 1
};

/// Partitions the variance of `values` into between and within groups (one-way analysis of variance, unequal sizes). `group[i]`,
/// from 0, is the group of `values[i]`. Empty below two groups or without a spread. Allocates one entry per group.
std::optional<Clustering> clustering(std::span<const double> values, std::span<const std::int32_t> group);

/// One-way analysis of variance: sums of squares between and within groups, and their ratio.
struct OneWay {
  std::int64_t between_freedom = 0;  ///< groups - 1
  std::int64_t within_freedom = 0;   ///< values - groups
  double between_square = 0;         ///< sum of squares
  double within_square = 0;          ///< sum of squares
  /// Mean square between over mean square within.
  double f() const noexcept {
    return between_square / static_cast<double>(between_freedom) / (within_square / static_cast<double>(within_freedom));
  }
};
/// Returns the analysis; empty below two groups, or if no group has a second value.
std::optional<OneWay> one_way(std::span<const double> values, std::span<const std::int32_t> group);

}  // namespace sievecloth
