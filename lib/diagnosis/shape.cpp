#include "diagnosis/shape.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <Eigen/Dense>
#include <boost/math/distributions/binomial.hpp>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <boost/math/special_functions/gamma.hpp>

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

double as_double(std::int64_t n) { return static_cast<double>(n); }

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

std::optional<Bins> count_bins(std::span<const Counted> values, double step) {
  if (values.empty()) return std::nullopt;
  const double low = values.front().value_um;
  const double width = std::round((values.back().value_um - low) / step);
  if (!(width >= 1) || width >= as_double(k_most_bins)) return std::nullopt;
  Bins bins{low, step, std::vector<double>(static_cast<std::size_t>(width) + 1)};
  for (const Counted& value : values)
    bins.counts[static_cast<std::size_t>(std::round((value.value_um - low) / step))] += as_double(value.count);
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
double distance_from_normal(std::span<const Counted> values) {
  const Moments known = moments(values);
  const Normal normal(*known.mean, *known.standard_deviation);
  const double n = as_double(known.n);
  double greatest = 0;
  std::int64_t before = 0;
  for (const Counted& value : values) {
    const double p = cdf(normal, value.value_um);
    greatest = std::max({greatest, as_double(before + value.count) / n - p, p - as_double(before) / n});
    before += value.count;
  }
  return greatest;
}

/// Weighted, standardised points.
struct Points {
  std::vector<double> at, weight;
  double n = 0;
};

/// A mixture of two normal distributions with equal deviation, fitted to standardised points by expectation-maximisation.
struct Mixture {
  double low, high, deviation, share;  // share: of the upper one
  double log_likelihood = 0;

  // The likelihood takes longer than a step, and is looked at now and then only.
  void fit(const Points& points) {
    constexpr int k_most_steps = 500, k_steps = 10;
    double before = -std::numeric_limits<double>::infinity();
    for (int step = 0; step < k_most_steps; step += k_steps) {
      for (int i = 0; i < k_steps; ++i) improve(points);
      log_likelihood = likelihood_of(points);
      if (log_likelihood - before < 2e-3) return;  // of some 14 that are significant
      before = log_likelihood;
    }
  }

 private:
  // Logarithm of the density of the upper one over that of the lower one: a straight line, since the deviations are equal.
  double odds(double x) const {
    return std::log(share / (1 - share)) + (high - low) * (x - (low + high) / 2) / (deviation * deviation);
  }

  void improve(const Points& points) {
    double n_high = 0, sum = 0, sum_high = 0, squares = 0;
    const double slope = (high - low) / (deviation * deviation);
    const double at_middle = std::log(share / (1 - share)), middle = (low + high) / 2;
    for (std::size_t i = 0; i < points.at.size(); ++i) {
      const double x = points.at[i], weight = points.weight[i];
      const double of_high = weight / (1 + std::exp(-at_middle - slope * (x - middle)));
      n_high += of_high;
      sum_high += of_high * x;
      sum += weight * x;
      squares += weight * x * x;
    }
    const double n_low = points.n - n_high;
    if (n_high < 1e-9 * points.n || n_low < 1e-9 * points.n) return;
    low = (sum - sum_high) / n_low;
    high = sum_high / n_high;
    share = n_high / points.n;
    deviation = std::sqrt(std::max((squares - n_low * low * low - n_high * high * high) / points.n, 1e-12));
  }

  double likelihood_of(const Points& points) const {
    double sum = 0;
    for (std::size_t i = 0; i < points.at.size(); ++i) {
      const double z = (points.at[i] - low) / deviation, above = odds(points.at[i]);
      const double either = above > 0 ? above + std::log1p(std::exp(-above)) : std::log1p(std::exp(above));
      sum += points.weight[i] * (-z * z / 2 + either);
    }
    return sum + points.n * std::log((1 - share) / (deviation * std::sqrt(2 * std::numbers::pi)));
  }
};

struct WeightedMoments {
  double mean = 0, variance = 0;
};

template <class Function>
WeightedMoments weighted_moments(const Points& points, Function of) {
  double sum = 0, squares = 0;
  for (std::size_t i = 0; i < points.at.size(); ++i) sum += points.weight[i] * of(points.at[i]);
  const double mean = sum / points.n;
  for (std::size_t i = 0; i < points.at.size(); ++i) squares += points.weight[i] * std::pow(of(points.at[i]) - mean, 2);
  return {mean, squares / points.n};
}

double normal_likelihood(const Points& points, double variance) {
  return -points.n / 2 * (std::log(2 * std::numbers::pi * variance) + 1);
}

// Log-likelihoods of distributions of the distance `shift` beyond one end, whose tail points up (sign 1) or down (-1).
double lognormal_likelihood(const Points& points, double sign, double shift) {
  const auto logarithm = [&](double x) { return std::log(sign * x + shift); };
  const WeightedMoments known = weighted_moments(points, logarithm);
  return normal_likelihood(points, known.variance) - points.n * known.mean;
}

double gamma_likelihood(const Points& points, double sign, double shift) {
  const double mean = weighted_moments(points, [&](double x) { return sign * x + shift; }).mean;
  const double mean_logarithm = weighted_moments(points, [&](double x) { return std::log(sign * x + shift); }).mean;
  const double s = std::log(mean) - mean_logarithm;
  // Nearly the maximum-likelihood shape (Minka, 2002); not below 1, where the density has a pole.
  const double shape = std::max(1.0, (3 - s + std::sqrt((s - 3) * (s - 3) + 24 * s)) / (12 * s));
  return points.n *
         ((shape - 1) * mean_logarithm - shape - shape * std::log(mean / shape) - boost::math::lgamma(shape, InDouble()));
}

double skewed_likelihood(const Points& points) {
  double best = -std::numeric_limits<double>::infinity();
  for (const double sign : {1.0, -1.0}) {
    const double end = sign > 0 ? points.at.front() : -points.at.back();
    constexpr int k_ends = 23;  // 0.02 to 33 standard deviations beyond the last value
    for (int i = 0; i < k_ends; ++i) {
      const double shift = 0.02 * std::pow(1.4, i) - end;
      best = std::max({best, lognormal_likelihood(points, sign, shift), gamma_likelihood(points, sign, shift)});
    }
  }
  return best;
}

// Uniform between the smallest and the largest.
double uniform_likelihood(const Points& points) { return -points.n * std::log(points.at.back() - points.at.front()); }

// Student's t with the best of a few degrees of freedom; place and scale by expectation-maximisation.
double heavy_likelihood(const Points& points) {
  double best = -std::numeric_limits<double>::infinity();
  for (const double freedom : {3.0, 5.0, 8.0, 15.0}) {
    double place = 0, square = 1, likelihood = 0;
    for (int step = 0; step < 30; ++step) {
      double weights = 0, sum = 0, squares = 0;
      likelihood = 0;
      for (std::size_t i = 0; i < points.at.size(); ++i) {
        const double z = (points.at[i] - place) * (points.at[i] - place) / square;
        const double weight = points.weight[i] * (freedom + 1) / (freedom + z);
        weights += weight;
        sum += weight * points.at[i];
        squares += weight * z * square;
        likelihood -= points.weight[i] * (freedom + 1) / 2 * std::log1p(z / freedom);
      }
      likelihood += points.n * (boost::math::lgamma((freedom + 1) / 2, InDouble()) - boost::math::lgamma(freedom / 2, InDouble()) -
                                std::log(freedom * std::numbers::pi * square) / 2);
      place = sum / weights;
      square = squares / points.n;
    }
    best = std::max(best, likelihood);
  }
  return best;
}

double normal_likelihood(const Points& points) {
  return normal_likelihood(points, weighted_moments(points, [](double x) { return x; }).variance);
}

// Reduces the values to at most 128 standardised points, whatever n is.
Points standardized(std::span<const Counted> values, const Moments& known) {
  constexpr double k_points = 128;
  const double low = values.front().value_um, width = (values.back().value_um - low) / k_points;
  Points points{.n = static_cast<double>(known.n)};
  double last = -1;
  for (const Counted& value : values) {
    const double at = std::floor((value.value_um - low) / width);
    if (at != last) {
      points.at.push_back((low + (at + 0.5) * width - *known.mean) / *known.standard_deviation);
      points.weight.push_back(0);
      last = at;
    }
    points.weight.back() += as_double(value.count);
  }
  return points;
}

}  // namespace

std::optional<AndersonDarling> anderson_darling(std::span<const Counted> values, double level) {
  const Moments known = moments(values);
  if (known.n < 8 || !(*known.standard_deviation > 0)) return std::nullopt;
  const Normal normal(*known.mean, *known.standard_deviation);
  const double n = as_double(known.n);
  // Weights of equal values add up: 2 i - 1 over their ranks from below, and likewise from above.
  double sum = 0;
  double below = 0;
  for (const Counted& value : values) {
    const double up_to = below + as_double(value.count);
    const double from_below = up_to * up_to - below * below;
    const double from_above = (n - below) * (n - below) - (n - up_to) * (n - up_to);
    sum += from_below * std::log(cdf(normal, value.value_um)) + from_above * std::log(cdf(complement(normal, value.value_um)));
    below = up_to;
  }
  AndersonDarling result;
  result.a_squared = -n - sum / n;
  result.test.statistic = result.a_squared * (1 + 0.75 / n + 2.25 / (n * n));
  result.test.p_value = anderson_darling_p(result.test.statistic);
  result.test.critical = anderson_darling_critical(level);
  return result;
}

std::optional<BinnedNormal> binned_normal(std::span<const Counted> values, double step, double level) {
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

std::optional<Normality> normality(std::span<const Counted> values, std::span<const Counted> readings, double step, double level) {
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

ExtremeDeviates extreme_deviates(std::span<const Counted> values, std::size_t most, double level) {
  ExtremeDeviates result;
  std::vector<Counted> rest(values.begin(), values.end());
  std::size_t first = 0;
  for (std::size_t step = 1; step <= most; ++step) {
    const std::span<const Counted> left = std::span(rest).subspan(first);
    const Moments known = moments(left);
    if (known.n < 3 || !(*known.standard_deviation > 0)) break;
    const bool low = *known.mean - left.front().value_um > left.back().value_um - *known.mean;
    const double value = low ? left.front().value_um : left.back().value_um;
    const double n = as_double(known.n);
    const double t = quantile(complement(boost::math::students_t_distribution<double, InDouble>(n - 2), level / (2 * n)));
    result.steps.push_back(
        {value, low, std::fabs(value - *known.mean) / *known.standard_deviation, (n - 1) * t / std::sqrt((n - 2 + t * t) * n)});
    if (result.steps.back().statistic > result.steps.back().critical) result.outliers = step;
    if (--(low ? rest[first] : rest.back()).count == 0) low ? static_cast<void>(++first) : rest.pop_back();
  }
  return result;
}

double spacing_probability(std::span<const Counted> values, std::size_t outliers, bool low) {
  constexpr std::size_t k_most_next = 20, k_fewest_next = 3;
  const auto n = static_cast<std::size_t>(moments(values).n);
  const std::size_t next = std::clamp((n - outliers) / 5, k_fewest_next, k_most_next);
  // The values from that end, as many as are needed.
  std::vector<double> from_end;
  for (std::size_t i = 0; i < values.size() && from_end.size() <= outliers + next; ++i) {
    const Counted& value = low ? values[i] : values[values.size() - 1 - i];
    from_end.insert(from_end.end(), std::min(static_cast<std::size_t>(value.count), outliers + next + 1 - from_end.size()),
                    value.value_um);
  }
  if (from_end.size() <= outliers + next) return 1;
  const double gap = std::fabs(from_end[outliers - 1] - from_end[outliers]);
  // Sum of the normalised spacings of the next ones: each spacing times its rank from the end.
  double excess = as_double(outliers) * std::fabs(from_end[outliers] - from_end[outliers + next]);
  for (std::size_t i = outliers; i < outliers + next; ++i) excess += std::fabs(from_end[i] - from_end[outliers + next]);
  if (!(excess > 0)) return 0;
  const double k = as_double(next);
  return std::pow(1 + gap * as_double(outliers) / excess, -k);
}

std::optional<TwoPopulations> two_populations(std::span<const Counted> values, double level) {
  const Moments known = moments(values);
  if (known.n < 20 || !(*known.standard_deviation > 0)) return std::nullopt;
  const Points points = standardized(values, known);
  Mixture best{0, 0, 1, 0.5, -std::numeric_limits<double>::infinity()};
  for (const Mixture& start : {Mixture{-0.8, 0.8, 0.6, 0.5}, Mixture{-1.5, 0.3, 0.8, 0.85}, Mixture{-0.3, 1.5, 0.8, 0.15}}) {
    Mixture mixture = start;
    mixture.fit(points);
    if (mixture.log_likelihood > best.log_likelihood) best = mixture;
  }
  // One more mean and one more share, on the boundary of the parameter space: chi-square with 2 to 3 degrees of freedom covers it.
  const ChiSquared distribution(3);
  const double critical = quantile(complement(distribution, level));
  const auto ratio_to = [&](double one) { return std::max(0.0, 2 * (best.log_likelihood - one)); };
  double ratio = ratio_to(normal_likelihood(points));
  // The other rivals, which take longer, can only reduce the ratio.
  if (ratio > critical) ratio = std::min({ratio, ratio_to(skewed_likelihood(points)), ratio_to(heavy_likelihood(points))});
  if (uniform_likelihood(points) >= best.log_likelihood) ratio = 0;  // it has nothing to fit but its ends
  const auto back = [&](double z) { return *known.mean + z * *known.standard_deviation; };
  if (best.low > best.high) {
    std::swap(best.low, best.high);
    best.share = 1 - best.share;
  }
  return TwoPopulations{back(best.low),
                        back(best.high),
                        best.deviation * *known.standard_deviation,
                        best.share,
                        {ratio, critical, cdf(complement(distribution, ratio))}};
}

std::optional<FrequentValue> frequent_value(std::span<const Counted> values, double step, double level) {
  const Moments known = moments(values);
  if (values.size() < 3) return std::nullopt;
  // The step adds the rounding variance (Sheppard); a normal distribution as narrow as its step is not resolved.
  const double variance = *known.standard_deviation * *known.standard_deviation - step * step / 12;
  const Normal normal(*known.mean, std::sqrt(std::max(variance, step * step / 16)));
  // Every value that could have occurred was a candidate, not only those that did.
  constexpr double k_width = 8;  // [deviations]
  const double n = as_double(known.n), different = std::max(as_double(values.size()), k_width * *known.standard_deviation / step);
  FrequentValue worst;
  for (const Counted& value : values) {
    if (value.count < 2) continue;
    const double p = std::clamp(cdf(normal, value.value_um + step / 2) - cdf(normal, value.value_um - step / 2), 1e-12, 1.0);
    const boost::math::binomial_distribution<double, InDouble> binomial(n, p);
    const double count = as_double(value.count);
    const double tail = std::min(1.0, different * cdf(complement(binomial, count - 1)));
    if (tail >= worst.test.p_value && worst.count > 0) continue;
    worst = {value.value_um, value.count, n * p, {count, quantile(complement(binomial, level / different)) + 1, tail}};
  }
  if (worst.count == 0) return FrequentValue{values.front().value_um, 1, 1, {1, 2, 1}};  // every value occurs once
  return worst;
}

}  // namespace sievecloth
