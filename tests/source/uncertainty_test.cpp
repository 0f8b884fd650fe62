#include "sievecloth/uncertainty.hpp"

#include <cmath>

#include <gtest/gtest.h>

namespace sievecloth {
namespace {

Length um(const char* text) { return parse_length(text, Unit::micrometre).value(); }

TEST(ConformityProbability, InTheMannerOfJcgm106) {
  // source: examples in the manner of JCGM 106:2012 (inputs from memory, results computed): 0.9977 and 0.6626
  EXPECT_NEAR(conformity_probability(507, 6, 490, std::nullopt), 0.9977, 5e-5);
  EXPECT_NEAR(conformity_probability(13.6, 1.8, 12.5, 16.3), 0.6626, 5e-5);
}

TEST(ConformityProbability, GuardBandOfU) {
  // source: ILAC-G8:09/2019: with w = U (k = 2) the risk of a false acceptance is below 2.5 %, computed 2.28 %
  const double u = 3;
  EXPECT_NEAR(1 - conformity_probability(100 - 2 * u, u, std::nullopt, 100), 0.0228, 5e-5);
}

TEST(Uncertainty, SystematicPartStays) {
  // identity: u^2 = (scale x)^2 + offset^2 + (repeatability^2 + q^2 / 12) / n; k = 2 at 95.45 % with unlimited degrees of freedom
  const UncertaintySources sources{um("1"), 0.001, um("0.2"), um("0.8"), std::nullopt};
  const Uncertainty mean = mean_uncertainty(sources, 75, 3.0, 100);
  EXPECT_NEAR(mean.systematic_um, std::hypot(0.075, 0.2), 1e-12);
  EXPECT_NEAR(mean.random_um, std::sqrt((0.64 + 1.0 / 12) / 100), 1e-12);
  EXPECT_NEAR(mean.coverage_factor, 2.0000, 5e-5);
  EXPECT_FALSE(mean.freedom);
  const Uncertainty many = mean_uncertainty(sources, 75, 3.0, 100'000'000);
  EXPECT_NEAR(many.combined_um, std::hypot(0.075, 0.2), 1e-7);
}

TEST(Uncertainty, ResolutionAveragesOutOnlyUnderSpread) {
  // boundary: q / sqrt(12) is random if s > q, and systematic if the readings hardly vary
  const UncertaintySources sources{um("1"), std::nullopt, um("0"), um("0"), std::nullopt};
  EXPECT_NEAR(mean_uncertainty(sources, 75, 1.001, 100).combined_um, std::sqrt(1.0 / 12) / 10, 1e-12);
  EXPECT_NEAR(mean_uncertainty(sources, 75, 1.0, 100).combined_um, std::sqrt(1.0 / 12), 1e-12);
  EXPECT_NEAR(mean_uncertainty(sources, 75, std::nullopt, 1).combined_um, std::sqrt(1.0 / 12), 1e-12);
}

TEST(Uncertainty, DegreesOfFreedom) {
  // source: JCGM 100:2008, G.4.1 and table G.2: repeatability alone from 10 readings has 9 degrees of freedom, k(95.45 %) = 2.32
  const UncertaintySources sources{um("0.001"), 0.0, std::nullopt, um("0.8"), 10};
  const Uncertainty reading = reading_uncertainty(sources, 75);
  EXPECT_NEAR(*reading.freedom, 9, 0.01);
  EXPECT_NEAR(reading.coverage_factor, 2.32, 0.005);
}

TEST(Uncertainty, CorrectedDeviationIsShownAlone) {
  // identity: s^2 = (true s)^2 + repeatability^2 + q^2 / 12; nothing is left where these explain all
  const UncertaintySources sources{um("0.001"), std::nullopt, std::nullopt, um("3"), std::nullopt};
  EXPECT_NEAR(*corrected_deviation_um(sources, 5), 4, 1e-6);
  EXPECT_FALSE(corrected_deviation_um(sources, 3));
}

TEST(Risks, AgainstABruteForceIntegral) {
  // oracle: a sum over a million true values, each accepted with the probability given by the error function
  const auto share_below = [](double x) { return std::erfc(-x / std::sqrt(2.0)) / 2; };
  struct Case {
    Prior prior;
    double u, lower, upper, guard;
  };
  for (const Case& c :
       {Case{{75, 1.5}, 0.5, 71.8, 78.2, 0}, Case{{76, 1.5}, 0.5, 71.8, 78.2, 1.0}, Case{{75, 2}, 2, 71.8, 78.2, 0.5}}) {
    double consumer = 0;
    double producer = 0;
    constexpr int k_cells = 1'000'000;
    const double step = 16 * c.prior.standard_deviation / k_cells;
    for (int i = 0; i < k_cells; ++i) {
      const double value = c.prior.mean + (i + 0.5 - k_cells / 2) * step;
      const double accepted = share_below((c.upper - c.guard - value) / c.u) - share_below((c.lower + c.guard - value) / c.u);
      const double z = (value - c.prior.mean) / c.prior.standard_deviation;
      const double weight = std::exp(-z * z / 2) / (c.prior.standard_deviation * 2.5066282746310002) * step;
      const bool good = value >= c.lower && value <= c.upper;
      (good ? producer : consumer) += weight * (good ? 1 - accepted : accepted);
    }
    const Risks risks = global_risks(c.prior, c.u, c.lower, c.upper, c.guard);
    EXPECT_NEAR(risks.consumer, consumer, 1e-5);
    EXPECT_NEAR(risks.producer, producer, 1e-5);
    EXPECT_GT(consumer, 1e-4);  // so that the comparison is meaningful
  }
}

}  // namespace
}  // namespace sievecloth
