// What a sample says about the apertures that nobody measured. Figures are doubles in the unit of the values given; shares and
// probabilities are from 0 to 1. What is not defined is empty. Accuracy: 1e-9 relative unless stated. No allocation unless stated;
// thread-safe.
#pragma once

#include <cstdint>
#include <optional>
#include <span>

namespace [[gnu::visibility("default")]] sievecloth {

/// From one end to the other, both included.
struct Interval {
  double lower = 0;  ///< its lower end
  double upper = 0;  ///< its upper end
};

/// Mean, standard deviation and lag-1 autocorrelation of values in order. Empty below two values (for r: below two, or no spread).
struct Moments {
  std::int64_t n = 0;                        ///< values
  std::optional<double> mean;                ///< sum / n
  std::optional<double> standard_deviation;  ///< with n - 1
};
/// Of values in their order.
Moments moments(std::span<const double> values) noexcept;
/// Sum of (x_i - m)(x_(i+1) - m) over the sum of (x_i - m)^2. Source: NIST StRD, univariate summary statistics.
std::optional<double> lag1_correlation(std::span<const double> values) noexcept;

/// Two-sided interval for a mean known with `standard_error` and `freedom` degrees of freedom (Student's t). freedom >= 1.
/// Source: e-Handbook of Statistical Methods, 1.3.5.2.
Interval mean_interval(double mean, double standard_error, double freedom, double confidence);

/// Two-sided interval for a standard deviation (chi-square). freedom >= 1. Source: e-Handbook, 1.3.5.8.
Interval standard_deviation_interval(double standard_deviation, double freedom, double confidence);

/// One-sided upper bound on the share of a large lot, `count` of `n` having been found (Clopper and Pearson). 0 <= count <= n, n
/// >= 1.
double share_upper_bound(std::int64_t count, std::int64_t n, double confidence);

/// The same for a lot of `total`: the greatest number in the whole lot that the sample does not rule out (hypergeometric).
/// n <= total <= 2^31.
std::int64_t number_upper_bound(std::int64_t count, std::int64_t n, std::int64_t total, double confidence);

/// One-sided upper bound on the share above `limit` of a normal population, by the non-central t distribution. n >= 2, s > 0. `n`
/// may be an effective number. Rests on the normal model, in the far tail on nothing else. It is the one-sided tolerance limit
/// turned round: at limit = mean + k(n, p) s, k the tolerance factor, it is 1 - p. Source: e-Handbook, 7.2.6.3, computed there
/// approximately.
double normal_share_upper_bound(double mean, double standard_deviation, double n, double limit, double confidence);

/// Readings that come in groups: one gap between two wires, or one field of view.
struct Clustering {
  std::int64_t n = 0;              ///< readings
  std::int64_t clusters = 0;       ///< groups with a reading
  double correlation = 0;          ///< within a group, from 0 to 1
  double design_effect = 1;        ///< how many readings are worth one, at least 1
  double effective_n = 0;          ///< n / design effect, never above n
  double mean_standard_error = 0;  ///< of the mean of all readings
  double mean_freedom = 0;         ///< clusters - 1 where readings of a group agree, else n - 1
  double standard_deviation = 0;   ///< of the population: within and between groups together
  double deviation_freedom = 0;    ///< of that (Welch and Satterthwaite), at most effective_n - 1
};

/// Splits the spread of `values` into between and within groups (one-way analysis of variance, unequal sizes). `group[i]`, from 0,
/// is the group of `values[i]`. Empty below two groups, or with no spread. Allocates one entry for each group.
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
/// Empty below two groups, or where no group has a second value.
std::optional<OneWay> one_way(std::span<const double> values, std::span<const std::int32_t> group);

}  // namespace sievecloth
