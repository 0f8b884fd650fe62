#include "sievecloth/uncertainty.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <gtest/gtest.h>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/non_central_chi_squared.hpp>

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

double share_below(double x) { return std::erfc(-x / std::sqrt(2.0)) / 2; }

double density(double x) { return std::exp(-x * x / 2) / std::sqrt(2 * std::acos(-1.0)); }

TEST(LargestConformity, IndependentAndCommonErrors) {
  // source: of 20 readings one standard uncertainty below the limit none is above it with 0.841345^20 = 3.2 % if their errors are
  // independent, with 84 % if they are common
  const std::vector<Counted> values{{103.5, 20}};
  const UncertaintySources independent{um("0"), std::nullopt, um("0"), um("0.5"), std::nullopt};
  EXPECT_NEAR(*largest_conformity(independent, values, 104), std::pow(0.8413447460685429, 20), 1e-9);
  const UncertaintySources common{um("0"), std::nullopt, um("0.5"), um("0"), std::nullopt};
  EXPECT_NEAR(*largest_conformity(common, values, 104), 0.8413447460685429, 1e-9);
  // oracle: a sum over a hundred thousand common errors, if half of the variance is common: some 35 %
  const UncertaintySources both{um("0"), std::nullopt, um("0.353553"), um("0.353553"), std::nullopt};
  double expected = 0;
  constexpr int k_cells = 100'000;
  for (int i = 0; i < k_cells; ++i) {
    const double z = (i + 0.5) * 16 / k_cells - 8;
    expected += density(z) * 16 / k_cells * std::pow(share_below((0.5 - 0.353553 * z) / 0.353553), 20);
  }
  EXPECT_NEAR(expected, 0.35, 0.02);
  EXPECT_NEAR(*largest_conformity(both, values, 104), expected, 1e-6);
}

TEST(LargestConformity, ARepeatabilityFromTwoReadingsIsHardlyKnown) {
  // source: Student's t with one degree of freedom is the Cauchy distribution, 1/2 + atan(t) / pi; from many readings it is normal
  const std::vector<Counted> one{{92.2, 1}};
  UncertaintySources sources{um("0"), std::nullopt, um("0"), um("2"), 2};
  EXPECT_NEAR(*largest_conformity(sources, one, 101), 0.5 + std::atan(4.4) / std::numbers::pi, 2e-3);
  EXPECT_NEAR(*largest_conformity(sources, one, 94.2), 0.75, 2e-3);
  sources.repeatability_readings = 1000;
  EXPECT_NEAR(*largest_conformity(sources, one, 94.2), share_below(1), 1e-3);
  sources.repeatability_readings = 1001;  // taken as known
  EXPECT_NEAR(*largest_conformity(sources, one, 94.2), share_below(1), 1e-9);
}

TEST(FigureUncertainties, TheLargerOneDecides) {
  // boundary: a budget equal to what the sources give is taken, one below it is not and said to be smaller
  DirectionSample side;
  for (int i = 0; i < 100; ++i) (void)side.aperture.add(um(i % 2 == 0 ? "74" : "76"));
  UncertaintySources sources{um("0"), std::nullopt, um("0.1"), um("0"), std::nullopt};
  const double computed = mean_uncertainty(sources, 75, 1.0, 100).expanded_um;
  const auto with_budget = [&](double expanded) {
    sources.budget.mean = StatedUncertainty{.expanded = round_to_length(expanded, Unit::micrometre).value()};
    return *figure_uncertainties(sources, side, um("104")).mean;
  };
  EXPECT_TRUE(with_budget(computed + 1e-6).from_budget);
  EXPECT_FALSE(with_budget(computed - 2e-6).from_budget);
  EXPECT_TRUE(with_budget(computed - 2e-6).budget_is_smaller);
  // source: k = 1 covers 68.27 %; at 95.45 % it is twice as much
  sources.budget.mean = StatedUncertainty{.expanded = um("0.3"), .coverage_factor = 1, .coverage_probability = 0.6827};
  const Uncertainty converted = *figure_uncertainties(sources, side, um("104")).mean;
  EXPECT_NEAR(converted.expanded_um, 0.6, 1e-4);
  EXPECT_NEAR(std::hypot(converted.systematic_um, converted.random_um), converted.combined_um, 1e-12);
  EXPECT_FALSE(figure_uncertainties({}, side, um("104")).mean);
}

TEST(LargestConformity, OfManyDifferentReadings) {
  // oracle: a sum over common errors of the product over single readings, with a scale of 0.5 % and readings on both sides of the
  // limit
  std::vector<Counted> values;
  for (int i = 0; i <= 100; ++i) values.push_back({54 + 0.5 * i, 1 + (100 - i) * i / 100});
  const UncertaintySources sources{um("0.5"), 0.005, um("0.1"), um("0.3"), std::nullopt};
  const double independent = std::hypot(0.3, 0.5 / std::sqrt(12.0)), common = std::hypot(0.005 * 104, 0.1);
  double expected = 0;
  constexpr int k_cells = 20'000;
  for (int i = 0; i < k_cells; ++i) {
    const double z = (i + 0.5) * 16 / k_cells - 8;
    double none = 1;
    for (const Counted& value : values)
      none *= std::pow(share_below((104 - value.value_um - z * common) / independent), static_cast<double>(value.count));
    expected += density(z) * 16 / k_cells * none;
  }
  EXPECT_GT(expected, 0.05);
  EXPECT_NEAR(*largest_conformity(sources, values, 104), expected, 1e-6);
}

TEST(LargestConformity, ResolutionIsCommonWithoutSpread) {
  // boundary: rounding is the same in every reading if these hardly vary, and independent otherwise
  const UncertaintySources sources{um("1"), std::nullopt, std::nullopt, std::nullopt, std::nullopt};
  const double u = 1 / std::sqrt(12.0);
  EXPECT_NEAR(*largest_conformity(sources, std::vector<Counted>{{103.5, 20}}, 104), share_below(0.5 / u), 1e-9);
  const std::vector<Counted> spread{{100.5, 20}, {103.5, 20}};
  EXPECT_NEAR(*largest_conformity(sources, spread, 104), std::pow(share_below(0.5 / u), 20), 1e-9);
  EXPECT_FALSE(largest_conformity({}, spread, 104));
}

TEST(DeviationConformity, FromRepeatedMeasuring) {
  // oracle: how often apertures exactly at the limit, measured with noise, show an s^2 above the one found (noncentral chi-square),
  // among those whose variance cannot be negative; the normal approximation comes within 1.5 percentage points
  const UncertaintySources sources{um("0"), std::nullopt, um("0"), um("2"), std::nullopt};
  for (const auto& [s, n] : {std::pair(4.0, 100), std::pair(3.0, 200), std::pair(2.2, 100)}) {
    const double freedom = n - 1, noise = 4;
    const double found = freedom * s * s / noise;
    const double of_nothing = cdf(complement(boost::math::chi_squared(freedom), found));
    for (const double part : {0.8, 0.9, 1.0, 1.1, 1.2}) {
      const double limit = part * std::sqrt(s * s - noise);
      const boost::math::non_central_chi_squared measured(freedom, freedom * limit * limit / noise);
      const double expected = (cdf(complement(measured, found)) - of_nothing) / (1 - of_nothing);
      EXPECT_NEAR(*deviation_conformity(sources, s, n, limit), expected, 0.015) << s << " " << part;
    }
  }
}

TEST(DeviationConformity, ByTheScaleAlone) {
  // identity: a scale that is uncertain by 1 % makes s uncertain by 1 %; without any uncertainty there is no probability
  const UncertaintySources sources{um("0"), 0.01, um("0"), um("0"), std::nullopt};
  EXPECT_NEAR(*deviation_conformity(sources, 4, 100, 4.04), share_below(1), 0.003);
  EXPECT_NEAR(*deviation_conformity(sources, 4, 100, 4), 0.5, 1e-9);
  EXPECT_NEAR(*deviation_conformity(sources, 4, 100, 3.96), share_below(-1), 0.003);
  EXPECT_FALSE(deviation_conformity({}, 4, 100, 4));
}

TEST(DeviationConformity, StaysAProbability) {
  // boundary: noise that explains more than all of s leaves a probability between 0 and 1, which grows with the limit
  const UncertaintySources sources{um("1"), 0.01, um("1"), um("4"), 10};
  double before = 0;
  for (const double limit : {0.5, 1.0, 2.0, 4.0, 8.0}) {
    const double probability = *deviation_conformity(sources, 3, 50, limit);
    EXPECT_GE(probability, before);
    EXPECT_LE(probability, 1);
    before = probability;
  }
  EXPECT_GT(before, 0.99);
}

TEST(Risks, AgainstABruteForceIntegral) {
  // oracle: a sum over a million true values, each measured in a region with the probability given by the error function
  struct Case {
    Prior prior;
    double u, lower, upper, guard;
    DecisionRule rule;
  };
  constexpr DecisionRule k_guarded = DecisionRule::guarded, k_four = DecisionRule::four_outcomes;
  for (const Case& c : {Case{{75, 1.5}, 0.5, 71.8, 78.2, 0, DecisionRule::simple}, Case{{76, 1.5}, 0.5, 71.8, 78.2, 1.0, k_guarded},
                        Case{{75, 2}, 2, 71.8, 78.2, 0.5, k_guarded}, Case{{76, 1.5}, 0.5, 71.8, 78.2, 0.5, k_four},
                        Case{{75, 2}, 2, 71.8, 78.2, 1.5, k_four}, Case{{75, 2}, 2, 71.8, 78.2, 4, k_four}}) {
    double consumer = 0, producer = 0, pass = 0, conditional_pass = 0, conditional_fail = 0, fail = 0;
    constexpr int k_cells = 1'000'000;
    const double step = 16 * c.prior.standard_deviation / k_cells;
    for (int i = 0; i < k_cells; ++i) {
      const double value = c.prior.mean + (i + 0.5 - k_cells / 2) * step;
      const double weight = density((value - c.prior.mean) / c.prior.standard_deviation) / c.prior.standard_deviation * step;
      const auto measured_within = [&](double moved) {
        return std::max(0.0, share_below((c.upper + moved - value) / c.u) - share_below((c.lower - moved - value) / c.u));
      };
      const double passes = measured_within(-c.guard);
      const double within = c.rule == k_four ? measured_within(0) : passes;
      const double not_failed = c.rule == k_four ? measured_within(c.guard) : passes;
      pass += weight * passes;
      conditional_pass += weight * (within - passes);
      conditional_fail += weight * (not_failed - within);
      fail += weight * (1 - not_failed);
      const bool good = value >= c.lower && value <= c.upper;
      (good ? producer : consumer) += weight * (good ? 1 - not_failed : passes);
    }
    const Risks risks = global_risks(c.prior, c.u, c.lower, c.upper, c.guard, c.rule);
    EXPECT_NEAR(risks.consumer, consumer, 1e-5);
    EXPECT_NEAR(risks.producer, producer, 1e-5);
    EXPECT_NEAR(risks.pass, pass, 1e-5);
    EXPECT_NEAR(risks.conditional_pass, conditional_pass, 1e-5);
    EXPECT_NEAR(risks.conditional_fail, conditional_fail, 1e-5);
    EXPECT_NEAR(risks.fail, fail, 1e-5);
    EXPECT_NEAR(risks.pass + risks.conditional_pass + risks.conditional_fail + risks.fail, 1, 1e-12);
    EXPECT_GT(consumer + producer, 1e-4);  // so that the comparison is meaningful
  }
}

TEST(Risks, NoneIsConditionalButUnderFourOutcomes) {
  // identity: guarded and simple acceptance know two outcomes; without a guard band four outcomes are simple acceptance
  const Prior prior{76, 1.5};
  for (const DecisionRule rule : {DecisionRule::simple, DecisionRule::guarded}) {
    const Risks risks = global_risks(prior, 0.5, 71.8, 78.2, rule == DecisionRule::simple ? 0 : 0.6, rule);
    EXPECT_EQ(risks.conditional_pass, 0);
    EXPECT_EQ(risks.conditional_fail, 0);
    EXPECT_NEAR(risks.pass + risks.fail, 1, 1e-12);
  }
  const Risks four = global_risks(prior, 0.5, 71.8, 78.2, 0, DecisionRule::four_outcomes);
  const Risks simple = global_risks(prior, 0.5, 71.8, 78.2, 0, DecisionRule::simple);
  EXPECT_NEAR(four.pass, simple.pass, 1e-12);
  EXPECT_NEAR(four.consumer, simple.consumer, 1e-12);
  EXPECT_NEAR(four.producer, simple.producer, 1e-12);
  EXPECT_NEAR(four.conditional_pass + four.conditional_fail, 0, 1e-12);
}

}  // namespace
}  // namespace sievecloth
