#include "sievecloth/diagnosis.hpp"

#include <algorithm>
#include <cmath>
#include <tuple>
#include <utility>

#include <gtest/gtest.h>

#include "judgement/factor.hpp"
#include "support/judging.hpp"
#include "support/loom.hpp"
#include "support/observed.hpp"

namespace sievecloth {
namespace {

using namespace test;

/// Readings in both directions, cycling from 70 to 80 um in steps of 1 um; with positions, `each` in every gap.
std::vector<Reading> readings(int n, int each = 0) {
  std::vector<Reading> all;
  for (const Direction direction : k_directions) {
    for (int i = 0; i < n; ++i) {
      Reading reading;
      reading.direction = direction;
      const int gap = each == 0 ? i : i / each;
      reading.aperture = um(70 + gap * 7 % 11);
      if (each > 0) {
        const Length across = um(125 * (i % each));
        const Length along = um(250 * gap);
        reading.x = direction == Direction::warp ? across : along;
        reading.y = direction == Direction::warp ? along : across;
      }
      all.push_back(reading);
    }
  }
  return all;
}

Assessment judged(const std::vector<Reading>& all, const Conditions& conditions = {.viewing_passed = true},
                  const PerDirection<Guards>& guards = {}) {
  const Specification size = specification("astm-e11-17", "No. 200", Grade::inspection);
  Evidence evidence(make_sample(size));
  for (const Reading& reading : all) evidence.sample.add(reading).value();
  evidence.guards = guards;
  return assess(size, evidence, conditions).value();
}

Diagnosis diagnosed(const std::vector<Reading>& all, const Conditions& conditions = {.viewing_passed = true},
                    const DiagnosisSettings& settings = {}, const PerDirection<Guards>& guards = {}) {
  const Assessment assessment = judged(all, conditions, guards);
  return diagnose(assessment, observed(all, observation_settings(assessment.specification, settings.contiguous)), settings);
}

DirectionConfidence warp_of(const std::vector<Reading>& all, const Conditions& conditions = {.viewing_passed = true},
                            const DiagnosisSettings& settings = {}) {
  return diagnosed(all, conditions, settings).confidence.warp;
}

/// Puts `each` consecutive readings into a field.
std::vector<Reading> in_fields(std::vector<Reading> all, std::size_t each) {
  for (std::size_t i = 0; i < all.size(); ++i) all[i].field = "field " + std::to_string(i / each);
  return all;
}

/// Numbers gaps from 7 on, `apart` numbers from one reading to the next.
std::vector<Reading> in_gaps(std::vector<Reading> all, std::int32_t apart) {
  PerDirection<std::int32_t> next{7, 7};
  for (Reading& reading : all) reading.gap = std::exchange(next[reading.direction], next[reading.direction] + apart);
  return all;
}

/// Puts every reading at a distance from the one before it across the wires.
std::vector<Reading> apart(std::vector<Reading> all, Length distance) {
  PerDirection<Length> next;
  for (Reading& reading : all) {
    const Length across = std::exchange(next[reading.direction], next[reading.direction] + distance);
    reading.x = reading.direction == Direction::warp ? Length() : across;
    reading.y = reading.direction == Direction::warp ? across : Length();
  }
  return all;
}

DiagnosisSettings contiguous() {
  DiagnosisSettings settings;
  settings.contiguous = true;
  return settings;
}

TEST(Diagnosis, IndependenceIsAssumedAndSaid) {
  // identity: none of 100 above w + X leaves 2.95 %; without positions, gaps and fields all readings count
  const DirectionConfidence confidence = warp_of(readings(100));
  EXPECT_EQ(confidence.dependence, Dependence::assumed_independent);
  EXPECT_EQ(confidence.independent, 100);
  EXPECT_NEAR(*confidence.share_above_bound, 0.0295, 5e-5);
  EXPECT_FALSE(confidence.number_above_bound);  // nothing is known of the piece
  EXPECT_FALSE(confidence.turn_degrees);
}

TEST(Diagnosis, EqualMeansOfGroupsAllowForRounding) {
  // boundary: ten fields with the same readings have equal means; rounding to 1 um leaves 1 / sqrt(12 n) open, times
  // Student's 2.262
  std::vector<Reading> all = readings(110);
  for (std::size_t i = 0; i < all.size(); ++i) {
    all[i].aperture = um(70 + static_cast<int>(i % 11));
    all[i].field = "field " + std::to_string(i / 11);
  }
  const DirectionConfidence confidence = warp_of(all);
  EXPECT_NEAR(confidence.mean_um->upper - confidence.mean_um->lower, 2 * 2.262157 / std::sqrt(12.0 * 110), 1e-6);
}

TEST(Diagnosis, AShareOnTheLimitCountsWhatWasRoundedToIt) {
  // boundary: 110 readings of 104 um, the limit, at a resolution of 1 um: each may be above it; what they were rounded to is
  // unknown without one. One step below, none may be.
  std::vector<Reading> all = readings(110);
  const auto bound = [&](int value, const UncertaintySources& sources) {
    for (Reading& reading : all) reading.aperture = um(value);
    return warp_of(all, {.viewing_passed = true}, {sources, std::nullopt, false}).share_above_bound;
  };
  UncertaintySources sources;
  sources.resolution = um(1);
  EXPECT_EQ(*bound(104, sources), 1);
  EXPECT_NEAR(*bound(103, sources), 1 - std::pow(0.05, 1.0 / 110), 1e-12);
  EXPECT_EQ(bound(104, {}).withheld(), Withheld::no_spread);
}

TEST(Diagnosis, AThousandReadingsOfTwentyGapsAreTwenty) {
  // boundary: the bound is that of 20 readings, 13.9 %, and the mean has 19 degrees of freedom: t is 2.093
  const DirectionConfidence confidence = warp_of(readings(1000, 50));
  EXPECT_EQ(confidence.dependence, Dependence::by_gap);
  EXPECT_EQ(confidence.independent, 20);
  EXPECT_NEAR(*confidence.share_above_bound, 1 - std::pow(0.05, 1.0 / 20), 1e-12);
  std::vector<double> gaps;
  for (int gap = 0; gap < 20; ++gap) gaps.push_back(70 + gap * 7 % 11);
  const double half = 2.093024 * *moments(gaps).standard_deviation / std::sqrt(20);
  EXPECT_NEAR(confidence.mean_um->upper, *moments(gaps).mean + half, 1e-5);
  EXPECT_NEAR(confidence.mean_um->lower, *moments(gaps).mean - half, 1e-5);
  EXPECT_TRUE(confidence.standard_deviation_um);
}

TEST(Diagnosis, TheCoarsestGroupingDecides) {
  // boundary: readings alone, with gaps by number, with gaps by position, and with fields over any of these
  const std::vector<Reading> alone = readings(200);
  const std::vector<Reading> placed = readings(200, 4);
  const DirectionConfidence by_position = warp_of(placed);
  EXPECT_EQ(by_position.dependence, Dependence::by_gap);
  EXPECT_EQ(by_position.independent, 50);
  EXPECT_NEAR(*by_position.turn_degrees, 0, 1e-9);
  std::vector<Reading> numbered = placed;
  for (std::size_t i = 0; i < numbered.size(); ++i) numbered[i].gap = static_cast<std::int32_t>(i % 200 / 20 * 2);
  const DirectionConfidence by_number = warp_of(numbered);
  EXPECT_EQ(by_number.independent, 10);  // a number outranks a position
  EXPECT_FALSE(by_number.turn_degrees);
  for (const std::vector<Reading>& all : {alone, placed, numbered}) {
    const DirectionConfidence by_field = warp_of(in_fields(all, 25));
    EXPECT_EQ(by_field.dependence, Dependence::by_field);
    EXPECT_EQ(by_field.independent, 8);
    EXPECT_NEAR(*by_field.share_above_bound, 1 - std::pow(0.05, 1.0 / 8), 1e-12);
  }
  // A single reading without one removes a grouping.
  std::vector<Reading> gone = in_fields(placed, 25);
  gone[77].field.clear();
  EXPECT_EQ(warp_of(gone).independent, 50);
  gone[78].x = gone[78].y = std::nullopt;
  EXPECT_EQ(warp_of(gone).dependence, Dependence::assumed_independent);
  EXPECT_EQ(warp_of(gone).independent, 200);
}

TEST(Diagnosis, NoneAboveInFewGroups) {
  // identity: none above in 5 gaps of 20 readings leaves 1 - 0.05^(1/5), 45.07 %, in 10 fields 25.9 %
  EXPECT_NEAR(*warp_of(readings(100, 20)).share_above_bound, 0.4507, 5e-5);
  EXPECT_NEAR(*warp_of(in_fields(readings(100), 10)).share_above_bound, 0.2589, 5e-5);
}

TEST(Diagnosis, ASharedGapCountsByItsShare) {
  // identity: 12 of the 20 readings of each of two gaps above w + X are 1.2 gaps of five, and count as two
  std::vector<Reading> all = readings(100, 20);
  for (std::size_t i = 0; i < 40; ++i) {
    if (i % 20 < 12) all[i].aperture = um(105);
  }
  const DirectionConfidence confidence = warp_of(all);
  EXPECT_EQ(confidence.above_largest, 24);
  EXPECT_NEAR(*confidence.share_above_bound, share_upper_bound(2, 5, 0.95), 1e-12);
}

TEST(Diagnosis, NeighboursSpeakOfTheirSection) {
  // boundary: readings declared consecutive, and gaps that follow each other by number or by position, are a section; gaps two
  // numbers or two pitches apart are not
  const std::vector<Reading> all = readings(110);
  EXPECT_FALSE(warp_of(all).contiguous);
  EXPECT_FALSE(warp_of(in_gaps(all, 2)).contiguous);
  EXPECT_FALSE(warp_of(apart(all, um(250))).contiguous);
  std::vector<Reading> missing = in_gaps(all, 1);
  missing.erase(missing.begin() + 50);
  EXPECT_FALSE(warp_of(missing).contiguous);
  for (const DirectionConfidence& section : {warp_of(all, {.viewing_passed = true}, contiguous()), warp_of(in_gaps(all, 1)),
                                             warp_of(apart(all, um(125))), warp_of(in_fields(in_gaps(all, 1), 10))}) {
    EXPECT_TRUE(section.contiguous);
    EXPECT_EQ(section.mean_um.withheld(), Withheld::contiguous);
    EXPECT_EQ(section.standard_deviation_um.withheld(), Withheld::contiguous);
    EXPECT_EQ(section.share_above_bound.withheld(), Withheld::contiguous);
    EXPECT_FALSE(section.needed_for_mean);
    EXPECT_FALSE(section.mean_conformity);
  }
  for (const std::vector<Reading>& sample : {in_gaps(all, 2), apart(all, um(250)), missing}) {
    EXPECT_TRUE(warp_of(sample).mean_um);
    EXPECT_TRUE(warp_of(sample).standard_deviation_um);
  }
}

TEST(Diagnosis, GapsAcrossTheWholePieceAreNoSection) {
  // boundary: 54 neighbouring gaps on a roll of 60 are nine tenths of it and stand for the piece, 53 do not
  const Conditions roll{.piece = {.roll = Roll{um(60 * 125), um(60 * 125)}}, .viewing_passed = true};
  EXPECT_FALSE(warp_of(in_gaps(readings(54), 1), roll).contiguous);
  EXPECT_TRUE(warp_of(in_gaps(readings(53), 1), roll).contiguous);
}

TEST(Diagnosis, AllMeasuredLeavesNoDoubtOfSampling) {
  // boundary: with every aperture measured, the mean is the piece's and the number above is exact; nothing is withheld
  const Conditions all{.piece = {.apertures_in_piece = 100, .all_apertures = true}, .viewing_passed = true};
  for (const DiagnosisSettings& settings : {DiagnosisSettings(), contiguous()}) {
    const DirectionConfidence confidence = warp_of(readings(100), all, settings);
    EXPECT_EQ(confidence.mean_um->lower, confidence.mean_um->upper);
    EXPECT_EQ(*confidence.number_above_bound, 0);
    EXPECT_FALSE(confidence.standard_deviation_um);
    EXPECT_FALSE(confidence.standard_deviation_um.withheld());
  }
}

TEST(Diagnosis, AGoodPartOfThePieceCounts) {
  // identity: 100 of 400 reduce the interval of the mean by sqrt(3/4); the bound is hypergeometric and below that for an infinite
  // piece
  const DirectionConfidence endless = warp_of(readings(100));
  const DirectionConfidence finite = warp_of(readings(100), {.piece = {.apertures_in_piece = 400}, .viewing_passed = true});
  EXPECT_TRUE(finite.finite);
  const double ratio = (finite.mean_um->upper - finite.mean_um->lower) / (endless.mean_um->upper - endless.mean_um->lower);
  EXPECT_NEAR(ratio, std::sqrt(0.75), 1e-9);
  EXPECT_EQ(*finite.number_above_bound, static_cast<double>(number_upper_bound(0, 100, 400, 0.95)));
  EXPECT_LT(*finite.share_above_bound, *endless.share_above_bound);
  // neighbours and groups are not drawn at random
  EXPECT_FALSE(warp_of(readings(100), {.piece = {.apertures_in_piece = 400}, .viewing_passed = true}, contiguous()).finite);
  EXPECT_FALSE(warp_of(in_fields(readings(100), 5), {.piece = {.apertures_in_piece = 400}, .viewing_passed = true}).finite);
}

TEST(Diagnosis, FewReadingsHaveNoDeviation) {
  // boundary: 100 independent readings, or 10 groups, have an interval of the standard deviation, one fewer has none
  EXPECT_EQ(warp_of(readings(99)).standard_deviation_um.withheld(), Withheld::few_readings);
  EXPECT_TRUE(warp_of(readings(100)).standard_deviation_um);
  EXPECT_EQ(warp_of(in_fields(readings(180), 20)).standard_deviation_um.withheld(), Withheld::few_groups);
  EXPECT_TRUE(warp_of(in_fields(readings(200), 20)).standard_deviation_um);
  EXPECT_EQ(warp_of(readings(180, 20)).standard_deviation_um.withheld(), Withheld::few_groups);
  EXPECT_TRUE(warp_of(readings(200, 20)).standard_deviation_um);
  // one reading in each group: they count as readings
  EXPECT_EQ(warp_of(in_gaps(readings(99), 2)).standard_deviation_um.withheld(), Withheld::few_readings);
  EXPECT_TRUE(warp_of(in_gaps(readings(100), 2)).standard_deviation_um);
  EXPECT_TRUE(warp_of(in_fields(readings(180), 20)).mean_um);
}

TEST(Diagnosis, ReadingsThatFollowEachOtherAlikeAreNoSample) {
  // boundary: in runs of six alike readings have a correlation of 0.65 and an interval that is wider than that of the same readings
  // in turn; in runs of eight one of 0.73 and none
  const auto in_runs = [](std::size_t length) {
    std::vector<Reading> all = readings(96);
    for (std::size_t i = 0; i < all.size(); ++i)
      all[i].aperture = um(70 + 10 * static_cast<int>(i / length % 2) + (i % 2 == 0 ? 1 : 0));
    return all;
  };
  const auto width = [](const Interval& interval) { return interval.upper - interval.lower; };
  ASSERT_TRUE(warp_of(in_runs(6)).mean_um);
  EXPECT_GT(width(*warp_of(in_runs(6)).mean_um), 2 * width(*warp_of(in_runs(2)).mean_um));
  EXPECT_TRUE(warp_of(in_runs(6)).share_above_bound);
  const DirectionConfidence alike = warp_of(in_runs(8));
  EXPECT_EQ(alike.mean_um.withheld(), Withheld::correlated);
  EXPECT_EQ(alike.share_above_bound.withheld(), Withheld::correlated);
  EXPECT_EQ(alike.standard_deviation_um.withheld(), Withheld::correlated);
  EXPECT_TRUE(warp_of(in_fields(in_runs(8), 8)).mean_um);  // fields say what belongs together
}

TEST(Diagnosis, ACoarseStepHidesTheCloth) {
  // boundary: in steps of 5 um a deviation of 2.51 um has a mean but no interval of its own, one of 2.46 um has neither. A
  // deviation has an interval in steps of a quarter of Y, 1.025 um, or finer, as declared too, and not in steps of 2 um
  const auto of_two_values = [](int percent, int step) {
    std::vector<Reading> all = readings(100);
    for (std::size_t i = 0; i < all.size(); ++i) all[i].aperture = um(75 + (static_cast<int>(i * 37 % 100) < percent ? step : 0));
    return all;
  };
  EXPECT_TRUE(warp_of(of_two_values(50, 5)).mean_um);
  EXPECT_EQ(warp_of(of_two_values(50, 5)).standard_deviation_um.withheld(), Withheld::coarse_step);
  EXPECT_EQ(warp_of(of_two_values(40, 5)).mean_um.withheld(), Withheld::coarse_step);
  EXPECT_FALSE(warp_of(of_two_values(40, 5)).needed_for_mean);
  std::vector<Reading> twice = readings(100);
  EXPECT_TRUE(warp_of(twice).standard_deviation_um);
  DiagnosisSettings declared;
  declared.uncertainty.resolution = um(1);
  EXPECT_TRUE(warp_of(twice, {.viewing_passed = true}, declared).standard_deviation_um);
  declared.uncertainty.resolution = um(2);
  EXPECT_EQ(warp_of(twice, {.viewing_passed = true}, declared).standard_deviation_um.withheld(), Withheld::coarse_step);
  for (Reading& reading : twice) reading.aperture = *reading.aperture + *reading.aperture;
  EXPECT_EQ(warp_of(twice).standard_deviation_um.withheld(), Withheld::coarse_step);
}

TEST(Diagnosis, GroupsThatDoNotTakeInAllReadings) {
  // regression: one empty cell turned 10 fields of 11 alike readings into 110 independent ones, whose interval covered 58 %
  std::vector<Reading> fields = in_fields(readings(110), 11);
  EXPECT_TRUE(warp_of(fields).mean_um);
  fields[17].field.clear();
  std::vector<Reading> gaps = readings(110);
  for (std::size_t i = 1; i < gaps.size(); ++i) gaps[i].gap = static_cast<std::int32_t>(i / 2);
  std::vector<Reading> positions = readings(110, 5);
  positions[3].x = positions[3].y = std::nullopt;
  for (const std::vector<Reading>& all : {fields, gaps, positions}) {
    const Assessment assessment = judged(all);
    const Diagnosis diagnosis = diagnose(assessment, observed(all, observation_settings(assessment.specification, false)), {});
    const DirectionConfidence& warp = diagnosis.confidence.warp;
    EXPECT_EQ(warp.mean_um.withheld(), Withheld::incomplete);
    EXPECT_EQ(warp.standard_deviation_um.withheld(), Withheld::incomplete);
    EXPECT_EQ(warp.share_above_bound.withheld(), Withheld::incomplete);
    EXPECT_EQ(diagnosis.difference_um.withheld(), Withheld::incomplete);
    for (const Sign& sign : diagnosis.weave.signs) {
      const bool of_warp = sign.quantity == ClothQuantity::aperture && sign.direction != Direction::weft;
      EXPECT_TRUE(!of_warp || sign.kind == SignKind::coarse_step || sign.not_tested == NotTested::incomplete) << to_text(sign.kind);
    }
  }
}

TEST(Diagnosis, GroupsWithEqualMeans) {
  // regression: groups whose means are all equal, in both directions, ended the tool with an internal error
  std::vector<Reading> all;
  for (const Direction direction : k_directions) {
    for (int i = 0; i < 4; ++i) {
      Reading& reading = all.emplace_back();
      reading.direction = direction;
      reading.aperture = um(75 + i % 2);
      reading.gap = 1 + 2 * (i / 2);
    }
  }
  EXPECT_TRUE(warp_of(all).mean_um);
}

TEST(Diagnosis, AReadingOnTheLimitMayBeAboveIt) {
  // boundary: in steps of 1 um, 104 um stands for up to 104.5 um, above w + X; in the bound it counts, in the count it does not
  std::vector<Reading> all = readings(110);
  const double none = *warp_of(all).share_above_bound;
  all[5].aperture = um(103);
  EXPECT_EQ(*warp_of(all).share_above_bound, none);
  all[5].aperture = um(104);
  EXPECT_EQ(warp_of(all).above_largest, 0);
  EXPECT_EQ(*warp_of(all).share_above_bound, share_upper_bound(1, 110, k_confidence));
}

TEST(Diagnosis, UndefinedIsSaid) {
  // boundary: no reading, two readings, equal readings: no interval and no number, and why there is none
  for (const int n : {0, 2}) {
    const DirectionConfidence confidence = warp_of(readings(n));
    EXPECT_FALSE(confidence.mean_um);
    EXPECT_FALSE(confidence.standard_deviation_um);
    EXPECT_FALSE(confidence.needed_for_mean);
    const std::optional<Withheld> reason = n == 0 ? std::nullopt : std::optional(Withheld::too_few);
    EXPECT_EQ(confidence.mean_um.withheld(), reason);
    EXPECT_EQ(confidence.standard_deviation_um.withheld(), reason);
  }
  EXPECT_TRUE(warp_of(readings(3)).mean_um);
  std::vector<Reading> equal = readings(50);
  for (Reading& reading : equal) reading.aperture = um(75);
  EXPECT_EQ(warp_of(equal).mean_um.withheld(), Withheld::no_spread);
  EXPECT_EQ(warp_of(equal).standard_deviation_um.withheld(), Withheld::no_spread);
  // Above 104 um lies nothing that was rounded to 75 um in steps of 1 um; without a step, nobody knows.
  EXPECT_EQ(warp_of(equal).share_above_bound.withheld(), Withheld::no_spread);
  UncertaintySources sources;
  sources.resolution = um(1);
  EXPECT_TRUE(warp_of(equal, {.viewing_passed = true}, {sources, std::nullopt, false}).share_above_bound);
}

TEST(Diagnosis, OnePlaceSaysNothingOfThePiece) {
  // boundary: a hundred readings of one field, or of one gap, are worth one: no interval, no bound, no required number for the mean
  const std::vector<Reading> field = in_fields(readings(100), 1000);
  EXPECT_EQ(warp_of(field).dependence, Dependence::by_field);
  std::vector<Reading> gap = readings(100);
  for (std::size_t i = 0; i < gap.size(); ++i) {
    const Length along = um(125 * (static_cast<int>(i) % 100));
    gap[i].x = gap[i].direction == Direction::warp ? along : Length();
    gap[i].y = gap[i].direction == Direction::warp ? Length() : along;
  }
  EXPECT_EQ(warp_of(gap).dependence, Dependence::by_gap);
  EXPECT_EQ(warp_of(in_gaps(readings(100), 0)).dependence, Dependence::by_gap);
  for (const DirectionConfidence& confidence : {warp_of(field), warp_of(gap), warp_of(in_gaps(readings(100), 0))}) {
    EXPECT_EQ(confidence.independent, 1);
    EXPECT_EQ(confidence.mean_um.withheld(), Withheld::one_group);
    EXPECT_EQ(confidence.standard_deviation_um.withheld(), Withheld::one_group);
    EXPECT_EQ(confidence.share_above_bound.withheld(), Withheld::one_group);
    EXPECT_FALSE(confidence.needed_for_mean);
  }
}

TEST(Diagnosis, WiresAreJudgedLikeApertures) {
  // identity: the interval of the wires is that of the same values measured as apertures, and withheld for the same reasons
  const auto wires_too = [](std::vector<Reading> all) {
    for (Reading& reading : all) reading.wire = reading.aperture;
    return all;
  };
  const DirectionConfidence confidence = warp_of(wires_too(readings(60, 3)));
  EXPECT_EQ(confidence.wire_mean_um->lower, confidence.mean_um->lower);
  EXPECT_EQ(confidence.wire_mean_um->upper, confidence.mean_um->upper);
  EXPECT_EQ(warp_of(wires_too(in_gaps(readings(60), 1))).wire_mean_um.withheld(), Withheld::contiguous);
  EXPECT_FALSE(warp_of(readings(60)).wire_mean_um);
  EXPECT_FALSE(warp_of(readings(60)).wire_mean_um.withheld());
}

TEST(Diagnosis, WarpLessWeft) {
  // identity: the interval of the difference of the means, with the smaller degrees of freedom; withheld if either mean is
  std::vector<Reading> all = readings(60);
  all.resize(90);
  for (std::size_t i = 60; i < 90; ++i) all[i].aperture = *all[i].aperture - um(2);
  const Assessment assessment = judged(all);
  PerDirection<MeanEstimate> means;
  for (const Direction direction : k_directions) {
    const Summary& summary = assessment.sample[direction].aperture;
    means[direction] = *mean_of(Moments{summary.count(), summary.mean_um(), summary.standard_deviation_um()});
  }
  const Interval expected = mean_interval(
      {means.warp.mean - means.weft.mean, std::hypot(means.warp.standard_error, means.weft.standard_error), 29}, 0.95);
  const Held<Interval> found = diagnosed(all).difference_um;
  EXPECT_NEAR(found->lower, expected.lower, 1e-9);
  EXPECT_NEAR(found->upper, expected.upper, 1e-9);
  all.resize(62);
  EXPECT_EQ(diagnosed(all).difference_um.withheld(), Withheld::too_few);
  all.resize(60);
  EXPECT_FALSE(diagnosed(all).difference_um);
  EXPECT_FALSE(diagnosed(all).difference_um.withheld());
}

TEST(Diagnosis, EachDirectionHasItsOwnGuardInTheRisks) {
  // regression: the risks for the weft used the guard band of the warp
  UncertaintySources sources{um(1), std::nullopt, um(1), um(1), std::nullopt};
  const std::vector<Reading> all = readings(110);
  Conditions conditions{.viewing_passed = true};
  conditions.decision = DecisionRule::guarded;
  const Prior process{75, 3};
  for (const Direction direction : k_directions) {
    PerDirection<Guards> guards;
    guards[direction].average = Guard{um(2), um(2)};
    const DirectionConfidence guarded = diagnosed(all, conditions, {sources, process, false}, guards).confidence[direction];
    const DirectionConfidence plain = diagnosed(all, {.viewing_passed = true}, {sources, process, false}).confidence[direction];
    EXPECT_LT(guarded.risks->consumer, plain.risks->consumer / 2) << to_text(direction);
    EXPECT_GT(guarded.risks->producer, plain.risks->producer) << to_text(direction);
  }
}

TEST(Diagnosis, ConformityByMeasurement) {
  // identity: a largest aperture one standard uncertainty of a reading below w + X, all others far below it, conforms with the
  // one-sigma probability
  const UncertaintySources sources{um(1), std::nullopt, um(1), um(1), std::nullopt};
  std::vector<Reading> all = readings(110);
  const double u = reading_uncertainty(sources, 104).combined_um;
  all.front().aperture = round_to_length(104 - u, Unit::micrometre).value();
  const DirectionConfidence confidence = warp_of(all, {.viewing_passed = true}, {sources, std::nullopt, false});
  EXPECT_NEAR(*confidence.largest_conformity, 0.841345, 1e-5);
  EXPECT_GT(*confidence.deviation_conformity, 0.5);
  EXPECT_FALSE(warp_of(all).largest_conformity);  // nothing known of the instrument
}

TEST(Diagnosis, NeededReadingsOfASmallPiece) {
  // identity: n0 readings of an infinite piece correspond to n0 N / (N + n0) of N; never below the required count
  std::vector<Reading> all = readings(110);
  for (Reading& reading : all) reading.aperture = *reading.aperture + Length::from_pm(3'900'000);  // 0.2 um from the limit
  const double endless = static_cast<double>(*warp_of(all).needed_for_mean);
  const std::int64_t small = *warp_of(all, {.piece = {.apertures_in_piece = 2000}, .viewing_passed = true}).needed_for_mean;
  EXPECT_NEAR(static_cast<double>(small), endless * 2000 / (2000 + endless), 1);
  EXPECT_EQ(*warp_of(readings(50)).needed_for_mean, 100);
}

TEST(Diagnosis, NeededReadings) {
  // identity: none are needed beyond those that decide already, or those required; else the smallest number that does so with 90 %
  EXPECT_EQ(*warp_of(readings(110)).needed_for_mean, 110);
  EXPECT_EQ(*warp_of(readings(50)).needed_for_mean, 100);
  std::vector<Reading> all = readings(110);
  for (Reading& reading : all) reading.aperture = *reading.aperture + Length::from_pm(3'900'000);
  const DirectionConfidence near_limit = warp_of(all);
  const double margin = 0.2;  // the mean is 78.9 um, its limit 79.1 um
  const double s = *judged(all).sample[Direction::warp].aperture.standard_deviation_um();
  EXPECT_EQ(*near_limit.needed_for_mean, *units_to_clear(margin, s, 110, 0.95, 0.9, 1'000'000));
  EXPECT_NEAR(static_cast<double>(*near_limit.needed_for_mean), std::pow((1.959964 + 1.281552) * s / margin, 2), 3);
  // identity: in fields of five, as many readings as the fields they fill
  std::vector<double> means;
  for (std::size_t i = 0; i < 110; ++i) {
    if (i % 5 == 0) means.push_back(0);
    means.back() += all[i].aperture->um() / 5;
  }
  const std::int64_t fields = *units_to_clear(margin, *moments(means).standard_deviation, 22, 0.95, 0.9, 1'000'000);
  EXPECT_EQ(*warp_of(in_fields(all, 5)).needed_for_mean, 5 * fields);
}

TEST(Diagnosis, NeededReadingsForTheSpread) {
  // oracle: samples of as many normal readings have K s within its limit 90 % of the time, within three standard deviations of the
  // simulation; one fourth of the readings added too few do not
  const Specification size = specification("iso-3310-1-2016", "75um", Grade::inspection);
  const double limit = size.row->standard_deviation_limit[Grade::inspection]->value.um();
  const auto k_of = [&](std::int64_t n) {
    return standard_deviation_factor(n, size.edition->rules.spread.tail_millionths[Grade::inspection]);
  };
  const auto needed_of = [&](double s) {
    std::vector<Reading> all = readings(110);
    all.resize(110);
    std::vector<double> values;
    for (const Reading& reading : all) values.push_back(reading.aperture->um());
    const Moments known = moments(values);
    Evidence evidence(make_sample(size));
    for (std::size_t i = 0; i < all.size(); ++i) {
      const double apart = 0.001 * static_cast<double>(i % 10);  // [um]: a fine step
      const double value = 75 + s * (values[i] - *known.mean) / *known.standard_deviation + apart;
      all[i].aperture = round_to_length(value, Unit::micrometre).value();
      evidence.sample.add(all[i]).value();
    }
    const Assessment assessment = assess(size, evidence, {.viewing_passed = true}).value();
    return diagnose(assessment, observed(all, observation_settings(size, false)), {}).confidence.warp.needed_for_spread;
  };
  ASSERT_GT(k_of(110), 1.05);
  const double s = limit / std::sqrt(k_of(110));  // K s is beyond the limit, s is not
  const std::int64_t needed = *needed_of(s);
  ASSERT_GT(needed, 110);
  RandomEngine engine(3);
  constexpr int k_trials = 1000;
  const auto passing = [&](std::int64_t n) {
    int passed = 0;
    for (int trial = 0; trial < k_trials; ++trial) {
      std::vector<double> again(static_cast<std::size_t>(n));
      for (double& value : again) value = s * normal(engine);
      passed += k_of(n) * *moments(again).standard_deviation <= limit ? 1 : 0;
    }
    return static_cast<double>(passed) / k_trials;
  };
  const double error = 3 * std::sqrt(0.1 * 0.9 / k_trials);
  EXPECT_NEAR(passing(needed), 0.9, error);
  EXPECT_LT(passing(needed - needed / 4), 0.9 - error);
  // boundary: n itself, or as many as are required, once K s is within its limit; none if s is beyond it, however many are read
  EXPECT_EQ(*needed_of(limit / k_of(110) - 1e-3), 110);
  EXPECT_GT(*needed_of(limit / k_of(110) + 1e-3), 110);
  EXPECT_FALSE(needed_of(limit + 1e-3));
}

// Readings of five gaps, 20 in each, evenly over a length along wires that are turned against the axes.
std::vector<Reading> turned(Direction direction, double degrees, double length_um, bool gap_by_gap) {
  std::vector<Reading> all(100);
  for (int i = 0; i < 100; ++i) {
    const int gap = gap_by_gap ? i / 20 : i % 5;
    const double along = length_um * (gap_by_gap ? i % 20 : i / 5) / 19;
    const double slope = std::tan(degrees * std::acos(-1.0) / 180);  // counterclockwise: across decreases where it is x
    const double across = 250 * gap + (direction == Direction::warp ? slope : -slope) * along;
    Reading& reading = all[static_cast<std::size_t>(i)];
    reading.direction = direction;
    reading.line = i + 2;
    reading.aperture = um(70 + 2 * gap);
    reading.x = round_to_length(direction == Direction::warp ? along : across, Unit::micrometre).value();
    reading.y = round_to_length(direction == Direction::warp ? across : along, Unit::micrometre).value();
  }
  return all;
}

TEST(Observations, FindGapsOfTurnedWires) {
  // oracle: five gaps as they were laid out, and the turn they were laid out with: 0.2 degrees shift a wire by more than four
  // pitches over 160 mm, 2 degrees by more than one over 4 mm
  struct Case {
    double degrees, length_um;
  };
  for (const Case& c : {Case{0, 160'000}, Case{0.2, 160'000}, Case{-0.2, 160'000}, Case{2, 4000}, Case{-2, 4000}, Case{0, 4000}}) {
    for (const Direction direction : k_directions) {
      for (const bool gap_by_gap : {false, true}) {
        const Observations observations = observed(turned(direction, c.degrees, c.length_um, gap_by_gap), {.pitch = um(125)});
        const SeriesObservations series = observations.series(ClothQuantity::aperture, direction);
        EXPECT_TRUE(series.gaps_by_position);
        EXPECT_NEAR(series.turn_degrees, c.degrees, 0.01) << c.degrees << " over " << c.length_um;
        ASSERT_EQ(series.gaps.size(), 5u) << c.degrees << " over " << c.length_um << (gap_by_gap ? " gap by gap" : "");
        for (std::size_t gap = 0; gap < 5; ++gap) {
          EXPECT_EQ(series.gaps[gap].n, 20);
          EXPECT_EQ(series.gaps[gap].first_um, 70 + 2 * static_cast<double>(gap));
          EXPECT_NEAR(series.reference_um + series.gaps[gap].sum_um / 20, series.gaps[gap].first_um, 1e-9);
        }
      }
    }
  }
}

TEST(Observations, FindGapsHoweverManyReadingsThereAre) {
  // boundary: around the 4096 places from which the turn is estimated, the same 40 gaps are found
  for (const int each : {102, 103, 250}) {
    std::vector<Reading> all;
    for (int i = 0; i < 40 * each; ++i) {
      Reading reading;
      const double along = 150'000.0 * (i / 40) / each;
      reading.aperture = um(75 + i % 40 % 7);
      reading.x = round_to_length(along, Unit::micrometre).value();
      reading.y = round_to_length(125 * (i % 40) + 0.003 * along, Unit::micrometre).value();
      all.push_back(reading);
    }
    const SeriesObservations series = observed(all, {.pitch = um(125)}).series(ClothQuantity::aperture, Direction::warp);
    ASSERT_EQ(series.gaps.size(), 40u) << each;
    EXPECT_NEAR(series.turn_degrees, std::atan(0.003) * 180 / std::acos(-1.0), 0.005);
    for (const GroupSums& gap : series.gaps) EXPECT_EQ(gap.n, each);
  }
}

TEST(Observations, OfColumnsAreThoseOfRows) {
  // identity: rows added one by one or as columns give the same sums
  std::vector<Reading> all = in_fields(readings(100, 5), 10);
  for (std::size_t i = 0; i < all.size(); ++i) {
    all[i].line = static_cast<std::int64_t>(i) + 2;
    all[i].gap = static_cast<std::int32_t>(i / 20);
    if (i % 3 == 0) all[i].wire = um(50 + static_cast<int>(i % 4));
    if (i % 50 == 7) all[i].role = Role::suspect;
  }
  std::vector<Direction> direction;
  std::vector<Role> role;
  std::vector<Length> aperture, wire, x, y;
  std::vector<std::string_view> field;
  std::vector<std::int32_t> gap;
  for (const Reading& reading : all) {
    direction.push_back(reading.direction);
    role.push_back(reading.role);
    aperture.push_back(*reading.aperture);
    wire.push_back(reading.wire.value_or(Length()));
    x.push_back(*reading.x);
    y.push_back(*reading.y);
    field.push_back(reading.field);
    gap.push_back(*reading.gap);
  }
  const ObservationSettings settings{.pitch = um(125), .intermediate = um(78), .largest = um(79), .keep_order = true};
  const ReadingColumns columns{2, direction, role, aperture, wire, x, y, field, gap};
  const Observations by_row = observed(all, settings);
  Observations by_column(settings);
  by_column.add(columns.part(0, 33));
  by_column.add(columns.part(33, 167));
  for (const ClothQuantity quantity : k_quantities) {
    for (const Direction side : k_directions) {
      const SeriesObservations a = by_row.series(quantity, side), b = by_column.series(quantity, side);
      EXPECT_EQ(a.n, quantity == ClothQuantity::aperture ? 98 : 33);
      EXPECT_EQ(a.values, b.values);
      EXPECT_EQ(a.step_um, b.step_um);
      EXPECT_EQ(a.n, b.n);
      for (const auto groups : {&SeriesObservations::fields, &SeriesObservations::gaps}) {
        ASSERT_EQ((a.*groups).size(), (b.*groups).size());
        EXPECT_GE((a.*groups).size(), 5u);
        for (std::size_t i = 0; i < (a.*groups).size(); ++i) {
          const GroupSums &c = (a.*groups)[i], &d = (b.*groups)[i];
          EXPECT_EQ(std::tuple(c.n, c.sum_um, c.squares_um2, c.first_um, c.first_line, c.x_um, c.y_um, c.place),
                    std::tuple(d.n, d.sum_um, d.squares_um2, d.first_um, d.first_line, d.x_um, d.y_um, d.place));
          EXPECT_EQ(c.above_intermediate, d.above_intermediate);
          EXPECT_EQ(c.above_largest, d.above_largest);
        }
      }
      for (const auto ends : {&SeriesObservations::smallest, &SeriesObservations::largest}) {
        ASSERT_EQ((a.*ends).size(), 10u);
        for (std::size_t i = 0; i < 10; ++i) {
          EXPECT_EQ((a.*ends)[i].value_um, (b.*ends)[i].value_um);
          EXPECT_EQ((a.*ends)[i].line, (b.*ends)[i].line);
        }
      }
    }
  }
}

TEST(Observations, KnowHowAlikeNeighboursAre) {
  // identity: the lag-1 correlation of the readings of each series in the order of the file, however the series alternate in it
  std::vector<Reading> all(400);
  PerDirection<std::vector<double>> values;
  RandomEngine engine(8);
  for (std::size_t i = 0; i < all.size(); ++i) {
    all[i].direction = i % 3 == 0 ? Direction::weft : Direction::warp;
    std::vector<double>& before = values[all[i].direction];
    before.push_back(std::round(75 + (before.empty() ? 0 : 0.6 * (before.back() - 75)) + 3 * normal(engine)));
    all[i].aperture = um(static_cast<std::int64_t>(before.back()));
  }
  const Observations observations = observed(all, {.pitch = um(125)});
  for (const Direction direction : k_directions) {
    const SeriesObservations series = observations.series(ClothQuantity::aperture, direction);
    EXPECT_NEAR(*series.lag1_correlation, *lag1_correlation(values[direction]), 1e-9);
  }
  EXPECT_FALSE(observations.series(ClothQuantity::wire, Direction::warp).lag1_correlation);
}

TEST(Observations, CountInCoarserStepsBeyondAMillionValues) {
  // boundary: a million different values are counted apart; one more, and they are counted in steps ten times as wide
  Observations observations({.pitch = um(125)});
  Reading reading;
  for (std::size_t i = 0; i < k_most_values; ++i) {
    reading.aperture = Length::from_pm(70'000'000 + static_cast<std::int64_t>(i));
    observations.add(reading);
  }
  const SeriesObservations exact = observations.series(ClothQuantity::aperture, Direction::warp);
  EXPECT_FALSE(exact.coarsened);
  EXPECT_EQ(exact.values.size(), k_most_values);
  reading.aperture = um(75);
  observations.add(reading);
  const SeriesObservations rounded = observations.series(ClothQuantity::aperture, Direction::warp);
  EXPECT_TRUE(rounded.coarsened);
  EXPECT_EQ(rounded.values.size(), k_most_values / 10 + 2);
  EXPECT_NEAR(rounded.step_um, 1e-5, 1e-12);
  EXPECT_EQ(moments(rounded.values).n, 1'000'001);
  EXPECT_NEAR(*moments(rounded.values).mean, (70.4999995e6 + 75) / 1'000'001, 1e-6);
}

TEST(Guards, AreEmptyWithoutTheWholeBudget) {
  // boundary: resolution alone gives a lower bound, not an uncertainty; with scale and repeatability the guard is rounded up
  const DirectionSample side = judged(readings(100)).sample[Direction::warp];
  UncertaintySources sources;
  sources.resolution = um(1);
  EXPECT_FALSE(make_guards(figure_uncertainties(sources, side, um(104)), 1).average);
  sources.scale_offset = um(1);
  sources.repeatability = um(1);
  const Guards guards = make_guards(figure_uncertainties(sources, side, um(104)), 0.5);
  const double expanded = mean_uncertainty(sources, 75, side.aperture.standard_deviation_um(), 100).expanded_um;
  EXPECT_NEAR(guards.average->expanded.um(), expanded, 0.01);
  EXPECT_NEAR(guards.average->band.um(), expanded / 2, 0.01);
  EXPECT_GE(guards.reading->expanded.um(), reading_uncertainty(sources, 104).expanded_um);
  EXPECT_FALSE(guards.wire);
}

}  // namespace
}  // namespace sievecloth
