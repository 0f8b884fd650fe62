#include "diagnosis/order.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <numeric>
#include <vector>

#include <Eigen/Dense>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/tools/minima.hpp>
#include <unsupported/Eigen/FFT>

#include "base/in_double.hpp"
#include "sievecloth/sampling.hpp"

namespace sievecloth {
namespace {

using FisherF = boost::math::fisher_f_distribution<double, InDouble>;

// Fewer than three cycles within the readings are not a bar; slow changes are left to the drift test.
constexpr std::size_t k_slow = 2;

double as_double(std::size_t n) { return static_cast<double>(n); }

// |sum x e^(-i w t)|^2 / n at the frequencies 1 / n .. 1 / 2; n is even.
std::vector<double> periodogram(std::span<const double> values, double mean) {
  std::vector<double> centred;
  for (const double value : values) centred.push_back(value - mean);
  std::vector<std::complex<double>> transform;
  Eigen::FFT<double> fft;
  fft.fwd(transform, centred);
  std::vector<double> ordinates;
  for (std::size_t j = 1; j <= values.size() / 2; ++j) ordinates.push_back(std::norm(transform[j]) / as_double(values.size()));
  return ordinates;
}

/// Expected shape of the periodogram of n gaps with lag-1 correlation r.
struct Model {
  double n;
  double operator()(double r, std::size_t ordinate) const {
    const double frequency = 2 * std::numbers::pi * as_double(ordinate + 1) / n;
    return 1 + 2 * r * (1 - 1 / n) * std::cos(frequency);
  }
};

// Whittle's likelihood with the variance eliminated; slow changes and the alternation, the last ordinate, are excluded.
double fit_correlation(const std::vector<double>& ordinates, const Model& model) {
  const auto badness = [&](double r) {
    double logs = 0;
    double sum = 0;
    const std::size_t count = ordinates.size() - 1;
    for (std::size_t j = k_slow; j < count; ++j) {
      logs += std::log(model(r, j));
      sum += ordinates[j] / model(r, j);
    }
    return logs + as_double(count - k_slow) * std::log(sum);  // cppcheck-suppress invalidFunctionArg ; there are more than k_slow
  };
  return boost::math::tools::brent_find_minima(badness, -0.5, 0.0, 20).first;
}

TestResult test_alternation(double ratio, double mean, std::size_t others, double level) {
  const FisherF f(1, 2 * as_double(others));
  TestResult result{.statistic = ratio / mean};
  result.critical = quantile(complement(f, level));
  result.p_value = cdf(complement(f, result.statistic));
  return result;
}

// P(g > x) <= m (1 - x)^(m - 1), a close bound if it is small.
TestResult test_periodic(double share, std::size_t m, double level) {
  const double count = as_double(m);
  return {share, 1 - std::pow(level / count, 1 / (count - 1)), std::min(1.0, count * std::pow(1 - share, count - 1))};
}

}  // namespace

std::optional<OrderTests> order_tests(std::span<const double> values, double level) {
  if (values.size() < k_fewest_in_order) return std::nullopt;
  const std::optional<double> correlation = lag1_correlation(values);
  if (!correlation) return std::nullopt;
  const std::span<const double> even = values.first(values.size() / 2 * 2);
  const std::vector<double> ordinates = periodogram(even, *moments(even).mean);
  const Model model{as_double(even.size())};
  OrderTests tests{.lag1_correlation = *correlation, .model_correlation = fit_correlation(ordinates, model)};

  std::vector<double> white;
  for (std::size_t j = 0; j < ordinates.size(); ++j) white.push_back(ordinates[j] / model(tests.model_correlation, j));
  const auto begin = white.begin() + k_slow;
  const auto last = white.end() - 1;  // the alternation
  const auto others = static_cast<std::size_t>(last - begin);
  const double sum = std::accumulate(begin, last, 0.0);
  if (!(sum > 0)) return std::nullopt;
  tests.alternation = test_alternation(*last, sum / as_double(others), others, level);
  tests.alternation_amplitude = std::sqrt(ordinates.back() / as_double(even.size()));
  const auto greatest = static_cast<std::size_t>(std::max_element(begin, last) - white.begin());
  tests.periodic = test_periodic(white[greatest] / sum, others, level);
  tests.period = as_double(even.size()) / as_double(greatest + 1);
  // The flank of a slower change is not a bar.
  const bool slower = *std::max_element(white.begin(), begin) > white[greatest];
  tests.periodic_amplitude = slower ? 0 : 2 * std::sqrt(ordinates[greatest] / as_double(even.size()));
  return tests;
}

std::optional<Drift> drift(std::span<const double> values, std::span<const double> x, std::span<const double> y, double level) {
  constexpr std::size_t k_fewest = 6;
  if (values.size() < k_fewest) return std::nullopt;
  const auto n = static_cast<Eigen::Index>(values.size());
  const auto column = [&](std::span<const double> from) -> Eigen::VectorXd {
    if (from.empty()) return Eigen::VectorXd::Zero(n);
    const Eigen::VectorXd all = Eigen::Map<const Eigen::VectorXd>(from.data(), n);
    return all.array() - all.mean();
  };
  Eigen::MatrixXd places(n, 2);
  places << column(x), column(y);
  const Eigen::VectorXd scale = places.cwiseAbs().colwise().maxCoeff().cwiseMax(1e-300);
  const Eigen::MatrixXd scaled = places * scale.cwiseInverse().asDiagonal();
  const Eigen::VectorXd response = column(values);
  Eigen::ColPivHouseholderQR<Eigen::MatrixXd> decomposition(n, 2);
  decomposition.setThreshold(1e-9);
  decomposition.compute(scaled);
  const auto rank = static_cast<double>(decomposition.rank());
  const Eigen::Vector2d slopes = decomposition.solve(response);
  const Eigen::VectorXd fitted = scaled * slopes;
  const double rest = (response - fitted).squaredNorm();
  const double freedom = as_double(values.size()) - 1 - rank;
  if (rank < 1 || !(rest > 0)) return std::nullopt;
  Drift result{.slope_x = slopes[0] / scale[0], .slope_y = slopes[1] / scale[1], .range = fitted.maxCoeff() - fitted.minCoeff()};
  const FisherF f(rank, freedom);
  result.test = {fitted.squaredNorm() / rank / (rest / freedom), quantile(complement(f, level)), 0};
  result.test.p_value = cdf(complement(f, result.test.statistic));
  return result;
}

}  // namespace sievecloth
