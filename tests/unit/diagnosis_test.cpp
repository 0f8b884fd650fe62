#include "sievecloth/diagnosis.hpp"

#include <algorithm>
#include <cmath>

#include <gtest/gtest.h>

#include "support/judging.hpp"

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

DirectionConfidence warp_of(const std::vector<Reading>& all, const Conditions& conditions = {.viewing_passed = true},
                            const DiagnosisSettings& settings = {}) {
  return diagnose(judged(all, conditions), all, settings).confidence.warp;
}

TEST(Diagnosis, IndependenceIsAssumedAndSaid) {
  // identity: none of 100 above w + X leaves 2.95 %; without positions and fields all readings count
  const DirectionConfidence confidence = warp_of(readings(100));
  EXPECT_EQ(confidence.dependence, Dependence::assumed_independent);
  EXPECT_EQ(confidence.effective_n, 100);
  EXPECT_NEAR(*confidence.share_above_bound, 0.0295, 5e-5);
  EXPECT_FALSE(confidence.number_above_bound);  // nothing is known of the piece
}

TEST(Diagnosis, AThousandReadingsOfTwentyGapsAreTwenty) {
  // boundary: the bound is that of 20 readings, 13.9 %, and the mean has 19 degrees of freedom
  const DirectionConfidence confidence = warp_of(readings(1000, 50));
  EXPECT_EQ(confidence.dependence, Dependence::by_gap);
  EXPECT_EQ(confidence.groups->clusters, 20);
  EXPECT_NEAR(confidence.effective_n, 20, 1e-6);
  EXPECT_NEAR(*confidence.share_above_bound, 1 - std::pow(0.05, 1.0 / 20), 0.01);
  EXPECT_EQ(confidence.groups->mean_freedom, 19);
}

TEST(Diagnosis, AllMeasuredLeavesNoDoubtOfSampling) {
  // boundary: with every aperture measured, the mean is the piece's and the number above is exact
  const Conditions all{.piece = {.apertures_in_piece = 100, .all_apertures = true}, .viewing_passed = true};
  const DirectionConfidence confidence = warp_of(readings(100), all);
  EXPECT_EQ(confidence.mean_um->lower, confidence.mean_um->upper);
  EXPECT_EQ(*confidence.number_above_bound, 0);
  EXPECT_FALSE(confidence.standard_deviation_um);
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
  DiagnosisSettings in_order;
  in_order.contiguous = true;  // neighbours are not a random sample
  EXPECT_FALSE(warp_of(readings(100), {.piece = {.apertures_in_piece = 400}, .viewing_passed = true}, in_order).finite);
}

TEST(Diagnosis, NoNormalTailWhereSuspectsWereSingledOut) {
  // boundary: a suspect among the readings, or only in the record of the visual examination, or fewer than 20 readings, suppress
  // the model
  std::vector<Reading> all = readings(100);
  Reading suspect;
  suspect.aperture = um(90);
  suspect.role = Role::suspect;
  all.push_back(suspect);
  EXPECT_EQ(warp_of(all).no_model, NoModel::sorted_out);
  DiagnosisSettings recorded;
  recorded.suspects_found = true;
  EXPECT_EQ(warp_of(readings(100), {.viewing_passed = true}, recorded).no_model, NoModel::sorted_out);
  EXPECT_NE(warp_of(readings(100)).no_model, NoModel::sorted_out);
  EXPECT_EQ(warp_of(readings(19)).no_model, NoModel::too_few);
}

TEST(Diagnosis, UndefinedIsSaid) {
  // boundary: no reading, two readings, equal readings: no interval, no model, no number
  for (const int n : {0, 2}) {
    const DirectionConfidence confidence = warp_of(readings(n));
    EXPECT_FALSE(confidence.mean_um);
    EXPECT_FALSE(confidence.standard_deviation_um);
    EXPECT_FALSE(confidence.needed_for_mean);
    EXPECT_FALSE(confidence.model_share_bound);
  }
  std::vector<Reading> equal = readings(50);
  for (Reading& reading : equal) reading.aperture = um(75);
  EXPECT_FALSE(warp_of(equal).mean_um);
  EXPECT_EQ(warp_of(equal).no_model, NoModel::no_spread);
}

TEST(Diagnosis, ReadingsThatWereNotKept) {
  // boundary: if fewer readings were kept than judged, no figure that needs them is given, and readings with positions are not
  // treated as independent: 2,000 from 40 gaps would prove too much
  const std::vector<Reading> all = readings(1000, 50);
  const Diagnosis diagnosis = diagnose(judged(all), std::span(all).first(100), {});
  EXPECT_FALSE(diagnosis.readings_complete);
  EXPECT_FALSE(diagnosis.weave);
  EXPECT_EQ(diagnosis.confidence.warp.dependence, Dependence::not_kept);
  EXPECT_EQ(diagnosis.confidence.weft.effective_n, 1);
  EXPECT_FALSE(diagnosis.confidence.weft.mean_um);
  const std::vector<Reading> without = readings(1000);
  EXPECT_EQ(diagnose(judged(without), std::span(without).first(100), {}).confidence.warp.dependence,
            Dependence::assumed_independent);
}

TEST(Diagnosis, OnePlaceSaysNothingOfThePiece) {
  // boundary: a hundred readings of one field, or of one gap, are worth one: no interval, no model, no required number for the mean
  std::vector<Reading> field = readings(100);
  for (Reading& reading : field) reading.field = "1";
  EXPECT_EQ(warp_of(field).dependence, Dependence::one_field);
  std::vector<Reading> gap = readings(100);
  for (std::size_t i = 0; i < gap.size(); ++i) {
    const Length along = um(125 * (static_cast<int>(i) % 100));
    gap[i].x = gap[i].direction == Direction::warp ? along : Length();
    gap[i].y = gap[i].direction == Direction::warp ? Length() : along;
  }
  EXPECT_EQ(warp_of(gap).dependence, Dependence::one_gap);
  for (const DirectionConfidence& confidence : {warp_of(field), warp_of(gap)}) {
    EXPECT_EQ(confidence.effective_n, 1);
    EXPECT_FALSE(confidence.mean_um);
    EXPECT_FALSE(confidence.standard_deviation_um);
    EXPECT_FALSE(confidence.needed_for_mean);
    EXPECT_NEAR(*confidence.share_above_bound, 0.95, 1e-12);
  }
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
    const DirectionConfidence guarded =
        diagnose(judged(all, conditions, guards), all, {sources, process, false}).confidence[direction];
    const DirectionConfidence plain = diagnose(judged(all), all, {sources, process, false}).confidence[direction];
    EXPECT_LT(guarded.risks->consumer, plain.risks->consumer / 2) << to_text(direction);
    EXPECT_GT(guarded.risks->producer, plain.risks->producer) << to_text(direction);
  }
}

TEST(Diagnosis, ConformityByMeasurement) {
  // identity: a largest aperture one standard uncertainty of a reading below w + X conforms with the one-sigma probability
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
  // identity: z s / margin squared: at that number the half width of the interval equals the margin; never below the count of 100
  const std::vector<Reading> all = readings(110);
  const DirectionConfidence confidence = warp_of(all);
  const double s = *judged(all).sample[Direction::warp].aperture.standard_deviation_um();
  const double margin = 4.1;  // the mean is 75 um
  EXPECT_EQ(*confidence.needed_for_mean,
            std::max<std::int64_t>(100, static_cast<std::int64_t>(std::ceil(std::pow(1.959964 * s / margin, 2)))));
}

TEST(Guards, AreEmptyWithoutTheWholeBudget) {
  // boundary: resolution alone gives a lower bound, not an uncertainty; with scale and repeatability the guard is rounded up
  const DirectionSample side = judged(readings(100)).sample[Direction::warp];
  UncertaintySources sources;
  sources.resolution = um(1);
  EXPECT_FALSE(make_guards(sources, 1, side, um(104)).average);
  sources.scale_offset = um(1);
  sources.repeatability = um(1);
  const Guards guards = make_guards(sources, 0.5, side, um(104));
  const double expanded = mean_uncertainty(sources, 75, side.aperture.standard_deviation_um(), 100).expanded_um;
  EXPECT_NEAR(guards.average->expanded.um(), expanded, 0.01);
  EXPECT_NEAR(guards.average->band.um(), expanded / 2, 0.01);
  EXPECT_GE(guards.reading->expanded.um(), reading_uncertainty(sources, 104).expanded_um);
  EXPECT_FALSE(guards.wire);
}

}  // namespace
}  // namespace sievecloth
