#include "diagnosis/shape.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include <gtest/gtest.h>

#include "diagnosis/order.hpp"
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
    const AndersonDarling found = *anderson_darling(numbers(file + ".DAT", skip), 0.05);
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
  const ExtremeDeviates found = extreme_deviates(values, 10, 0.05);
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
  const ExtremeDeviates found = extreme_deviates(values, 1, 0.10);
  EXPECT_NEAR(found.steps[0].statistic, 2.46876, 1e-5);
  EXPECT_NEAR(found.steps[0].critical, 2.03165, 1e-5);
  EXPECT_EQ(found.steps[0].index, 7u);
  EXPECT_EQ(found.outliers, 1u);
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
  const Drift found = *drift(values, x, y, 0.05);
  EXPECT_NEAR(found.test.statistic / expected[0], 1, 1e-8);
  EXPECT_NEAR(found.slope_x / expected[1], 1, 1e-8);
  EXPECT_NEAR(found.slope_y / expected[2], 1, 1e-8);
}

TEST(Bounds, SecondOpinion) {
  // oracle: beta, hypergeometric and non-central t distributions of R (tests/support/statistics.R)
  for (const int k : {0, 1, 3, 10}) {
    for (const int n : {20, 100, 1000}) {
      const double expected = test::second_opinion("share_upper_bound " + std::to_string(k) + " " + std::to_string(n))[0];
      EXPECT_NEAR(share_upper_bound(k, n, 0.95) / expected, 1, 1e-10) << k << " " << n;
    }
  }
  EXPECT_EQ(number_upper_bound(0, 30, 100, 0.95), test::second_opinion("number_upper_bound 0 30 100")[0]);
  EXPECT_EQ(number_upper_bound(2, 50, 400, 0.95), test::second_opinion("number_upper_bound 2 50 400")[0]);
  EXPECT_EQ(number_upper_bound(1, 200, 1000, 0.95), test::second_opinion("number_upper_bound 1 200 1000")[0]);
  EXPECT_NEAR(normal_share_upper_bound(0, 1, 10, 2, 0.95) / test::second_opinion("normal_share_upper_bound 10 2")[0], 1, 1e-8);
  EXPECT_NEAR(normal_share_upper_bound(0, 1, 30, 3, 0.95) / test::second_opinion("normal_share_upper_bound 30 3")[0], 1, 1e-8);
  EXPECT_NEAR(normal_share_upper_bound(0, 1, 100, 4, 0.95) / test::second_opinion("normal_share_upper_bound 100 4")[0], 1, 1e-8);
  EXPECT_NEAR(normal_share_upper_bound(0, 1, 110, 2.5, 0.95) / test::second_opinion("normal_share_upper_bound 110 2.5")[0], 1,
              1e-8);
}

TEST(BinnedNormal, RecoversWhatWasBinned) {
  // identity: counts exactly as expected of a normal distribution read in steps of one standard deviation fit it and pass
  std::vector<double> values;
  const double n = 20000;
  for (int i = -5; i <= 5; ++i) {
    const double share = 0.5 * (std::erf((i + 0.5) / std::sqrt(2.0)) - std::erf((i - 0.5) / std::sqrt(2.0)));
    values.insert(values.end(), static_cast<std::size_t>(std::round(n * share)), 10 + 3.0 * i);
  }
  const BinnedNormal fitted = *binned_normal(values, 3, 0.05);
  EXPECT_NEAR(fitted.mean, 10, 1e-3);
  EXPECT_NEAR(fitted.deviation, 3, 1e-2);
  EXPECT_GT(fitted.test->p_value, 0.99);
  EXPECT_LT(fitted.distance, 1e-3);
}

TEST(BinnedNormal, FewBinsAreNotTested) {
  // boundary: three different values leave no degree of freedom; equal values have no spread
  std::vector<double> values(30, 1.0);
  EXPECT_FALSE(binned_normal(values, 1, 0.05));
  values.insert(values.end(), 30, 2.0);
  values.insert(values.end(), 30, 3.0);
  ASSERT_TRUE(binned_normal(values, 1, 0.05));
  EXPECT_FALSE(binned_normal(values, 1, 0.05)->test);
}

}  // namespace
}  // namespace sievecloth
