#include "diagnosis/order.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <numeric>
#include <vector>

#include <Eigen/Dense>
#include <boost/math/distributions/beta.hpp>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <boost/math/tools/minima.hpp>
#include <unsupported/Eigen/FFT>

#include "base/in_double.hpp"
#include "sievecloth/sampling.hpp"

namespace sievecloth {
namespace {

using FisherF = boost::math::fisher_f_distribution<double, InDouble>;

// Fewer than three cycles within the readings are not a bar but a slow wave.
constexpr std::size_t k_slow = 2;
// A bar is a fundamental with up to so many overtones.
constexpr std::size_t k_harmonics = 5;

// Stronger correlations are not told from bars of a few cycles.
constexpr double k_most_correlated = 0.5;

double as_double(std::size_t n) { return static_cast<double>(n); }
double frequency(std::size_t ordinate, double n) { return 2 * std::numbers::pi * as_double(ordinate + 1) / n; }

// What is left of the values beside a straight line, which would leak into all frequencies.
std::vector<double> without_line(std::span<const double> values) {
  const double mean = *moments(values).mean, middle = (as_double(values.size()) - 1) / 2;
  double products = 0;
  double squares = 0;
  for (std::size_t i = 0; i < values.size(); ++i) {
    const double at = as_double(i) - middle;
    products += at * (values[i] - mean);
    squares += at * at;
  }
  std::vector<double> rest;
  rest.reserve(values.size());
  for (std::size_t i = 0; i < values.size(); ++i) rest.push_back(values[i] - mean - products / squares * (as_double(i) - middle));
  return rest;
}

// |sum x e^(-i w t)|^2 / n at the frequencies 1 / n .. 1 / 2; n is even.
std::vector<double> periodogram(const std::vector<double>& values) {
  std::vector<std::complex<double>> transform;
  Eigen::FFT<double> fft;
  fft.fwd(transform, values);
  std::vector<double> ordinates;
  for (std::size_t j = 1; j <= values.size() / 2; ++j) ordinates.push_back(std::norm(transform[j]) / as_double(values.size()));
  return ordinates;
}

// Whittle's likelihood with the variance eliminated; slow changes and the alternation, the last ordinate, are excluded.
// `without`: index of an ordinate that is left out together with its neighbours.
NoiseModel fit_noise(const std::vector<double>& ordinates, double n, std::size_t without) {
  const auto badness = [&](double r) {
    const NoiseModel model{r, n};
    double logs = 0, sum = 0, count = 0;
    for (std::size_t j = k_slow; j + 1 < ordinates.size(); ++j) {
      if (j + 1 >= without && j <= without + 1) continue;
      const double height = model.height(frequency(j, n));
      logs += std::log(height);
      sum += ordinates[j] / height;
      ++count;
    }
    return logs + count * std::log(sum);  // cppcheck-suppress invalidFunctionArg ; there are more ordinates than slow ones
  };
  const auto [negative, of_negative] = boost::math::tools::brent_find_minima(badness, -0.5, 0.0, 20);
  const auto [positive, of_positive] = boost::math::tools::brent_find_minima(badness, 0.0, k_most_correlated, 20);
  return {of_positive < of_negative ? positive : negative, n};
}

// The highest ordinate may be a bar: it must not pass for a correlation of the noise.
NoiseModel fit_noise(const std::vector<double>& ordinates, double n) {
  const NoiseModel all = fit_noise(ordinates, n, ordinates.size() + 1);
  std::size_t highest = k_slow;
  const auto relative = [&](std::size_t j) { return ordinates[j] / all.height(frequency(j, n)); };
  for (std::size_t j = k_slow; j + 1 < ordinates.size(); ++j) highest = relative(j) > relative(highest) ? j : highest;
  return fit_noise(ordinates, n, highest);
}

TestResult f_test(double statistic, double above, double below, double level) {
  const FisherF f(above, below);
  statistic = std::max(0.0, statistic);  // a change that explains nothing, but for rounding
  return {statistic, quantile(complement(f, level)), cdf(complement(f, statistic))};
}

/// Bars: the most significant of one frequency and of several with their overtones. Frequencies come in steps of half a cycle over
/// the readings, so that a period that does not divide them is found as well.
class Bars {
 public:
  // `white`: ordinates at 1 / 2n, 2 / 2n .. 1 / 2, whose expectation is 1 with good cloth, but for a common factor.
  Bars(std::span<const double> white, double level) : white_(white), level_(level) {
    m_ = white.size() / 2 - 1 - k_slow;  // at whole cycles, without the alternation
    for (std::size_t cycles = k_slow + 1; cycles < white.size() / 2; ++cycles) sum_ += white[2 * cycles - 1];
  }

  void find() {
    const std::size_t last = white_.size() - 2;
    for (std::size_t half_cycles = 2 * k_slow + 2; half_cycles <= last; ++half_cycles) consider(half_cycles, 1);
    for (std::size_t harmonics = 2; harmonics <= k_harmonics; ++harmonics) {
      for (std::size_t half_cycles = 2 * k_slow + 2; half_cycles * harmonics <= last; ++half_cycles)
        consider(half_cycles, harmonics);
    }
  }

  const TestResult& best() const { return best_; }
  std::size_t half_cycles() const { return half_cycles_; }
  std::size_t harmonics() const { return harmonics_; }

 private:
  // Of m ordinates k have the share x of the sum or more with a probability that follows from the beta distribution; the best of
  // all candidates is taken (Bonferroni, half for one frequency and half for all with overtones). One alone at whole cycles: P(g >
  // x) <= m (1 - x)^(m - 1).
  void consider(std::size_t half_cycles, std::size_t harmonics) {
    double part = 0;
    for (std::size_t k = 1; k <= harmonics; ++k) part += white_[half_cycles * k - 1];
    const double share = part / sum_;
    const double candidates = 4 * as_double(m_) * (harmonics == 1 ? 1 : as_double(k_harmonics - 1) / as_double(harmonics));
    const boost::math::beta_distribution<double, InDouble> beta(as_double(harmonics), as_double(m_ - harmonics));
    const double p = share < 1 ? std::min(1.0, candidates * cdf(complement(beta, share))) : 0;
    if (p >= best_.p_value && best_.statistic > 0) return;
    best_ = {share, quantile(complement(beta, level_ / candidates)), p};
    half_cycles_ = half_cycles;
    harmonics_ = harmonics;
  }

  std::span<const double> white_;
  double level_;
  std::size_t m_ = 0;
  double sum_ = 0;
  TestResult best_;
  std::size_t half_cycles_ = 2 * k_slow + 2, harmonics_ = 1;
};

void test_bars(OrderTests& tests, std::span<const double> values, double level) {
  const double n = as_double(values.size());
  std::vector<double> padded(values.begin(), values.end());
  padded.resize(2 * values.size());
  std::vector<double> ordinates = periodogram(padded);
  std::vector<double> white;
  white.reserve(ordinates.size());
  for (std::size_t i = 0; i < ordinates.size(); ++i) {
    ordinates[i] *= 2;  // the zeros count in the length
    white.push_back(ordinates[i] / tests.noise.height(frequency(i, 2 * n)));
  }
  Bars bars(white, level);
  bars.find();
  tests.periodic = bars.best();
  tests.period = 2 * n / as_double(bars.half_cycles());
  double height = 0;
  double greatest = 0;
  for (std::size_t k = 1; k <= bars.harmonics(); ++k) {
    height += ordinates[bars.half_cycles() * k - 1];
    greatest = std::max(greatest, white[bars.half_cycles() * k - 1]);
  }
  // The flank of a slower change is not a bar.
  const bool slower = *std::max_element(white.begin(), white.begin() + 2 * k_slow) > greatest;
  tests.periodic_amplitude = slower ? 0 : 2 * std::sqrt(height / n);
}

/// Sum of squares left by a least-squares fit, and the fit.
struct Fit {
  Eigen::VectorXd fitted;
  Eigen::VectorXd coefficients;
  double rest = 0;
  double rank = 0;
};

Fit fit(const Eigen::MatrixXd& columns, const Eigen::VectorXd& values) {
  Eigen::ColPivHouseholderQR<Eigen::MatrixXd> decomposition(columns.rows(), columns.cols());
  decomposition.setThreshold(1e-9);
  decomposition.compute(columns);
  Fit result;
  result.coefficients = decomposition.solve(values);
  result.fitted = columns * result.coefficients;
  result.rest = (values - result.fitted).squaredNorm();
  result.rank = static_cast<double>(decomposition.rank());
  return result;
}

Eigen::VectorXd centred(std::span<const double> values, Eigen::Index n) {
  if (values.empty()) return Eigen::VectorXd::Zero(n);
  const Eigen::VectorXd all = Eigen::Map<const Eigen::VectorXd>(values.data(), n);
  return all.array() - all.mean();
}

void test_slow_wave(OrderTests& tests, std::span<const double> values, double level) {
  const auto n = static_cast<Eigen::Index>(values.size());
  const Eigen::ArrayXd at = Eigen::ArrayXd::LinSpaced(n, 0.5 / as_double(values.size()), 1 - 0.5 / as_double(values.size()));
  Eigen::MatrixXd columns(n, 6);
  columns.col(0).setOnes();
  columns.col(1) = at - 0.5;
  for (Eigen::Index cycles = 1; cycles <= 2; ++cycles) {
    const double radians = 2 * std::numbers::pi * static_cast<double>(cycles);
    columns.col(2 * cycles) = (radians * at).cos();
    columns.col(2 * cycles + 1) = (radians * at).sin();
  }
  const Eigen::VectorXd response = centred(values, n);
  const Fit line = fit(columns.leftCols(2), response), waves = fit(columns, response);
  const double freedom = as_double(values.size()) - 6;
  if (!(waves.rest > 0)) return;
  const double inflation = tests.noise.slow_variance();
  tests.slow_wave = f_test((line.rest - waves.rest) / 4 / (waves.rest / freedom) / inflation, 4, freedom / inflation, level);
  const auto amplitude = [&](Eigen::Index first) { return std::hypot(waves.coefficients[first], waves.coefficients[first + 1]); };
  tests.slow_amplitude = std::max(amplitude(2), amplitude(4));
}

// A displaced wire gives to one gap what it takes from the next: their difference stands out, and lies on both sides of the mean.
void test_displaced(OrderTests& tests, std::span<const double> values, double mean, double level) {
  const std::size_t n = values.size() - 1;
  std::size_t at = 0;
  double squares = 0;
  const auto difference = [&](std::size_t i) { return values[i] - values[i + 1]; };
  for (std::size_t i = 0; i < n; ++i) {
    squares += difference(i) * difference(i);
    if (std::fabs(difference(i)) > std::fabs(difference(at))) at = i;
  }
  // Those beside it share its gaps.
  double others = as_double(n);
  for (std::size_t i = at - std::min<std::size_t>(at, 1); i <= std::min(at + 1, n - 1); ++i) {
    squares -= difference(i) * difference(i);
    others -= 1;
  }
  if (!(squares > 0)) return;
  // Differences of neighbours have a correlation of -0.5: their sum of squares is worth two thirds of its terms.
  const double freedom = others / 1.5;
  const boost::math::students_t_distribution<double, InDouble> t(freedom);
  const double statistic = std::fabs(difference(at)) / std::sqrt(squares / others);
  const double tests_made = 2 * as_double(n);
  tests.displaced = {statistic, quantile(complement(t, level / tests_made)),
                     std::min(1.0, tests_made * cdf(complement(t, statistic)))};
  tests.displaced_at = at;
  const double wide = std::max(values[at], values[at + 1]) - mean, narrow = mean - std::min(values[at], values[at + 1]);
  constexpr double k_both = 0.5;  // one side has at least half of what the other has
  if (std::min(wide, narrow) >= k_both * std::max(wide, narrow)) tests.displaced_by = (wide + narrow) / 2;
}

/// Values, and columns for surfaces through their places: 1, both coordinates from -1 to 1, their squares and product.
struct Surface {
  Eigen::VectorXd values;
  Eigen::MatrixXd columns;
  Eigen::Vector2d scale;

  Surface(std::span<const double> of, std::span<const double> x, std::span<const double> y)
      : values(centred(of, static_cast<Eigen::Index>(of.size()))), columns(values.size(), 6) {
    columns.col(0).setOnes();
    columns.col(1) = centred(x, values.size());
    columns.col(2) = centred(y, values.size());
    for (Eigen::Index i = 0; i < 2; ++i) {
      scale[i] = std::max(columns.col(i + 1).cwiseAbs().maxCoeff(), 1e-300);
      columns.col(i + 1) /= scale[i];
    }
    columns.col(3) = columns.col(1).array().square();
    columns.col(4) = columns.col(2).array().square();
    columns.col(5) = columns.col(1).array() * columns.col(2).array();
  }

  Fit fit_first(Eigen::Index count) const { return fit(columns.leftCols(count), values); }
};

// Columns of the mean, of a plane and of all.
constexpr Eigen::Index k_of_mean = 1, k_of_plane = 3, k_of_all = 6;

std::optional<Trend> trend(const Fit& smaller, const Fit& larger, double level, double inflation) {
  const double freedom = static_cast<double>(larger.fitted.size()) - larger.rank;
  const double more = larger.rank - smaller.rank;
  if (more < 1 || freedom < 1 || !(larger.rest > 0)) return std::nullopt;
  const Eigen::VectorXd change = larger.fitted - smaller.fitted;
  Trend result{.range = change.maxCoeff() - change.minCoeff()};
  result.test = f_test((smaller.rest - larger.rest) / more / (larger.rest / freedom) / inflation, more,
                       std::max(1.0, freedom / inflation), level);
  return result;
}

}  // namespace

double NoiseModel::height(double frequency) const {
  if (r <= 0) return 1 + 2 * r * (1 - 1 / n) * std::cos(frequency);
  return (1 - r * r) / (1 - 2 * r * std::cos(frequency) + r * r);
}

bool NoiseModel::is_strong() const { return r > 0.3 - 0.75 * std::max(0.0, 1 / std::sqrt(n) - 0.095); }

double NoiseModel::slow_variance() const { return std::max(1.0, (1 + r) / (1 - r)); }

std::optional<OrderTests> order_tests(std::span<const double> values, double level) {
  if (values.size() < k_fewest_in_order) return std::nullopt;
  const std::optional<double> correlation = lag1_correlation(values);
  if (!correlation) return std::nullopt;
  const std::vector<double> even = without_line(values.first(values.size() / 2 * 2));
  const double n = as_double(even.size());
  const std::vector<double> ordinates = periodogram(even);
  OrderTests tests{.lag1_correlation = *correlation, .noise = fit_noise(ordinates, n)};

  std::vector<double> white;
  white.reserve(ordinates.size());
  for (std::size_t j = 0; j < ordinates.size(); ++j) white.push_back(ordinates[j] / tests.noise.height(frequency(j, n)));
  const std::size_t others = white.size() - 1 - k_slow;
  const double rest = std::accumulate(white.begin() + k_slow, white.end() - 1, 0.0);
  if (!(rest > 0)) return std::nullopt;
  tests.alternation = f_test(white.back() / (rest / as_double(others)), 1, 2 * as_double(others), level);
  tests.alternation_amplitude = std::sqrt(ordinates.back() / n);
  test_bars(tests, even, level);
  test_slow_wave(tests, values, level);
  test_displaced(tests, values, *moments(values).mean, level);
  return tests;
}

std::optional<Trend> drift(std::span<const double> values, std::span<const double> x, std::span<const double> y, double level,
                           double inflation) {
  constexpr std::size_t k_fewest = 6;
  if (values.size() < k_fewest) return std::nullopt;
  const Surface surface(values, x, y);
  const Fit plane = surface.fit_first(k_of_plane);
  std::optional<Trend> result = trend(surface.fit_first(k_of_mean), plane, level, inflation);
  if (result) {
    result->slope_x = plane.coefficients[1] / surface.scale[0];
    result->slope_y = plane.coefficients[2] / surface.scale[1];
  }
  return result;
}

std::optional<Trend> curvature(std::span<const double> values, std::span<const double> x, std::span<const double> y, double level,
                               double inflation) {
  constexpr std::size_t k_fewest = 12;
  if (values.size() < k_fewest) return std::nullopt;
  const Surface surface(values, x, y);
  return trend(surface.fit_first(k_of_plane), surface.fit_first(k_of_all), level, inflation);
}

}  // namespace sievecloth
