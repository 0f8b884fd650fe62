#include "sievecloth/sampling.hpp"

#include <cmath>

#include <fmt/format.h>
#include <gtest/gtest.h>

#include "support/reference_data.hpp"

namespace sievecloth {
namespace {

std::vector<double> numbers(const std::string& file, int skip, int column = 0) {
  std::vector<double> values;
  for (const std::string& text : test::reference_column(file, skip, column)) values.push_back(std::stod(text));
  return values;
}

TEST(Lag1Correlation, CertifiedValues) {
  // source: NIST StRD, univariate summary statistics, certified lag-1 autocorrelations
  struct Certified {
    const char* file;
    int skip;
    double correlation, tolerance;
  };
  for (const Certified& certified :
       {Certified{"NUMACC2.DAT", 60, -0.999, 1e-12}, Certified{"NUMACC3.DAT", 60, -0.999, 1e-8},
        Certified{"NUMACC4.DAT", 60, -0.999, 1e-7},  // eight digits precede the decimal point
        Certified{"MICHELSO.DAT", 25, 0.535199668621283, 1e-12}, Certified{"MAVRO.DAT", 25, 0.937989183438248, 1e-11},
        Certified{"LEW.DAT", 25, -0.307304800605679, 1e-14}, Certified{"LOTTERY3.DAT", 25, -0.120948622967393, 1e-14}}) {
    EXPECT_NEAR(*lag1_correlation(numbers(certified.file, certified.skip)), certified.correlation, certified.tolerance)
        << certified.file;
  }
}

TEST(MeanInterval, Zarr13) {
  // source: e-Handbook 1.3.5.2: n 195, mean 9.261460, s 0.02278881, 95 % interval 9.258242 to 9.264679
  const Moments zarr = moments(numbers("ZARR13.DAT", 25));
  ASSERT_EQ(zarr.n, 195);
  EXPECT_NEAR(*zarr.mean, 9.261460, 1e-6);
  EXPECT_NEAR(*zarr.standard_deviation, 0.02278881, 2e-8);  // printed from single precision
  const Interval interval = mean_interval(*zarr.mean, *zarr.standard_deviation / std::sqrt(195.0), 194, 0.95);
  EXPECT_NEAR(interval.lower, 9.258242, 1e-6);
  EXPECT_NEAR(interval.upper, 9.264679, 1e-6);
}

TEST(StandardDeviationInterval, Gear) {
  // source: e-Handbook 1.3.5.8: n 100, s 0.006278908; 95 % interval 0.00551 to 0.00729
  const Moments gear = moments(numbers("GEAR.DAT", 25));
  EXPECT_NEAR(*gear.standard_deviation, 0.006278908, 5e-9);  // printed from single precision
  const Interval interval = standard_deviation_interval(*gear.standard_deviation, 99, 0.95);
  EXPECT_NEAR(interval.lower, 0.00551, 5e-6);
  EXPECT_NEAR(interval.upper, 0.00729, 5e-6);
}

TEST(StandardDeviationInterval, Wafers) {
  // source: e-Handbook 7.2.3: n 10, s 13.97, sigma0 10: T 17.56448 against its 5 % point 16.92, both to the digits printed. T
  // reaches that point where sigma0 is the lower end of the interval at 90 %
  const double lower = standard_deviation_interval(13.97, 9, 0.90).lower;
  EXPECT_NEAR(16.92 * std::pow(lower / 10, 2), 17.56448, 5e-3);
  EXPECT_GT(lower, 10);
}

TEST(ShareUpperBound, NoneInAHundred) {
  // identity: with none of n found the bound is 1 - 0.05^(1/n): 2.95 % for n = 100
  EXPECT_NEAR(share_upper_bound(0, 100, 0.95), 1 - std::pow(0.05, 0.01), 1e-12);
  EXPECT_NEAR(share_upper_bound(0, 100, 0.95), 0.0295, 5e-5);
  EXPECT_EQ(share_upper_bound(5, 5, 0.95), 1);
}

TEST(NumberUpperBound, AgainstCounting) {
  // oracle: the probability of the sample, computed by multiplication for each number in the lot
  const auto chance_of_none = [](int bad, int n, int total) {
    double chance = 1;
    for (int i = 0; i < n; ++i) chance *= std::max(0.0, static_cast<double>(total - bad - i) / (total - i));
    return chance;
  };
  for (const auto& [n, total] : {std::pair{10, 40}, std::pair{30, 40}, std::pair{40, 40}, std::pair{100, 1000}}) {
    int greatest = 0;
    for (int bad = 0; bad <= total - n; ++bad) {
      if (chance_of_none(bad, n, total) > 0.05) greatest = bad;
    }
    EXPECT_EQ(number_upper_bound(0, n, total, 0.95), greatest) << n << " of " << total;
  }
  EXPECT_EQ(number_upper_bound(3, 40, 40, 0.95), 3);  // all were measured
}

TEST(NumberUpperBound, ComesToTheShareOfALargeLot) {
  // identity: in a lot much larger than the sample the hypergeometric bound equals the binomial one
  EXPECT_NEAR(static_cast<double>(number_upper_bound(2, 100, 1'000'000, 0.95)) / 1e6, share_upper_bound(2, 100, 0.95), 1e-5);
}

TEST(NormalShareUpperBound, PublishedToleranceFactors) {
  // source: exact one-sided tolerance factors k1(n, p, confidence) computed with R: k1(10,.95,.95) 2.910963, k1(20,.99,.95)
  // 3.295157, and for e-Handbook 7.2.6.3 k1(43,.90,.99) 1.873954: at mean + k1 s the bound on the share above is 1 - p
  EXPECT_NEAR(normal_share_upper_bound(0, 1, 10, 2.910963, 0.95), 0.05, 1e-7);
  EXPECT_NEAR(normal_share_upper_bound(0, 1, 20, 3.295157, 0.95), 0.01, 1e-7);
  EXPECT_NEAR(normal_share_upper_bound(0, 1, 43, 1.873954, 0.99), 0.10, 1e-7);
}

TEST(NormalShareUpperBound, HandbookApproximation) {
  // source: e-Handbook 7.2.6.3 prints k1 1.8752 (Natrella's approximation), within 0.1 % of the exact factor
  EXPECT_NEAR(normal_share_upper_bound(97.07, 0.0268, 43, 97.07 + 1.8752 * 0.0268, 0.99), 0.10, 5e-4);
  EXPECT_GT(normal_share_upper_bound(10, 2, 50, 10 - 6, 0.95), 0.99);  // a limit below nearly everything
}

TEST(OneWay, SirstvCertified) {
  // source: NIST StRD, analysis of variance, SiRstv, certified values
  const std::vector<double> values = numbers("SIRSTV.DAT", 60, 1);
  std::vector<std::int32_t> group;
  for (const std::string& text : test::reference_column("SIRSTV.DAT", 60, 0)) group.push_back(std::stoi(text) - 1);
  ASSERT_EQ(values.size(), 25u);
  const OneWay anova = *one_way(values, group);
  EXPECT_EQ(anova.between_freedom, 4);
  EXPECT_EQ(anova.within_freedom, 20);
  EXPECT_NEAR(anova.between_square / 5.11462616000000E-02, 1, 1e-10);
  EXPECT_NEAR(anova.within_square / 2.16636560000000E-01, 1, 1e-10);
  EXPECT_NEAR(anova.f() / 1.18046237440255E+00, 1, 1e-10);
}

TEST(Clustering, AThousandReadingsOfTwentyGapsAreTwenty) {
  // boundary: readings that agree within their gap count once; readings alone in their gap count individually
  std::vector<double> values;
  std::vector<std::int32_t> gap;
  for (int i = 0; i < 1000; ++i) {
    values.push_back(75 + (i % 20 * 7 % 20) * 0.1);
    gap.push_back(i % 20);
  }
  const Clustering clustered = *clustering(values, gap);
  EXPECT_NEAR(clustered.effective_n, 20, 1e-9);
  EXPECT_NEAR(clustered.correlation, 1, 1e-12);
  EXPECT_EQ(clustered.mean_freedom, 19);
  for (int i = 0; i < 1000; ++i) gap[static_cast<std::size_t>(i)] = i;
  const Clustering alone = *clustering(values, gap);
  EXPECT_EQ(alone.effective_n, 1000);
  EXPECT_EQ(alone.design_effect, 1);
  EXPECT_FALSE(clustering(values, std::vector<std::int32_t>(1000, 0)));
}

TEST(Moments, UndefinedIsSaid) {
  // boundary: nothing has no mean, one value no deviation, equal values no correlation
  EXPECT_FALSE(moments({}).mean);
  const std::vector<double> one{3};
  EXPECT_FALSE(moments(one).standard_deviation);
  const std::vector<double> equal{3, 3, 3};
  EXPECT_FALSE(lag1_correlation(equal));
}

}  // namespace
}  // namespace sievecloth
