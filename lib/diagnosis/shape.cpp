#include "diagnosis/shape.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include <Eigen/Dense>
#include <boost/math/distributions/binomial.hpp>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>

#include "base/in_double.hpp"
#include "sievecloth/sampling.hpp"

namespace sievecloth {
namespace {

using boost::math::cdf;
using boost::math::complement;
using boost::math::quantile;
using Normal = boost::math::normal_distribution<double, InDouble>;
using ChiSquared = boost::math::chi_squared_distribution<double, InDouble>;

double as_double(std::size_t n) { return static_cast<double>(n); }

std::vector<double> sorted(std::span<const double> values) {
  std::vector<double> copy(values.begin(), values.end());
  std::sort(copy.begin(), copy.end());
  return copy;
}

// Upper tail probability of the modified A^2.
double anderson_darling_p(double a) {
  if (a < 0.2) return 1 - std::exp(-13.436 + 101.14 * a - 223.73 * a * a);
  if (a < 0.34) return 1 - std::exp(-8.318 + 42.796 * a - 59.938 * a * a);
  if (a < 0.6) return std::exp(0.9177 - 4.279 * a - 1.38 * a * a);
  return a < 10 ? std::exp(1.2937 - 5.709 * a + 0.0186 * a * a) : 3.7e-24;
}

double anderson_darling_critical(double level) {
  double low = 0.2;
  double high = 10;
  for (int i = 0; i < 60; ++i) {
    const double middle = (low + high) / 2;
    (anderson_darling_p(middle) > level ? low : high) = middle;
  }
  return high;
}

/// Counts of equal values, as multiples of the step from the smallest.
struct Bins {
  double first = 0;
  double step = 1;
  std::vector<double> counts;

  double lower_end(std::size_t bin) const { return first + (as_double(bin) - 0.5) * step; }
};

constexpr std::size_t k_most_bins = 100'000;

std::optional<Bins> count_bins(std::span<const double> values, double step) {
  if (values.empty()) return std::nullopt;
  const auto [low, high] = std::minmax_element(values.begin(), values.end());
  const double width = std::round((*high - *low) / step);
  if (!(width >= 1) || width >= as_double(k_most_bins)) return std::nullopt;
  Bins bins{*low, step, std::vector<double>(static_cast<std::size_t>(width) + 1)};
  for (const double value : values) bins.counts[static_cast<std::size_t>(std::round((value - *low) / step))] += 1;
  return bins;
}

// Probability of a bin and its derivatives with respect to mean and deviation; the outermost bins extend to infinity.
struct Cell {
  double from, to;  // ends
  double count;
};

Eigen::Vector3d cell_probability(const Cell& cell, double mean, double deviation) {
  const Normal normal(mean, deviation);
  const auto below = [&](double at) -> Eigen::Vector3d {
    if (std::isinf(at)) return {at > 0 ? 1.0 : 0.0, 0, 0};
    const double density = pdf(normal, at);
    return {cdf(normal, at), -density, -density * (at - mean) / deviation};
  };
  return below(cell.to) - below(cell.from);
}

/// Fisher scoring: a few steps from the moments reach the maximum.
void fit_normal(const std::vector<Cell>& cells, double& mean, double& deviation) {
  double n = 0;
  for (const Cell& cell : cells) n += cell.count;
  for (int step = 0; step < 50; ++step) {
    Eigen::Vector2d score = Eigen::Vector2d::Zero();
    Eigen::Matrix2d information = Eigen::Matrix2d::Zero();
    for (const Cell& cell : cells) {
      const Eigen::Vector3d p = cell_probability(cell, mean, deviation);
      if (!(p[0] > 1e-300)) continue;
      score += cell.count / p[0] * p.tail<2>();
      information += n / p[0] * p.tail<2>() * p.tail<2>().transpose();
    }
    const Eigen::Vector2d change = information.ldlt().solve(score);
    if (!change.allFinite()) return;
    mean += change[0];
    deviation = std::max(deviation + change[1], deviation / 2);
    if (change.norm() < 1e-10 * deviation) return;
  }
}

std::vector<Cell> cells_of(const Bins& bins) {
  std::vector<Cell> cells;
  for (std::size_t i = 0; i < bins.counts.size(); ++i) cells.push_back({bins.lower_end(i), bins.lower_end(i + 1), bins.counts[i]});
  cells.front().from = -std::numeric_limits<double>::infinity();
  cells.back().to = std::numeric_limits<double>::infinity();
  return cells;
}

// Merges neighbours until each cell has an expected count of at least five.
std::vector<Cell> joined(const std::vector<Cell>& cells, double n, double mean, double deviation) {
  constexpr double k_least = 5;
  std::vector<Cell> result;
  double pending = 0;
  for (const Cell& cell : cells) {
    const double expected = n * cell_probability(cell, mean, deviation)[0];
    if (result.empty() || pending >= k_least) {
      result.push_back(cell);
      pending = expected;
    } else {
      result.back().to = cell.to;
      result.back().count += cell.count;
      pending += expected;
    }
  }
  if (pending < k_least && result.size() > 1) {
    const Cell last = result.back();
    result.pop_back();
    result.back().to = last.to;
    result.back().count += last.count;
  }
  return result;
}

TestResult chi_square(const std::vector<Cell>& cells, double n, double mean, double deviation, double level) {
  TestResult result;
  for (const Cell& cell : cells) {
    const double expected = n * cell_probability(cell, mean, deviation)[0];
    result.statistic += (cell.count - expected) * (cell.count - expected) / expected;
  }
  const ChiSquared distribution(as_double(cells.size() - 3));
  result.critical = quantile(complement(distribution, level));
  result.p_value = cdf(complement(distribution, result.statistic));
  return result;
}

double distance(const std::vector<Cell>& cells, double n, double mean, double deviation) {
  double below = 0;
  double greatest = 0;
  for (std::size_t i = 0; i + 1 < cells.size(); ++i) {
    below += cells[i].count;
    greatest = std::max(greatest, std::fabs(below / n - cdf(Normal(mean, deviation), cells[i].to)));
  }
  return greatest;
}

// Greatest distance between the sample's distribution function and the normal one with the same mean and deviation.
double distance_from_normal(std::span<const double> values) {
  const Moments known = moments(values);
  const std::vector<double> x = sorted(values);
  const Normal normal(*known.mean, *known.standard_deviation);
  double greatest = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double p = cdf(normal, x[i]);
    greatest = std::max({greatest, as_double(i + 1) / as_double(x.size()) - p, p - as_double(i) / as_double(x.size())});
  }
  return greatest;
}

/// A mixture of two normal distributions with equal deviation, fitted to weighted points by expectation-maximisation.
struct Mixture {
  double low, high, deviation, share;  // share: of the upper one
  double log_likelihood = 0;

  void fit(std::span<const double> points, std::span<const double> weights) {
    double before = -std::numeric_limits<double>::infinity();
    for (int step = 0; step < 500; ++step) {
      improve(points, weights);
      if (log_likelihood - before < 1e-5) return;
      before = log_likelihood;
    }
  }

 private:
  void improve(std::span<const double> points, std::span<const double> weights) {
    double n = 0, n_high = 0, sum_low = 0, sum_high = 0, squares = 0;
    log_likelihood = 0;
    const double scale = -0.5 / (deviation * deviation);
    for (std::size_t i = 0; i < points.size(); ++i) {
      const double x = points[i];
      const double density_low = (1 - share) * std::exp(scale * (x - low) * (x - low));
      const double density_high = share * std::exp(scale * (x - high) * (x - high));
      const double density = density_low + density_high + 1e-300;
      const double of_high = weights[i] * density_high / density;
      n += weights[i];
      n_high += of_high;
      sum_high += of_high * x;
      sum_low += (weights[i] - of_high) * x;
      squares += weights[i] * x * x;
      log_likelihood += weights[i] * std::log(density);
    }
    log_likelihood -= n * std::log(deviation * std::sqrt(2 * std::numbers::pi));
    const double n_low = n - n_high;
    if (n_high < 1e-9 * n || n_low < 1e-9 * n) return;
    low = sum_low / n_low;
    high = sum_high / n_high;
    share = n_high / n;
    deviation = std::sqrt(std::max((squares - n_low * low * low - n_high * high * high) / n, 1e-12));
  }
};

// Reduces the values to standardised, weighted points: at most 128, whatever n is.
void standardize(std::span<const double> values, const Moments& known, std::vector<double>& points, std::vector<double>& weights) {
  constexpr double k_points = 128;
  const auto [low, high] = std::minmax_element(values.begin(), values.end());
  const double width = (*high - *low) / k_points;
  std::map<std::int64_t, double> counts;
  for (const double value : values) counts[static_cast<std::int64_t>((value - *low) / width)] += 1;
  for (const auto& [at, count] : counts) {
    points.push_back((*low + (static_cast<double>(at) + 0.5) * width - *known.mean) / *known.standard_deviation);
    weights.push_back(count);
  }
}

double one_population(std::span<const double> points, std::span<const double> weights) {
  double n = 0, sum = 0, squares = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    n += weights[i];
    sum += weights[i] * points[i];
    squares += weights[i] * points[i] * points[i];
  }
  const double variance = squares / n - sum / n * (sum / n);
  return -n / 2 * (std::log(2 * std::numbers::pi * variance) + 1);
}

}  // namespace

std::optional<AndersonDarling> anderson_darling(std::span<const double> values, double level) {
  const Moments known = moments(values);
  if (known.n < 8 || !(*known.standard_deviation > 0)) return std::nullopt;
  const std::vector<double> x = sorted(values);
  const Normal normal(*known.mean, *known.standard_deviation);
  const double n = as_double(x.size());
  double sum = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    sum += (2 * as_double(i) + 1) * (std::log(cdf(normal, x[i])) + std::log(cdf(complement(normal, x[x.size() - 1 - i]))));
  }
  AndersonDarling result;
  result.a_squared = -n - sum / n;
  result.test.statistic = result.a_squared * (1 + 0.75 / n + 2.25 / (n * n));
  result.test.p_value = anderson_darling_p(result.test.statistic);
  result.test.critical = anderson_darling_critical(level);
  return result;
}

std::optional<BinnedNormal> binned_normal(std::span<const double> values, double step, double level) {
  const Moments known = moments(values);
  const std::optional<Bins> bins = count_bins(values, step);
  if (!bins || known.n < 3) return std::nullopt;
  const double n = static_cast<double>(known.n);
  BinnedNormal result{.mean = *known.mean, .deviation = std::max(*known.standard_deviation, step / 4)};
  const std::vector<Cell> cells = cells_of(*bins);
  fit_normal(cells, result.mean, result.deviation);
  result.distance = distance(cells, n, result.mean, result.deviation);
  const std::vector<Cell> large = joined(cells, n, result.mean, result.deviation);
  if (large.size() < 4) return result;
  double mean = result.mean;
  double deviation = result.deviation;
  fit_normal(large, mean, deviation);  // from the cells that are tested, so that the degrees of freedom are exact
  result.test = chi_square(large, n, mean, deviation, level);
  return result;
}

std::optional<Normality> normality(std::span<const double> values, std::span<const double> readings, double step, double level) {
  constexpr double k_fine_step = 0.02;  // [deviations]: finer steps do not matter
  if (step > k_fine_step * moments(values).standard_deviation.value_or(0)) {
    const std::optional<BinnedNormal> fitted = binned_normal(readings, step, level);
    if (!fitted || !fitted->test) return std::nullopt;
    return Normality{*fitted->test, fitted->distance};
  }
  const std::optional<AndersonDarling> tested = anderson_darling(values, level);
  if (!tested) return std::nullopt;
  return Normality{tested->test, distance_from_normal(values)};
}

ExtremeDeviates extreme_deviates(std::span<const double> values, std::size_t most, double level) {
  ExtremeDeviates result;
  std::vector<std::pair<double, std::size_t>> left;  // sorted by size: the extreme one is at an end
  for (std::size_t i = 0; i < values.size(); ++i) left.emplace_back(values[i], i);
  std::sort(left.begin(), left.end());
  for (std::size_t step = 1; step <= most && left.size() > 2; ++step) {
    std::vector<double> rest;
    rest.reserve(left.size());
    for (const auto& [value, index] : left) rest.push_back(value);
    const Moments known = moments(rest);
    if (!(*known.standard_deviation > 0)) break;
    const bool low = *known.mean - rest.front() > rest.back() - *known.mean;
    const auto extreme = low ? left.begin() : left.end() - 1;
    const double n = as_double(left.size());
    const double t = quantile(complement(boost::math::students_t_distribution<double, InDouble>(n - 2), level / (2 * n)));
    result.steps.push_back({extreme->second, std::fabs(extreme->first - *known.mean) / *known.standard_deviation,
                            (n - 1) * t / std::sqrt((n - 2 + t * t) * n)});
    if (result.steps.back().statistic > result.steps.back().critical) result.outliers = step;
    left.erase(extreme);
  }
  return result;
}

std::optional<TwoPopulations> two_populations(std::span<const double> values, double level) {
  const Moments known = moments(values);
  if (known.n < 20 || !(*known.standard_deviation > 0)) return std::nullopt;
  std::vector<double> points, weights;
  standardize(values, known, points, weights);
  Mixture best{0, 0, 1, 0.5, -std::numeric_limits<double>::infinity()};
  for (const Mixture& start : {Mixture{-0.8, 0.8, 0.6, 0.5}, Mixture{-1.5, 0.3, 0.8, 0.85}, Mixture{-0.3, 1.5, 0.8, 0.15}}) {
    Mixture mixture = start;
    mixture.fit(points, weights);
    if (mixture.log_likelihood > best.log_likelihood) best = mixture;
  }
  const double ratio = std::max(0.0, 2 * (best.log_likelihood - one_population(points, weights)));
  // One more mean and one more share, on the boundary of the parameter space: chi-square with 2 to 3 degrees of freedom covers it.
  const ChiSquared distribution(3);
  const auto back = [&](double z) { return *known.mean + z * *known.standard_deviation; };
  if (best.low > best.high) {
    std::swap(best.low, best.high);
    best.share = 1 - best.share;
  }
  return TwoPopulations{back(best.low),
                        back(best.high),
                        best.deviation * *known.standard_deviation,
                        best.share,
                        {ratio, quantile(complement(distribution, level)), cdf(complement(distribution, ratio))}};
}

std::optional<FrequentValue> frequent_value(std::span<const double> values, double step, double level) {
  const Moments known = moments(values);
  if (known.n < 3 || !(*known.standard_deviation > 0)) return std::nullopt;
  // The step adds the rounding variance (Sheppard); a normal distribution as narrow as its step is not resolved.
  const double variance = *known.standard_deviation * *known.standard_deviation - step * step / 12;
  const Normal normal(*known.mean, std::sqrt(std::max(variance, step * step / 16)));
  const std::vector<double> x = sorted(values);
  const auto next = [&](auto from) { return std::find_if(from, x.end(), [&](double value) { return value > *from + step / 2; }); };
  double different = 0;
  for (auto at = x.begin(); at != x.end(); at = next(at)) different += 1;
  if (different < 3) return std::nullopt;
  FrequentValue worst;
  for (auto at = x.begin(), end = at; at != x.end(); at = end) {
    end = next(at);
    const double count = static_cast<double>(end - at);
    if (count < 2) continue;
    const double p = std::clamp(cdf(normal, *at + step / 2) - cdf(normal, *at - step / 2), 1e-12, 1.0);
    const boost::math::binomial_distribution<double, InDouble> binomial(as_double(x.size()), p);
    const double tail = std::min(1.0, different * cdf(complement(binomial, count - 1)));
    if (tail >= worst.test.p_value && worst.count > 0) continue;
    worst = {*at,
             static_cast<std::int64_t>(count),
             as_double(x.size()) * p,
             {count, quantile(complement(binomial, level / different)) + 1, tail}};
  }
  if (worst.count == 0) {  // every value occurs once
    return FrequentValue{x.front(), 1, 1, {1, 2, 1}};
  }
  return worst;
}

}  // namespace sievecloth
