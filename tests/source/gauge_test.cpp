#include "sievecloth/gauge.hpp"

#include <array>
#include <cmath>
#include <map>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "support/reference_data.hpp"

namespace sievecloth {
namespace {

// The data set from Measurement Systems Analysis: 10 parts, 3 appraisers, 3 trials; by appraiser, then trial, then part.
const std::vector<double> k_published{
    .29,   -.56,  1.34,  .47,   -.80, .02,   .59,  -.31,  2.26,  -1.36, .41,   -.68,  1.17,  .50,   -.92, -.11,  .75,  -.20,
    1.99,  -1.25, .64,   -.58,  1.27, .64,   -.84, -.21,  .66,   -.17,  2.01,  -1.31, .08,   -.47,  1.19, .01,   -.56, -.20,
    .47,   -.63,  1.80,  -1.68, .25,  -1.22, .94,  1.03,  -1.20, .22,   .55,   .08,   2.12,  -1.62, .07,  -.68,  1.34, .20,
    -1.28, .06,   .83,   -.34,  2.19, -1.50, .04,  -1.38, .88,   .14,   -1.46, -.29,  .02,   -.46,  1.77, -1.49, -.11, -1.13,
    1.09,  .20,   -1.07, -.67,  .01,  -.56,  1.45, -1.77, -.15,  -.96,  .67,   .11,   -1.45, -.49,  .21,  -.49,  1.87, -2.16};

std::vector<GaugeReading> published() {
  std::vector<GaugeReading> readings;
  for (std::int32_t i = 0; i < 90; ++i) readings.push_back({i % 10, i / 30, k_published[static_cast<std::size_t>(i)]});
  return readings;
}

TEST(Gauge, PublishedStudy) {
  // source: AIAG, Measurement Systems Analysis, 4th edition: sums of squares (degrees of freedom) and pooled estimates
  const Gauge gauge = study_gauge(published()).value();
  EXPECT_NEAR(gauge.item.square, 88.361934, 1e-6);
  EXPECT_EQ(gauge.item.freedom, 9);
  EXPECT_NEAR(gauge.person.square, 3.167262, 1e-6);
  EXPECT_EQ(gauge.person.freedom, 2);
  EXPECT_NEAR(gauge.interaction.square, 0.358982, 1e-6);
  EXPECT_EQ(gauge.interaction.freedom, 18);
  EXPECT_NEAR(gauge.error.square, 2.758933, 1e-6);
  EXPECT_EQ(gauge.error.freedom, 60);
  EXPECT_NEAR(gauge.item.square + gauge.person.square + gauge.interaction.square + gauge.error.square, 94.647112, 2e-6);
  EXPECT_TRUE(gauge.pooled);
  EXPECT_NEAR(gauge.repeatability, 0.199933, 1e-6);
  EXPECT_NEAR(gauge.reproducibility, 0.226838, 1e-6);
  EXPECT_NEAR(gauge.combined, 0.302372, 1e-6);
  EXPECT_NEAR(gauge.between_items, 1.042328, 1e-6);
  EXPECT_NEAR(gauge.total, 1.085300, 1e-6);
  EXPECT_NEAR(gauge.percent_of_total, 27.8607, 1e-4);
  EXPECT_NEAR(gauge.categories, 4.86, 5e-3);
  EXPECT_EQ(gauge.whole_categories(), 4);
}

TEST(Gauge, SecondOpinion) {
  // oracle: analysis of variance in R (tests/support/statistics.R) of the AIAG set, and of the resistivity study of
  // e-Handbook 2.6.1: five wafers read with five probes, twelve times each
  std::map<std::string, std::int32_t> wafers, probes;
  std::vector<GaugeReading> readings;
  const std::vector<std::string> wafer = test::reference_column("MPC61.DAT", 50, 1);
  const std::vector<std::string> probe = test::reference_column("MPC61.DAT", 50, 2);
  const std::vector<std::string> value = test::reference_column("MPC61.DAT", 50, 7);
  const auto number = [](auto& known, const std::string& name) {
    return known.try_emplace(name, static_cast<std::int32_t>(known.size())).first->second;
  };
  for (std::size_t i = 0; i < value.size(); ++i)
    readings.push_back({number(wafers, wafer[i]), number(probes, probe[i]), std::stod(value[i])});
  ASSERT_EQ(readings.size(), 300u);
  const std::vector<double> freedom = test::second_opinion("gauge MPC61 freedom");
  for (const auto& [study, name] : {std::pair{readings, "gauge MPC61 squares"}, std::pair{published(), "gauge squares"}}) {
    const Gauge gauge = study_gauge(study).value();
    const std::vector<double> expected = test::second_opinion(name);
    const std::array sources{gauge.item, gauge.person, gauge.interaction, gauge.error};
    for (std::size_t i = 0; i < sources.size(); ++i) {
      EXPECT_NEAR(sources[i].square / expected[i], 1, 1e-8) << name << " " << i;
      if (study.size() == 300) {
        EXPECT_EQ(static_cast<double>(sources[i].freedom), freedom[i]);
      }
    }
  }
  EXPECT_NEAR(study_gauge(published()).value().interaction_p, test::second_opinion("gauge interaction p")[0], 1e-9);
}

TEST(Gauge, Tolerance) {
  // identity: six deviations of 0.302372 are 18.1 % of a width of 10; 2 U = 4 deviations
  const Gauge gauge = study_gauge(published()).value();
  EXPECT_NEAR(judge_gauge(gauge, 10).percent, 18.14, 0.005);
  EXPECT_EQ(judge_gauge(gauge, 10).fitness, GaugeFitness::marginal);
  EXPECT_EQ(judge_gauge(gauge, 100).fitness, GaugeFitness::fit);
  EXPECT_EQ(judge_gauge(gauge, 4.01 * gauge.combined).fitness, GaugeFitness::unfit);
  EXPECT_EQ(judge_gauge(gauge, 3.99 * gauge.combined).fitness, GaugeFitness::cannot);
}

TEST(Gauge, RefusesWhatIsNoStudy) {
  // boundary: a missing reading, a single operator, a single trial, readings that repeat exactly
  std::vector<GaugeReading> readings = published();
  readings.pop_back();
  EXPECT_EQ(study_gauge(readings).error().code, ErrorCode::study_unbalanced);
  const std::vector<GaugeReading> all = published();
  EXPECT_EQ(study_gauge(std::span(all).first(30)).error().code, ErrorCode::study_unbalanced);
  EXPECT_EQ(study_gauge({}).error().code, ErrorCode::study_unbalanced);
  const std::vector<GaugeReading> exact{{0, 0, 1}, {0, 0, 1}, {1, 0, 2}, {1, 0, 2}, {0, 1, 1}, {0, 1, 1}, {1, 1, 2}, {1, 1, 2}};
  EXPECT_EQ(study_gauge(exact).error().code, ErrorCode::study_unbalanced);
}

}  // namespace
}  // namespace sievecloth
