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
#include <boost/math/tools/roots.hpp>

#include "base/in_double.hpp"

namespace sievecloth {
namespace {

using boost::math::cdf;
using boost::math::complement;
using boost::math::quantile;
using ChiSquared = boost::math::chi_squared_distribution<double, InDouble>;

// Returns the root of a monotonic function between two arguments that bracket it.
template <class Function>
double root(Function function, double low, double high) {
  std::uintmax_t steps = 200;
  const auto [below, above] =
      boost::math::tools::toms748_solve(function, low, high, boost::math::tools::eps_tolerance<double>(44), steps);
  return (below + above) / 2;
}

double as_double(std::int64_t n) { return static_cast<double>(n); }

/// Mean and sum of squares of each group, and further sums for the analysis of variance.
struct Groups {
  std::vector<double> sizes;
  std::vector<double> means;
  double n = 0;
  double mean = 0;
  double between = 0;
  double within = 0;
  double squared_sizes = 0;
  double harmonic_size = 0;
  double variance_of_means = 0;  // variance of the group means, each counted once
  double weighted_between = 0;   // sum of size^2 (group mean - mean)^2

  double count() const { return as_double(static_cast<std::int64_t>(sizes.size())); }
};

// Drops groups without a value.
void add_unweighted(Groups& groups) {
  std::vector<double> means;
  double reciprocals = 0;
  for (std::size_t g = 0; g < groups.sizes.size(); ++g) {
    if (groups.sizes[g] == 0) continue;
    means.push_back(groups.means[g]);
    reciprocals += 1 / groups.sizes[g];
  }
  std::erase(groups.sizes, 0.0);
  groups.harmonic_size = groups.count() / reciprocals;
  groups.variance_of_means = std::pow(moments(means).standard_deviation.value_or(0), 2);
}

Groups split(std::span<const double> values, std::span<const std::int32_t> group) {
  const std::int64_t last = values.empty() ? -1 : *std::max_element(group.begin(), group.end());
  Groups groups;
  groups.sizes.resize(static_cast<std::size_t>(last + 1));
  groups.means.resize(groups.sizes.size());
  groups.n = as_double(static_cast<std::int64_t>(values.size()));
  for (std::size_t i = 0; i < values.size(); ++i) {
    const auto at = static_cast<std::size_t>(group[i]);
    groups.sizes[at] += 1;
    groups.means[at] += (values[i] - groups.means[at]) / groups.sizes[at];
    groups.mean += (values[i] - groups.mean) / as_double(static_cast<std::int64_t>(i + 1));
  }
  for (std::size_t i = 0; i < values.size(); ++i) {
    const double residual = values[i] - groups.means[static_cast<std::size_t>(group[i])];
    groups.within += residual * residual;
  }
  for (std::size_t g = 0; g < groups.sizes.size(); ++g) {
    const double effect = groups.means[g] - groups.mean;
    groups.between += groups.sizes[g] * effect * effect;
    groups.squared_sizes += groups.sizes[g] * groups.sizes[g];
    groups.weighted_between += groups.sizes[g] * groups.sizes[g] * effect * effect;
  }
  add_unweighted(groups);
  return groups;
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

Interval mean_interval(double mean, double standard_error, double freedom, double confidence) {
  const boost::math::students_t_distribution<double, InDouble> t(freedom);
  const double half = quantile(complement(t, (1 - confidence) / 2)) * standard_error;
  return {mean - half, mean + half};
}

Interval standard_deviation_interval(double standard_deviation, double freedom, double confidence) {
  const ChiSquared chi_squared(freedom);
  const double tail = (1 - confidence) / 2;
  return {standard_deviation * std::sqrt(freedom / quantile(complement(chi_squared, tail))),
          standard_deviation * std::sqrt(freedom / quantile(chi_squared, tail))};
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

double normal_share_upper_bound(double mean, double standard_deviation, double n, double limit, double confidence) {
  const double root_n = std::sqrt(n);
  const double t = root_n * (limit - mean) / standard_deviation;
  const auto excess = [&](double centre) {
    return cdf(complement(boost::math::non_central_t_distribution<double, InDouble>(n - 1, centre), t)) - (1 - confidence);
  };
  double low = t - 1;
  for (double step = 1; excess(low) > 0 && step < 1e6; step *= 2) low -= step;
  const double centre = root(excess, low, std::max(t, 0.0) + 40);
  return cdf(complement(boost::math::normal_distribution<double, InDouble>(), centre / root_n));
}

std::optional<OneWay> one_way(std::span<const double> values, std::span<const std::int32_t> group) {
  const Groups groups = split(values, group);
  if (groups.count() < 2 || groups.n <= groups.count()) return std::nullopt;
  return OneWay{static_cast<std::int64_t>(groups.count()) - 1, static_cast<std::int64_t>(groups.n - groups.count()), groups.between,
                groups.within};
}

std::optional<Clustering> clustering(std::span<const double> values, std::span<const std::int32_t> group) {
  const Groups groups = split(values, group);
  const double n = groups.n;
  const double clusters = groups.count();
  if (clusters < 2 || !(groups.between + groups.within > 0)) return std::nullopt;
  Clustering result{.n = static_cast<std::int64_t>(n), .clusters = static_cast<std::int64_t>(clusters)};
  const double total = (groups.between + groups.within) / (n - 1);
  result.effective_n = n;
  result.mean_standard_error = std::sqrt(total / n);
  result.mean_freedom = result.deviation_freedom = n - 1;
  result.standard_deviation = std::sqrt(total);
  if (n <= clusters) return result;  // one reading per group: nothing is shared
  result.mean_freedom = clusters - 1;

  const double within = groups.within / (n - clusters);
  const double size = groups.harmonic_size;
  const double between = groups.variance_of_means;  // unweighted: for unequal sizes closer to chi-square than the weighted one
  if (between * size <= within) return result;
  const double of_groups = between - within / size;
  result.correlation = of_groups / (of_groups + within);
  result.standard_deviation = std::sqrt(of_groups + within);
  // Variance of the mean of all readings: readings of a group share the group's component.
  const double model = of_groups * groups.squared_sizes / (n * n) + within / n;
  const double robust = groups.weighted_between / (n * n) * clusters / (clusters - 1);
  const double error_square = std::max({model, robust, (of_groups + within) / n});
  result.mean_standard_error = std::sqrt(error_square);
  result.effective_n = std::min(n, (of_groups + within) / error_square);
  result.design_effect = n / result.effective_n;
  // s^2 = between + within (1 - 1 / size). Source: Thomas and Hultquist, Annals of Statistics 6 (1978).
  const double part_between = between;
  const double part_within = within * (1 - 1 / size);
  const double sum = part_between + part_within;
  const double satterthwaite =
      sum * sum / (part_between * part_between / (clusters - 1) + part_within * part_within / (n - clusters));
  // Being an estimate, it is too large as often as too small: limited to the effective number of readings.
  result.deviation_freedom = std::max(1.0, std::min(satterthwaite, result.effective_n - 1));
  return result;
}

}  // namespace sievecloth
