#include "diagnosis/shape.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <span>

#include <gtest/gtest.h>
#include <boost/math/distributions/fisher_f.hpp>

#include "diagnosis/order.hpp"
#include "diagnosis/random.hpp"
#include "sievecloth/sampling.hpp"
#include "support/reference_data.hpp"

namespace sievecloth {
namespace {

std::vector<double> numbers(const std::string& file, int skip) {
  std::vector<double> values;
  for (const std::string& text : test::reference_column(file, skip)) values.push_back(std::stod(text));
  return values;
}

TEST(AndersonDarling, SecondOpinion) {
  // source: computed with R's nortest (tests/support/statistics.R): ZARR13 A2 0.1264788, p 0.985; GEAR A2 1.457952, p 0.00086
  for (const auto& [file, skip] : std::map<std::string, int>{{"ZARR13", 25}, {"GEAR", 25}, {"MICHELSO", 25}}) {
    const std::vector<double> expected = test::second_opinion("anderson_darling " + file);
    const AndersonDarling found = *anderson_darling(counted(numbers(file + ".DAT", skip)), 0.05);
    EXPECT_NEAR(found.a_squared / expected[0], 1, 1e-9) << file;
    EXPECT_NEAR(found.test.p_value / expected[1], 1, 1e-6) << file;
    EXPECT_EQ(found.test.statistic > found.test.critical, found.test.p_value < 0.05) << file;
  }
}

TEST(ExtremeDeviates, Rosner) {
  // source: e-Handbook 1.3.5.17.3, Rosner's data: three outliers
  const std::vector<double> values = numbers("ROSNER.DAT", 25);
  const Moments known = moments(values);
  ASSERT_EQ(known.n, 50);
  EXPECT_NEAR(*known.mean, 2.456, 5e-4);
  EXPECT_NEAR(*known.standard_deviation, 1.112673, 1e-6);
  const ExtremeDeviates found = extreme_deviates(counted(values), 10, 0.05);
  EXPECT_EQ(found.outliers, 3u);
  ASSERT_EQ(found.steps.size(), 10u);
  // oracle: the same deviates and critical values worked out in R (tests/support/statistics.R)
  const std::vector<double> expected = test::second_opinion("extreme_deviates ROSNER");
  for (std::size_t i = 0; i < 10; ++i) {
    EXPECT_NEAR(found.steps[i].statistic / expected[2 * i], 1, 1e-10) << i;
    EXPECT_NEAR(found.steps[i].critical / expected[2 * i + 1], 1, 1e-10) << i;
  }
}

TEST(ExtremeDeviates, Grubbs) {
  // source: e-Handbook 1.3.5.17.1: G 2.46876, one-sided 5 % point 2.03165 (a two-sided test at 10 %)
  const std::vector<double> values{199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57};
  const ExtremeDeviates found = extreme_deviates(counted(values), 1, 0.10);
  EXPECT_NEAR(found.steps[0].statistic, 2.46876, 1e-5);
  EXPECT_NEAR(found.steps[0].critical, 2.03165, 1e-5);
  EXPECT_EQ(found.steps[0].value, 245.57);
  EXPECT_FALSE(found.steps[0].low);
  EXPECT_EQ(found.outliers, 1u);
}

TEST(ExtremeDeviates, OneOfEqualValuesAtATime) {
  // boundary: of two equal values at the end each is removed by itself; the smallest is told from the largest
  std::vector<double> values;
  for (int i = 0; i < 40; ++i) values.push_back(70 + i % 10);
  values.insert(values.end(), {120, 120, 20});
  const ExtremeDeviates found = extreme_deviates(counted(values), 4, 0.05);
  ASSERT_EQ(found.outliers, 3u);
  EXPECT_EQ(found.steps[0].value, 20);
  EXPECT_TRUE(found.steps[0].low);
  for (const std::size_t i : {1u, 2u}) {
    EXPECT_EQ(found.steps[i].value, 120);
    EXPECT_FALSE(found.steps[i].low);
  }
}

TEST(Spacing, OfAnExponentialTailIsUniform) {
  // oracle: gaps beside the one, two or three largest of 100 exponential values: the probability is below 5 % in 5 % of 4,000
  // samples, within three standard errors; at the other end, where nothing tails off, never more often
  for (const std::size_t outliers : {1u, 2u, 3u}) {
    RandomEngine engine(31);
    int rare = 0, rare_below = 0;
    for (int trial = 0; trial < 4000; ++trial) {
      std::vector<double> values(100);
      for (double& value : values) value = -std::log(uniform_unit(engine));
      rare += spacing_probability(counted(values), outliers, false) <= 0.05 ? 1 : 0;
      rare_below += spacing_probability(counted(values), outliers, true) <= 0.05 ? 1 : 0;
    }
    const double error = 3 * std::sqrt(0.05 * 0.95 / 4000);
    EXPECT_NEAR(rare / 4000.0, 0.05, error) << outliers;
    EXPECT_LE(rare_below / 4000.0, 0.05 + error) << outliers;
  }
}

TEST(Spacing, StandsApart) {
  // identity: by hand, of 0, 1 .. 19 and 30: the gap of 11 has rank 1, the four spacings of 1 beside it have ranks 2 to 5, 14
  // together
  std::vector<double> values;
  for (int i = 0; i < 20; ++i) values.push_back(i);
  values.push_back(30);
  EXPECT_NEAR(spacing_probability(counted(values), 1, false), std::pow(1 + 11.0 / 14, -4), 1e-12);
}

TEST(Drift, SecondOpinion) {
  // oracle: a linear model in R (tests/support/statistics.R): F and slopes over GEAR laid out in rows of ten
  const std::vector<double> values = numbers("GEAR.DAT", 25);
  std::vector<double> x, y;
  for (int i = 1; i <= 100; ++i) {
    x.push_back(i % 10);
    y.push_back(i / 10);
  }
  const std::vector<double> expected = test::second_opinion("drift GEAR");
  const Trend found = *drift(values, x, y, 0.05, 1);
  EXPECT_NEAR(found.test.statistic / expected[0], 1, 1e-8);
  EXPECT_NEAR(found.slope_x / expected[1], 1, 1e-8);
  EXPECT_NEAR(found.slope_y / expected[2], 1, 1e-8);
}

TEST(Drift, NeighboursThatAreAlikeAreWorthLess) {
  // identity: a slow change that varies twice as much by chance halves F and the degrees of freedom below
  const std::vector<double> values = numbers("GEAR.DAT", 25);
  std::vector<double> x;
  for (int i = 0; i < 100; ++i) x.push_back(i);
  const Trend plain = *drift(values, x, {}, 0.05, 1), alike = *drift(values, x, {}, 0.05, 2);
  EXPECT_NEAR(alike.test.statistic, plain.test.statistic / 2, 1e-12);
  EXPECT_NEAR(alike.test.critical, quantile(complement(boost::math::fisher_f(1, 49), 0.05)), 1e-9);
  EXPECT_EQ(alike.range, plain.range);
  EXPECT_NEAR(plain.range, std::fabs(plain.slope_x) * 99, 1e-12);
}

TEST(Trend, OfNothingIsNotBelowNothing) {
  // regression: rounding made F negative where a line, a bow or a wave explains nothing at all, as with readings in whole steps
  // that are the same from either end: an exception ended the run
  for (int n = 16; n <= 120; ++n) {
    std::vector<double> values, x;
    for (int i = 0; i < n; ++i) {
      const int from_end = std::min(i, n - 1 - i);
      values.push_back(75 + from_end * 7 % 5);
      x.push_back(i);
    }
    const std::optional<Trend> found = drift(values, x, {}, 0.05, 1);
    ASSERT_TRUE(found);
    EXPECT_NEAR(found->test.p_value, 1, 1e-6) << n;
    EXPECT_GE(curvature(values, x, {}, 0.05, 1)->test.statistic, 0) << n;
    EXPECT_TRUE(order_tests(values, 0.05)) << n;
  }
}

TEST(Curvature, ByAnOrthogonalPolynomial) {
  // oracle: over equal distances the part of a square is the contrast x^2 less its mean; F and the height of the bow follow from it
  const std::vector<double> values = numbers("GEAR.DAT", 25);
  std::vector<double> x, contrast;
  for (int i = 0; i < 100; ++i) {
    x.push_back(1000.0 * i);
    contrast.push_back((i - 49.5) * (i - 49.5) - 833.25);
  }
  const Moments known = moments(values);
  double of_line = 0, line = 0, of_square = 0, square = 0;
  for (std::size_t i = 0; i < 100; ++i) {
    const double at = static_cast<double>(i) - 49.5;
    of_line += at * values[i];
    line += at * at;
    of_square += contrast[i] * values[i];
    square += contrast[i] * contrast[i];
  }
  const double all = 99 * std::pow(*known.standard_deviation, 2);
  const double bent = of_square * of_square / square;
  const double rest = all - of_line * of_line / line - bent;
  const Trend found = *curvature(values, x, {}, 0.05, 1);
  EXPECT_NEAR(found.test.statistic / (bent / (rest / 97)), 1, 1e-8);
  EXPECT_NEAR(found.range / (std::fabs(of_square / square) * (49.5 * 49.5 - 0.25)), 1, 1e-8);
  EXPECT_NEAR(found.test.critical, quantile(complement(boost::math::fisher_f(1, 97), 0.05)), 1e-9);
}

TEST(Trend, FewestValues) {
  // boundary: 6 values for a line, 12 for a curve; none without a place that varies
  std::vector<double> values{1, 3, 2, 5, 4, 6, 5, 8, 7, 9, 8, 9}, x{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11};
  const std::span<const double> all(values), places(x);
  EXPECT_TRUE(drift(all.first(6), places.first(6), {}, 0.05, 1));
  EXPECT_FALSE(drift(all.first(5), places.first(5), {}, 0.05, 1));
  EXPECT_TRUE(curvature(all, places, {}, 0.05, 1));
  EXPECT_FALSE(curvature(all.first(11), places.first(11), {}, 0.05, 1));
  EXPECT_FALSE(drift(all, std::vector<double>(12, 3), {}, 0.05, 1));
}

TEST(NoiseModel, KeepsTheVariance) {
  // identity: the mean of the heights over all frequencies is the variance, 1; slow changes of values that follow their neighbours
  // vary (1 + r) / (1 - r) times as much, and never less than with independent ones
  for (const double r : {-0.5, -0.2, 0.0, 0.3, 0.8}) {
    const NoiseModel noise{r, 1e9};
    double sum = 0;
    const int cells = 10'000;
    for (int i = 0; i < cells; ++i) sum += noise.height((i + 0.5) * std::acos(-1.0) / cells);
    EXPECT_NEAR(sum / cells, 1, 1e-6) << r;
    EXPECT_NEAR(noise.slow_variance(), std::max(1.0, (1 + r) / (1 - r)), 1e-12) << r;
    if (r > 0) {
      EXPECT_NEAR(noise.height(0), noise.slow_variance(), 1e-12) << r;
    }
  }
}

TEST(Bounds, SecondOpinion) {
  // oracle: beta and hypergeometric distributions of R (tests/support/statistics.R)
  for (const int k : {0, 1, 3, 10}) {
    for (const int n : {20, 100, 1000}) {
      const double expected = test::second_opinion("share_upper_bound " + std::to_string(k) + " " + std::to_string(n))[0];
      EXPECT_NEAR(share_upper_bound(k, n, 0.95) / expected, 1, 1e-10) << k << " " << n;
    }
  }
  EXPECT_EQ(number_upper_bound(0, 30, 100, 0.95), test::second_opinion("number_upper_bound 0 30 100")[0]);
  EXPECT_EQ(number_upper_bound(2, 50, 400, 0.95), test::second_opinion("number_upper_bound 2 50 400")[0]);
  EXPECT_EQ(number_upper_bound(1, 200, 1000, 0.95), test::second_opinion("number_upper_bound 1 200 1000")[0]);
}

TEST(BinnedNormal, RecoversWhatWasBinned) {
  // identity: counts exactly as expected of a normal distribution read in steps of one standard deviation fit it and pass
  std::vector<double> values;
  const double n = 20000;
  for (int i = -5; i <= 5; ++i) {
    const double share = 0.5 * (std::erf((i + 0.5) / std::sqrt(2.0)) - std::erf((i - 0.5) / std::sqrt(2.0)));
    values.insert(values.end(), static_cast<std::size_t>(std::round(n * share)), 10 + 3.0 * i);
  }
  const BinnedNormal fitted = *binned_normal(counted(values), 3, 0.05);
  EXPECT_NEAR(fitted.mean, 10, 1e-3);
  EXPECT_NEAR(fitted.deviation, 3, 1e-2);
  EXPECT_GT(fitted.test->p_value, 0.99);
  EXPECT_LT(fitted.distance, 1e-3);
}

TEST(BinnedNormal, FewBinsAreNotTested) {
  // boundary: three different values leave no degree of freedom; equal values have no spread
  std::vector<double> values(30, 1.0);
  EXPECT_FALSE(binned_normal(counted(values), 1, 0.05));
  values.insert(values.end(), 30, 2.0);
  values.insert(values.end(), 30, 3.0);
  ASSERT_TRUE(binned_normal(counted(values), 1, 0.05));
  EXPECT_FALSE(binned_normal(counted(values), 1, 0.05)->test);
}

}  // namespace
}  // namespace sievecloth
