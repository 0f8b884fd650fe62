#include "judgement/predicates.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "judgement/factor.hpp"

namespace sievecloth {
namespace {

constexpr Length um(std::int64_t count) { return Length::of(count, Unit::micrometre); }
constexpr Length k_pm = Length::from_pm(1);

Summary summary_of(std::initializer_list<Length> readings) {
  Summary summary(Thresholds{um(75), {}, {}});
  for (const Length reading : readings) summary.add(reading).value();
  return summary;
}

TEST(MeanWithin, LimitsAreIncluded) {
  // boundary: a mean on the limit is within; one picometre beyond, spread over three readings, is not
  EXPECT_TRUE(mean_within(summary_of({um(79), um(79), um(79)}), um(71), um(79)));
  EXPECT_FALSE(mean_within(summary_of({um(79), um(79), um(79) + k_pm}), um(71), um(79)));
  EXPECT_TRUE(mean_within(summary_of({um(71), um(71), um(71)}), um(71), um(79)));
  EXPECT_FALSE(mean_within(summary_of({um(71), um(71), um(71) - k_pm}), um(71), um(79)));
}

TEST(StandardDeviationWithin, LimitIsIncluded) {
  // boundary: {70, 75, 80} has s = 5 exactly
  EXPECT_TRUE(standard_deviation_within(summary_of({um(70), um(75), um(80)}), um(5)));
  EXPECT_FALSE(standard_deviation_within(summary_of({um(70), um(75), um(80)}), um(5) - k_pm));
  EXPECT_FALSE(standard_deviation_within(summary_of({um(70), um(75), um(80) + k_pm}), um(5)));
  EXPECT_TRUE(standard_deviation_within(summary_of({um(70) + k_pm, um(75), um(80)}), um(5)));
}

TEST(ShareWithin, SixAndFivePercent) {
  // boundary: 6 of 100 is within 6 %, 7 is not; 1 of 17 is within, 1 of 16 is not; 1 of 20 and 1 of 19 for 5 %
  EXPECT_TRUE(share_within(6, 100, 6));
  EXPECT_FALSE(share_within(7, 100, 6));
  EXPECT_FALSE(one_decides(17, 6));
  EXPECT_TRUE(one_decides(16, 6));
  EXPECT_FALSE(one_decides(20, 5));
  EXPECT_TRUE(one_decides(19, 5));
}

TEST(CoarserThan, WhicheverIsGreater) {
  // source: ISO 3310-1:2016, 5.2: readings to 1 um or Y/4, whichever is greater
  EXPECT_FALSE(coarser_than(um(1), um(1), um(2), 4));
  EXPECT_TRUE(coarser_than(um(1) + k_pm, um(1), um(2), 4));
  EXPECT_FALSE(coarser_than(um(15), um(1), um(60), 4));
  EXPECT_TRUE(coarser_than(um(15) + k_pm, um(1), um(60), 4));
}

struct Multiplier {
  std::int64_t n;
  double k;
};

TEST(StandardDeviationFactor, PublishedMultipliers) {
  // source: sqrt((n - 1) / qchisq(a, n - 1)) computed with R 4.2.2, to four decimals
  for (const auto& [n, k] : {Multiplier{15, 1.8536},
                             {20, 1.6662},
                             {25, 1.5581},
                             {30, 1.4867},
                             {40, 1.3966},
                             {50, 1.3410},
                             {100, 1.2200},
                             {250, 1.1292}}) {
    EXPECT_NEAR(standard_deviation_factor(n, 5000), k, 5e-5) << n;
  }
  for (const auto& [n, k] : {Multiplier{15, 2.0897},
                             {20, 1.8352},
                             {25, 1.6921},
                             {30, 1.5991},
                             {40, 1.4835},
                             {50, 1.4132},
                             {100, 1.2631},
                             {250, 1.1528}}) {
    EXPECT_NEAR(standard_deviation_factor(n, 1350), k, 5e-5) << n;
  }
}

TEST(StandardDeviationFactor, OfTheStandard) {
  // source: ISO 3310-1:2000, worked example as in GB/T 6003.1-2012 Annex A: K = 1.55 for n = 25 (truncated)
  EXPECT_EQ(std::floor(standard_deviation_factor(25, 5000) * 100) / 100, 1.55);
}

TEST(StandardDeviationFactor, LimitStaysOnTheCarefulSide) {
  // boundary: K times the divided limit does not exceed the limit, and two picometres more does
  for (const std::int64_t n : {2, 3, 15, 100, 2000, 1'000'000, 1'000'000'000}) {
    const double k = standard_deviation_factor(n, 5000);
    const Length limit = um(9) + Length::from_pm(100'000);
    const Length divided = limit_without_factor(limit, k);
    EXPECT_LE(k * static_cast<double>(divided.pm()), static_cast<double>(limit.pm())) << n;
    EXPECT_GT(k * static_cast<double>(divided.pm() + 2), static_cast<double>(limit.pm())) << n;
  }
  // Large lengths reveal the margin given up for the accuracy of K: 10^-12, on the safe side.
  EXPECT_EQ(limit_without_factor(Length::from_pm(20'000'000'000'000), 2), Length::from_pm(9'999'999'999'990));
}

}  // namespace
}  // namespace sievecloth
