// property: intervals and bounds have their stated coverage, within three standard deviations of a simulation with fixed seeds
#include <algorithm>
#include <cmath>
#include <functional>

#include <gtest/gtest.h>

#include "diagnosis/independence.hpp"
#include "sievecloth/diagnosis.hpp"
#include "sievecloth/sampling.hpp"
#include "support/judging.hpp"
#include "support/loom.hpp"
#include "support/observed.hpp"

namespace sievecloth {
namespace {

using test::normal;

constexpr int k_trials = 2000;
const double k_error = 3 * std::sqrt(0.05 * 0.95 / k_trials);

bool holds(const Interval& interval, double value) { return interval.lower <= value && value <= interval.upper; }

TEST(Coverage, IndependentReadings) {
  // property: the mean of 25 normal readings, 95 %
  RandomEngine engine(11);
  int mean = 0;
  for (int trial = 0; trial < k_trials; ++trial) {
    std::vector<double> values(25);
    for (double& value : values) value = 75 + 3 * normal(engine);
    mean += holds(mean_interval(*mean_of(moments(values)), 0.95), 75) ? 1 : 0;
  }
  EXPECT_NEAR(static_cast<double>(mean) / k_trials, 0.95, k_error);
}

TEST(Coverage, DeviationOfAHundredReadings) {
  // property: the standard deviation of 100 readings, 95 %: at least 94 % if normal, 90 % with heavy tails (t with five degrees of
  // freedom) or skewness (chi-square with four)
  struct Shape {
    const char* name;
    double deviation, least;
    std::function<double(RandomEngine&)> draw;
  };
  const auto squares = [](RandomEngine& engine, int count) {
    double sum = 0;
    for (int i = 0; i < count; ++i) sum += std::pow(normal(engine), 2);
    return sum;
  };
  const Shape shapes[] = {{"normal", 1, 0.94, [](RandomEngine& engine) { return normal(engine); }},
                          {"heavy tails", std::sqrt(5.0 / 3), 0.90,
                           [&](RandomEngine& engine) { return normal(engine) / std::sqrt(squares(engine, 5) / 5); }},
                          {"skew", std::sqrt(8.0), 0.90, [&](RandomEngine& engine) { return squares(engine, 4); }}};
  for (const Shape& shape : shapes) {
    RandomEngine engine(19);
    int covered = 0;
    for (int trial = 0; trial < k_trials; ++trial) {
      std::vector<double> values(100);
      for (double& value : values) value = shape.draw(engine);
      covered += holds(deviation_interval(counted(values), 0, 0, 0.95), shape.deviation) ? 1 : 0;
    }
    EXPECT_GE(static_cast<double>(covered) / k_trials, shape.least - k_error) << shape.name;
  }
}

class ClusteredReadings : public testing::TestWithParam<double> {};

TEST_P(ClusteredReadings, CoverAtLeast) {
  // property: 20 gaps of 1 to 9 readings, from no correlation within a gap to nearly complete correlation: at least 95 %, less
  // three standard deviations
  const double of_gaps = GetParam();
  constexpr int k_many = 10 * k_trials;
  const double error = 3 * std::sqrt(0.05 * 0.95 / k_many);
  RandomEngine engine(12);
  int mean = 0;
  int deviation = 0;
  for (int trial = 0; trial < k_many; ++trial) {
    std::vector<double> values;
    std::vector<int> gaps;
    for (int gap = 0; gap < 20; ++gap) {
      const double common = std::sqrt(of_gaps) * normal(engine);
      for (int i = 0; i <= gap % 9; ++i) {
        values.push_back(75 + 3 * (common + std::sqrt(1 - of_gaps) * normal(engine)));
        gaps.push_back(gap);
      }
    }
    const std::vector<GroupSums> groups = test::sums_by_group<int>(values, gaps, 75);
    mean += holds(mean_interval(*mean_of_groups(groups, 75), 0.95), 75) ? 1 : 0;
    deviation += holds(deviation_interval(groups, 0, 0.95), 3) ? 1 : 0;
  }
  EXPECT_GE(static_cast<double>(mean) / k_many, 0.95 - error);
  EXPECT_GE(static_cast<double>(deviation) / k_many, 0.95 - error);
}

INSTANTIATE_TEST_SUITE_P(Agreement, ClusteredReadings, testing::Values(0.0, 0.1, 0.5, 0.9));

TEST(Coverage, OfAWeakCorrelationInTenFields) {
  // regression: readings of a field were pooled where a test found no difference between fields: a weak correlation, 0.1, in ten
  // fields of 20 readings passed unseen, and intervals of 95 % held 85 %
  RandomEngine engine(20);
  int mean = 0;
  int deviation = 0;
  for (int trial = 0; trial < k_trials; ++trial) {
    std::vector<double> values;
    std::vector<int> fields;
    for (int field = 0; field < 10; ++field) {
      const double common = std::sqrt(0.1) * normal(engine);
      for (int i = 0; i < 20; ++i) {
        values.push_back(common + std::sqrt(0.9) * normal(engine));
        fields.push_back(field);
      }
    }
    const std::vector<GroupSums> groups = test::sums_by_group<int>(values, fields);
    mean += holds(mean_interval(*mean_of_groups(groups, 0), 0.95), 0) ? 1 : 0;
    deviation += holds(deviation_interval(groups, 0, 0.95), 1) ? 1 : 0;
  }
  EXPECT_NEAR(static_cast<double>(mean) / k_trials, 0.95, k_error);
  EXPECT_GE(static_cast<double>(deviation) / k_trials, 0.95 - k_error);
}

TEST(Coverage, OfReadingsThatFollowEachOtherAlike) {
  // property: a hundred readings that were not declared to be neighbours but follow each other alike, as an autoregression: the
  // interval of the mean covers at least 95 %, less three standard deviations
  for (const double r : {0.0, 0.1, 0.3, 0.5}) {
    RandomEngine engine(23);
    int covered = 0;
    int given = 0;
    for (int trial = 0; trial < k_trials; ++trial) {
      std::vector<Reading> readings(100);
      double value = normal(engine);
      for (Reading& reading : readings) {
        reading.aperture = round_to_length(75 + 3 * value, Unit::micrometre).value();
        value = r * value + std::sqrt(1 - r * r) * normal(engine);
      }
      const Observations observations = test::observed(readings, {.pitch = test::um(125)});
      const SeriesObservations series = observations.series(ClothQuantity::aperture, Direction::warp);
      const Independence independence = independence_of(series, {.pitch_um = 125});
      if (independence.correlation > k_most_correlation) continue;
      ++given;
      covered += holds(mean_interval(*mean_of(series, independence), 0.95), 75) ? 1 : 0;
    }
    EXPECT_GE(given, k_trials * 9 / 10) << r;
    EXPECT_GE(static_cast<double>(covered) / given, 0.95 - k_error) << r;
  }
}

TEST(Coverage, ShareBounds) {
  // property: 3 % of the apertures are above the limit: the bound of 100 independent readings covers at least 95 %, and so does
  // that of 20 gaps of five readings, whether these are alike or not
  RandomEngine engine(13);
  const double limit = 1.8807936081512509;  // 97 % of a normal distribution
  const auto covered = [&](double of_gaps) {
    int count = 0;
    for (int trial = 0; trial < k_trials; ++trial) {
      std::int64_t above = 0;
      double shares = 0;
      for (int gap = 0; gap < 20; ++gap) {
        const double common = std::sqrt(of_gaps) * normal(engine);
        for (int i = 0; i < 5; ++i) {
          if (common + std::sqrt(1 - of_gaps) * normal(engine) <= limit) continue;
          ++above;
          shares += 0.2;
        }
      }
      const double bound = of_gaps > 0 ? share_upper_bound_of_groups(shares, 20, 0.95) : share_upper_bound(above, 100, 0.95);
      count += bound >= 0.03 ? 1 : 0;
    }
    return static_cast<double>(count) / k_trials;
  };
  for (const double of_gaps : {0.0, 0.01, 0.5, 0.999}) EXPECT_GE(covered(of_gaps), 0.95 - k_error) << of_gaps;
}

TEST(Coverage, FiniteLots) {
  // property: 40 of 120 apertures measured, 9 of the 120 above the limit: the hypergeometric bound covers at least 95 %
  RandomEngine engine(14);
  int holds_count = 0;
  for (int trial = 0; trial < k_trials; ++trial) {
    int above = 0;
    int left = 9;
    for (int i = 0; i < 40; ++i) {
      if (uniform_below(engine, static_cast<std::uint64_t>(120 - i)) < static_cast<std::uint64_t>(left)) {
        ++above;
        --left;
      }
    }
    holds_count += number_upper_bound(above, 40, 120, 0.95) >= 9 ? 1 : 0;
  }
  EXPECT_GE(static_cast<double>(holds_count) / k_trials, 0.95 - k_error);
}

TEST(Coverage, OfASmallPieceThroughTheDiagnosis) {
  // property: 60 of 200 apertures drawn at random: the interval of the mean covers 95 %, the bound on the number above w + X at
  // least 95 %
  const Specification size = test::specification("astm-e11-17", "No. 200", Grade::inspection);
  RandomEngine engine(15);
  constexpr int k_pieces = 800;
  int mean = 0;
  int number = 0;
  for (int trial = 0; trial < k_pieces; ++trial) {
    std::vector<double> piece(200);
    for (double& value : piece) value = 75 + 14 * normal(engine);  // some 2 % above 104 um
    std::vector<Reading> readings(60);
    Sample sample = make_sample(size);
    for (std::size_t i = 0; i < readings.size(); ++i) {
      std::swap(piece[i], piece[i + uniform_below(engine, piece.size() - i)]);
      readings[i].aperture = round_to_length(piece[i], Unit::micrometre).value();
      sample.add(readings[i]).value();
    }
    const Conditions conditions{.piece = {.apertures_in_piece = 200}, .viewing_passed = true};
    const Observations observations = test::observed(readings, observation_settings(size, false));
    const DirectionConfidence confidence = diagnose(assess(size, sample, conditions).value(), observations, {}).confidence.warp;
    ASSERT_TRUE(confidence.finite);
    mean += holds(*confidence.mean_um, *moments(piece).mean) ? 1 : 0;
    const auto above = std::count_if(piece.begin(), piece.end(), [](double value) { return value > 104; });
    number += *confidence.number_above_bound >= static_cast<double>(above) ? 1 : 0;
  }
  const double error = 3 * std::sqrt(0.05 * 0.95 / k_pieces);
  EXPECT_NEAR(static_cast<double>(mean) / k_pieces, 0.95, error);
  EXPECT_GE(static_cast<double>(number) / k_pieces, 0.95 - error);
}

TEST(Uncertainty, OfTheDeviationIsThatOfMeasuringAgain) {
  // property: the same 40 apertures measured repeatedly, with noise small and large compared with their spread: s varies by its
  // random part, within 3 of its own standard deviations of a simulation; the scale factor changes it in proportion and never
  // averages out
  RandomEngine engine(18);
  for (const std::int64_t noise : {1, 3}) {
    std::vector<double> apertures(40);
    for (double& aperture : apertures) aperture = 75 + 2 * normal(engine);
    std::vector<double> deviations(k_trials);
    for (double& deviation : deviations) {
      std::vector<double> readings = apertures;
      for (double& reading : readings) reading += static_cast<double>(noise) * normal(engine);
      deviation = *moments(readings).standard_deviation;
    }
    const Moments seen = moments(deviations);
    const UncertaintySources sources{test::k_pm, 0.001, Length(), test::um(noise), std::nullopt};
    const Uncertainty uncertainty = deviation_uncertainty(sources, *seen.mean, 40);
    EXPECT_NEAR(uncertainty.random_um / *seen.standard_deviation, 1, 3 / std::sqrt(2.0 * k_trials));
    EXPECT_NEAR(deviation_uncertainty(sources, *seen.mean, 1'000'000'000).combined_um, 0.001 * *seen.mean, 1e-5);
  }
}

// A random sample of a few to a few hundred readings, alone or in fields or gaps, with its mean anywhere near the limits.
std::vector<Reading> random_readings(RandomEngine& engine) {
  const auto n = static_cast<std::size_t>(std::exp(uniform_unit(engine) * std::log(100.0)) * 4);
  const double spread = 0.5 + 5 * uniform_unit(engine), of_groups = uniform_unit(engine);
  const double mean = 75 + 6 * (2 * uniform_unit(engine) - 1);
  const std::uint64_t grouping = uniform_below(engine, 3);
  const std::size_t each = grouping == 0 ? 1 : 1 + uniform_below(engine, 12);
  std::vector<Reading> readings(n);
  double common = 0;
  for (std::size_t i = 0; i < n; ++i) {
    if (i % each == 0) common = std::sqrt(of_groups) * normal(engine);
    const double value = mean + spread * (common + std::sqrt(1 - of_groups) * normal(engine));
    readings[i].aperture = round_to_length(std::max(value, 1.0), Unit::micrometre).value();
    if (grouping == 1) readings[i].field = std::to_string(i / each);
    if (grouping == 2) readings[i].gap = static_cast<std::int32_t>(2 * (i / each));
  }
  return readings;
}

// What is known of the piece and the instrument, from nothing to everything.
DiagnosisSettings random_settings(RandomEngine& engine) {
  DiagnosisSettings settings;
  if (uniform_below(engine, 3) == 0) return settings;
  const auto up_to = [&](double um) { return round_to_length(um * uniform_unit(engine), Unit::micrometre).value(); };
  settings.uncertainty = {up_to(0.5), 0.003 * uniform_unit(engine), up_to(0.5), up_to(1), std::nullopt};
  if (uniform_below(engine, 2) == 0)
    settings.uncertainty.repeatability_readings = 2 + static_cast<std::int64_t>(uniform_below(engine, 9));
  return settings;
}

TEST(Consistency, IntervalNeededReadingsAndConformityAgree) {
  // property: where the interval of the mean crosses a limit, more readings are needed and conformity is at most 97.5 %; where it
  // lies on one side of both, none are needed beyond those required
  const Specification size = test::specification("astm-e11-17", "No. 200", Grade::inspection);
  const double lower = size.row->smallest_mean().um(), upper = size.row->largest_mean().um();
  RandomEngine engine(21);
  int crossing = 0, beside = 0, with_conformity = 0, finite = 0;
  for (int trial = 0; trial < 600; ++trial) {
    const std::vector<Reading> readings = random_readings(engine);
    Sample sample = make_sample(size);
    for (const Reading& reading : readings) sample.add(reading).value();
    Conditions conditions{.viewing_passed = true};
    const auto n = static_cast<std::int64_t>(readings.size());
    if (uniform_below(engine, 2) == 0)
      conditions.piece.apertures_in_piece = n + static_cast<std::int64_t>(uniform_below(engine, 3000));
    const Assessment assessment = assess(size, sample, conditions).value();
    const Observations observations = test::observed(readings, observation_settings(size, false));
    const DirectionConfidence confidence = diagnose(assessment, observations, random_settings(engine)).confidence.warp;
    if (!confidence.mean_um) continue;
    const Interval interval = *confidence.mean_um;
    const std::int64_t required = assessment.required && !assessment.required->all ? assessment.required->count : 0;
    const auto crosses = [&](double limit) { return interval.lower <= limit && limit <= interval.upper; };
    const auto about = testing::Message() << "trial " << trial << ", " << n << " readings, " << confidence.independent
                                          << " independent, " << interval.lower << " to " << interval.upper;
    finite += confidence.finite ? 1 : 0;
    if (crosses(lower) || crosses(upper)) {
      ++crossing;
      // empty: more than a million units
      if (confidence.needed_for_mean) {
        EXPECT_GT(*confidence.needed_for_mean, n) << about;
        EXPECT_GE(*confidence.needed_for_mean, required) << about;
      }
      if (confidence.mean_conformity) {
        ++with_conformity;
        EXPECT_LE(*confidence.mean_conformity, 0.975 + 1e-9) << about;
      }
    } else {
      ++beside;
      ASSERT_TRUE(confidence.needed_for_mean) << about;
      EXPECT_EQ(*confidence.needed_for_mean, std::max(n, required)) << about;
    }
  }
  for (const int count : {crossing, beside, with_conformity, finite}) EXPECT_GE(count, 50);  // so that the comparison is meaningful
}

TEST(Consistency, TheNeededReadingsDecideAsOftenAsTheySay) {
  // property: 60 readings near a limit; as many as are said to be needed, drawn from a cloth with their mean and spread, have an
  // interval on one side of the limit 90 % of the time
  RandomEngine engine(22);
  for (const double margin : {0.3, 0.7}) {
    const std::int64_t needed = *units_to_clear(margin, 3, 60, 0.95, 0.9, 1'000'000);
    int decided = 0;
    for (int trial = 0; trial < k_trials; ++trial) {
      std::vector<double> values(static_cast<std::size_t>(needed));
      for (double& value : values) value = margin + 3 * normal(engine);
      decided += mean_interval(*mean_of(moments(values)), 0.95).lower > 0 ? 1 : 0;
    }
    EXPECT_NEAR(static_cast<double>(decided) / k_trials, 0.9, 3 * std::sqrt(0.1 * 0.9 / k_trials)) << margin;
  }
}

}  // namespace
}  // namespace sievecloth
