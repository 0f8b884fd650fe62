#include "sievecloth/sampling.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include <boost/math/distributions/beta.hpp>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/hypergeometric.hpp>
#include <boost/math/distributions/non_central_t.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>

#include "base/in_double.hpp"

namespace sievecloth {
namespace {

using boost::math::cdf;
using boost::math::complement;
using boost::math::quantile;
using ChiSquared = boost::math::chi_squared_distribution<double, InDouble>;

double as_double(std::int64_t n) { return static_cast<double>(n); }

double squared(double value) { return value * value; }

/// What the analysis of variance needs of groups; each is counted once, whatever its size.
struct Groups {
  double count = 0;
  double n = 0;
  double within = 0;       // sum of squares
  double reciprocals = 0;  // sum of 1 / size
  std::vector<double> means;

  explicit Groups(std::span<const GroupSums> groups) {
    means.reserve(groups.size());
    for (const GroupSums& group : groups) {
      means.push_back(group.sum_um / as_double(group.n));
      within += within_of(group);
      n += as_double(group.n);
      reciprocals += 1 / as_double(group.n);
    }
    count = as_double(static_cast<std::int64_t>(groups.size()));
  }

  static double within_of(const GroupSums& group) {
    return std::max(0.0, group.squares_um2 - squared(group.sum_um) / as_double(group.n));
  }
};

/// Variance of all readings as the sum of two independent mean squares: s^2 = between + part_within * within.
struct TwoSquares {
  double between = 0;  // variance of the group means
  double within = 0;
  double part_within = 0;  // 1 - 1 / size, with the harmonic mean of the sizes
  double between_freedom = 0;
  double within_freedom = 0;

  double variance() const { return between + part_within * within; }
};

TwoSquares two_squares(const Groups& groups) {
  TwoSquares squares;
  squares.between = squared(moments(groups.means).standard_deviation.value_or(0));
  squares.between_freedom = groups.count - 1;
  squares.within_freedom = groups.n - groups.count;
  squares.within = squares.within_freedom > 0 ? groups.within / squares.within_freedom : 0;
  squares.part_within = 1 - groups.reciprocals / groups.count;
  return squares;
}

// Of the variance, for normal groups and readings (Graybill and Wang).
Interval normal_variance_interval(const TwoSquares& squares, double confidence) {
  const double tail = (1 - confidence) / 2;
  double below = 0, above = 0;
  for (const auto& [part, freedom] : {std::pair(squares.between, squares.between_freedom),
                                      std::pair(squares.part_within * squares.within, squares.within_freedom)}) {
    if (!(freedom > 0)) continue;
    const ChiSquared chi_squared(freedom);
    below += squared((1 - freedom / quantile(complement(chi_squared, tail))) * part);
    above += squared((freedom / quantile(chi_squared, tail) - 1) * part);
  }
  return {squares.variance() - std::sqrt(below), squares.variance() + std::sqrt(above)};
}

// Of the variance, by leaving out one group at a time (Miller). Empty if too little is left then.
std::optional<Interval> jackknife_interval(std::span<const GroupSums> all, const Groups& groups, double confidence) {
  const double mean = *moments(groups.means).mean;
  double squares = 0;
  for (const double of_group : groups.means) squares += squared(of_group - mean);
  const double rest = groups.count - 1;
  const double whole = std::log(two_squares(groups).variance());
  std::vector<double> pseudo;
  pseudo.reserve(all.size());
  for (std::size_t g = 0; g < all.size(); ++g) {
    const double n = as_double(all[g].n);
    const double between = (squares - squared(groups.means[g] - mean) * groups.count / rest) / (rest - 1);
    const double freedom = groups.n - n - rest;
    const double within = freedom > 0 ? (groups.within - Groups::within_of(all[g])) / freedom : 0;
    const double variance = between + (1 - (groups.reciprocals - 1 / n) / rest) * within;
    if (!(variance > 0)) return std::nullopt;
    pseudo.push_back(groups.count * whole - rest * std::log(variance));
  }
  const Interval logarithm = mean_interval(*mean_of(moments(pseudo)), confidence);
  return Interval{std::exp(logarithm.lower), std::exp(logarithm.upper)};
}

// From variances, without the variance that a step adds.
Interval deviation_of(const Interval& variance, double step) {
  const double of_step = step * step / 12;
  return {std::sqrt(std::max(0.0, variance.lower - of_step)), std::sqrt(std::max(0.0, variance.upper - of_step))};
}

// Mean of the values without the share `trim` of them at each end.
double trimmed_mean(std::span<const Counted> values, std::int64_t trim, std::int64_t n) {
  double sum = 0;
  std::int64_t before = 0;
  for (const Counted& value : values) {
    const std::int64_t first = std::max(before, trim), last = std::min(before + value.count, n - trim);
    if (last > first) sum += as_double(last - first) * (value.value_um - values.front().value_um);
    before += value.count;
  }
  return values.front().value_um + sum / as_double(n - 2 * trim);
}

// Probability that the interval of `n` units lies on one side of a limit `distance` standard deviations of one unit away.
double probability_to_clear(double distance, std::int64_t n, double confidence) {
  const double freedom = as_double(n - 1);
  const boost::math::students_t_distribution<double, InDouble> t(freedom);
  const double critical = quantile(complement(t, (1 - confidence) / 2));
  const double centre = distance * std::sqrt(as_double(n));
  constexpr double k_nearly_normal = 2000;  // degrees of freedom
  if (freedom > k_nearly_normal) return cdf(complement(boost::math::normal_distribution<double, InDouble>(centre), critical));
  return cdf(complement(boost::math::non_central_t_distribution<double, InDouble>(freedom, centre), critical));
}

}  // namespace

Moments moments(std::span<const double> values) noexcept {
  Moments result{.n = static_cast<std::int64_t>(values.size())};
  if (values.empty()) return result;
  double sum = 0;
  for (const double value : values) sum += value - values.front();
  const double mean = values.front() + sum / as_double(result.n);
  result.mean = mean;
  if (values.size() < 2) return result;
  double squares = 0;
  double rest = 0;  // rounding error of the mean
  for (const double value : values) {
    squares += (value - mean) * (value - mean);
    rest += value - mean;
  }
  result.standard_deviation = std::sqrt(std::max(0.0, squares - rest * rest / as_double(result.n)) / as_double(result.n - 1));
  return result;
}

Moments moments(std::span<const Counted> values) noexcept {
  Moments result;
  if (values.empty()) return result;
  double sum = 0;
  for (const Counted& value : values) {
    result.n += value.count;
    sum += as_double(value.count) * (value.value_um - values.front().value_um);
  }
  const double mean = values.front().value_um + sum / as_double(result.n);
  result.mean = mean;
  if (result.n < 2) return result;
  double squares = 0;
  for (const Counted& value : values) squares += as_double(value.count) * squared(value.value_um - mean);
  result.standard_deviation = std::sqrt(squares / as_double(result.n - 1));
  return result;
}

double variance_inflation(double correlation) noexcept {
  const double square = correlation * correlation;
  return correlation < 0 ? 1 + 2 * square : (1 + square) / (1 - square);
}

std::vector<Counted> counted(std::span<const double> values) {
  std::vector<double> sorted(values.begin(), values.end());
  std::sort(sorted.begin(), sorted.end());
  std::vector<Counted> result;
  for (const double value : sorted) {
    if (result.empty() || result.back().value_um != value) result.push_back({value, 0});
    ++result.back().count;
  }
  return result;
}

std::optional<double> lag1_correlation(std::span<const double> values) noexcept {
  const std::optional<double> mean = moments(values).mean;
  if (values.size() < 2) return std::nullopt;
  double products = 0;
  double squares = 0;
  for (std::size_t i = 0; i < values.size(); ++i) {
    const double deviation = values[i] - *mean;
    squares += deviation * deviation;
    if (i + 1 < values.size()) products += deviation * (values[i + 1] - *mean);
  }
  if (!(squares > 0)) return std::nullopt;
  return products / squares;
}

std::optional<MeanEstimate> mean_of(const Moments& known) noexcept {
  if (!known.standard_deviation) return std::nullopt;
  const double n = as_double(known.n);
  return MeanEstimate{*known.mean, *known.standard_deviation / std::sqrt(n), n - 1};
}

std::optional<MeanEstimate> mean_of_groups(std::span<const GroupSums> groups, double reference) {
  std::optional<MeanEstimate> estimate = mean_of(moments(Groups(groups).means));
  if (estimate) estimate->mean += reference;
  return estimate;
}

MeanEstimate difference_of(const MeanEstimate& a, const MeanEstimate& b) noexcept {
  return {a.mean - b.mean, std::hypot(a.standard_error, b.standard_error), std::min(a.freedom, b.freedom)};
}

Interval mean_interval(const MeanEstimate& estimate, double confidence) {
  const boost::math::students_t_distribution<double, InDouble> t(estimate.freedom);
  const double half = quantile(complement(t, (1 - confidence) / 2)) * estimate.standard_error;
  return {estimate.mean - half, estimate.mean + half};
}

double probability_within(const MeanEstimate& estimate, double lower, double upper) {
  if (!(estimate.standard_error > 0)) return lower <= estimate.mean && estimate.mean <= upper ? 1 : 0;
  const boost::math::students_t_distribution<double, InDouble> t(estimate.freedom);
  const double below = cdf(t, (lower - estimate.mean) / estimate.standard_error);
  const double above = cdf(complement(t, (upper - estimate.mean) / estimate.standard_error));
  return std::max(0.0, 1 - below - above);
}

std::optional<std::int64_t> units_to_clear(double margin, double deviation, std::int64_t units, double confidence, double assurance,
                                           std::int64_t most) {
  const auto clears = [&](std::int64_t n) { return probability_to_clear(margin / deviation, n, confidence) >= assurance; };
  std::int64_t low = std::max<std::int64_t>(units, 1);  // not enough
  if (low >= most) return std::nullopt;
  std::int64_t high = low + 1;
  while (high < most && !clears(high)) {
    low = high;
    high = std::min(most, 2 * high);
  }
  if (!clears(high)) return std::nullopt;
  while (high - low > 1) {
    const std::int64_t middle = low + (high - low) / 2;
    (clears(middle) ? high : low) = middle;
  }
  return high;
}

Interval deviation_interval(std::span<const Counted> values, double step, double correlation, double confidence) {
  const Moments known = moments(values);
  const double n = as_double(known.n);
  const auto trim = static_cast<std::int64_t>(n / (2 * std::sqrt(n - 4)));
  const double centre = trimmed_mean(values, trim, known.n);
  double fourth = 0;
  for (const Counted& value : values) fourth += as_double(value.count) * squared(squared(value.value_um - centre));
  const double variance = squared(*known.standard_deviation);
  const double kurtosis = n * fourth / squared((n - 1) * variance);
  const double z = quantile(complement(boost::math::normal_distribution<double, InDouble>(), (1 - confidence) / 2));
  const double correction = n / (n - z);
  const double half = z * correction * std::sqrt(std::max(0.0, kurtosis - (n - 3) / n) / (n - 1) * variance_inflation(correlation));
  const double middle = std::log(correction * variance);
  return deviation_of({std::exp(middle - half), std::exp(middle + half)}, step);
}

Interval deviation_interval(std::span<const GroupSums> all, double step, double confidence) {
  const Groups groups(all);
  Interval variance = normal_variance_interval(two_squares(groups), confidence);
  if (const std::optional<Interval> jackknife = jackknife_interval(all, groups, confidence)) {
    variance.lower = std::min(variance.lower, jackknife->lower);
    variance.upper = std::max(variance.upper, jackknife->upper);
  }
  return deviation_of(variance, step);
}

double share_upper_bound(std::int64_t count, std::int64_t n, double confidence) {
  if (count >= n) return 1;
  const boost::math::beta_distribution<double, InDouble> beta(as_double(count + 1), as_double(n - count));
  return quantile(beta, confidence);
}

std::int64_t number_upper_bound(std::int64_t count, std::int64_t n, std::int64_t total, double confidence) {
  const auto possible = [&](std::int64_t number) {
    const boost::math::hypergeometric_distribution<double, InDouble> drawn(static_cast<unsigned>(number), static_cast<unsigned>(n),
                                                                           static_cast<unsigned>(total));
    return cdf(drawn, static_cast<unsigned>(count)) > 1 - confidence;
  };
  std::int64_t low = count;                   // those found exist
  std::int64_t high = total - n + count + 1;  // one more than the unmeasured can contribute
  while (high - low > 1) {
    const std::int64_t middle = low + (high - low) / 2;
    (possible(middle) ? low : high) = middle;
  }
  return low;
}

double share_upper_bound_of_groups(double sum_of_shares, std::int64_t groups, double confidence) {
  constexpr double k_rounding = 1e-9;  // of a sum that is a whole number
  return share_upper_bound(static_cast<std::int64_t>(std::ceil(sum_of_shares - k_rounding)), groups, confidence);
}

}  // namespace sievecloth
