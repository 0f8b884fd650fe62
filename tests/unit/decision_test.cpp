#include "sievecloth/decision.hpp"

#include <gtest/gtest.h>

#include "support/judging.hpp"

namespace sievecloth {
namespace {

using namespace test;
using enum CriterionId;

/// A rule, and the uncertainty of the instrument.
struct Decision {
  DecisionRule rule;
  PerDirection<Guards> guards;
  PerDirection<std::optional<GuardedCounts>> shares;

  Evidence with(const Sample& sample) const {
    Evidence evidence(sample);
    evidence.guards = guards;
    evidence.shares = shares;
    return evidence;
  }
};

/// Guards of 1 um for everything, U = 1 um.
Decision guarded_by_one(DecisionRule rule) {
  const Guard guard{um(1), um(1)};
  const Guards guards{guard, guard, guard, guard};
  return {.rule = rule, .guards = {guards, guards}, .shares = {}};
}

Specification e11() { return specification("astm-e11-17", "No. 200", Grade::inspection); }  // Y 4.1 um, X 29 um

Assessment judge(const Sample& sample, const Decision& decision) {
  return assess(e11(), decision.with(sample), {.viewing_passed = true, .apertures_only = true, .decision = decision.rule}).value();
}

// Equal readings at a given distance from nominal.
Sample at(Length reading) {
  Sample sample = make_sample(e11());
  for (const Direction direction : k_directions) add(sample, direction, 100, reading);
  return sample;
}

TEST(Decision, GuardBandMovesTheExactLimit) {
  // boundary: the mean at w + Y - 1 um is accepted, a picometre more is not; without the guard band both are
  const Length edge = e11().row->largest_mean() - um(1);
  EXPECT_EQ(outcome(judge(at(edge), guarded_by_one(DecisionRule::guarded)), average_aperture), Outcome::met);
  EXPECT_EQ(outcome(judge(at(edge + k_pm), guarded_by_one(DecisionRule::guarded)), average_aperture), Outcome::not_met);
  EXPECT_EQ(outcome(judge(at(edge + k_pm), guarded_by_one(DecisionRule::simple)), average_aperture), Outcome::met);
  const Length low = e11().row->smallest_mean() + um(1);
  EXPECT_EQ(outcome(judge(at(low), guarded_by_one(DecisionRule::guarded)), average_aperture), Outcome::met);
  EXPECT_EQ(outcome(judge(at(low - k_pm), guarded_by_one(DecisionRule::guarded)), average_aperture), Outcome::not_met);
}

TEST(Decision, BandOfFour) {
  // source: ILAC-G8:09/2019, 4.2.3: pass, conditional pass, conditional fail, fail; both conditional outcomes are undecided here
  const Length limit = e11().row->largest_mean();
  const Decision four = guarded_by_one(DecisionRule::four_outcomes);
  EXPECT_EQ(outcome(judge(at(limit - um(1)), four), average_aperture), Outcome::met);
  EXPECT_EQ(outcome(judge(at(limit - um(1) + k_pm), four), average_aperture), Outcome::undecided);
  EXPECT_EQ(outcome(judge(at(limit), four), average_aperture), Outcome::undecided);
  EXPECT_EQ(outcome(judge(at(limit + um(1)), four), average_aperture), Outcome::undecided);
  EXPECT_EQ(outcome(judge(at(limit + um(1) + k_pm), four), average_aperture), Outcome::not_met);
  EXPECT_EQ(criterion(judge(at(limit), four), average_aperture, Direction::warp).reasons, std::vector{Reason::within_guard_band});
}

TEST(Decision, LargestApertureIsGuardedByOneReading) {
  // boundary: an aperture at w + X - 1 um is accepted, a picometre more is not
  const Length limit = e11().row->largest_aperture();
  const auto with_one = [&](Length reading) {
    Sample sample = at(um(75));
    add(sample, Direction::warp, 1, reading);
    return judge(sample, guarded_by_one(DecisionRule::guarded));
  };
  EXPECT_EQ(outcome(with_one(limit - um(1)), maximum_aperture, Direction::warp), Outcome::met);
  EXPECT_EQ(outcome(with_one(limit - um(1) + k_pm), maximum_aperture, Direction::warp), Outcome::not_met);
}

TEST(Decision, AnInstrumentThatCannotDecide) {
  // boundary: 2 U at the width of the tolerance, 2 Y = 8.2 um, leaves the mean undecided; a picometre less decides
  Decision decision = guarded_by_one(DecisionRule::guarded);
  const Length width = e11().row->largest_mean() - e11().row->smallest_mean();
  const Length half = Length::from_pm(width.pm() / 2);
  for (const Direction direction : k_directions) decision.guards[direction].average->expanded = half;
  EXPECT_EQ(outcome(judge(at(um(75)), decision), average_aperture), Outcome::undecided);
  for (const Direction direction : k_directions) decision.guards[direction].average->expanded = half - k_pm;
  EXPECT_EQ(outcome(judge(at(um(75)), decision), average_aperture), Outcome::met);
}

TEST(Decision, WhatIsNotKnownIsNotGuessed) {
  // boundary: any rule but simple acceptance needs the uncertainty
  const Decision unknown{.rule = DecisionRule::guarded, .guards = {}, .shares = {}};
  const Assessment assessment = judge(at(um(75)), unknown);
  EXPECT_EQ(assessment.verdict, Verdict::undecided);
  EXPECT_EQ(criterion(assessment, average_aperture, Direction::warp).reasons, std::vector{Reason::uncertainty_not_known});
}

TEST(Decision, AGuardBandWiderThanTheLimitAcceptsNothing) {
  // boundary: equal readings have s = 0, which is within the limit of s less a band as wide as the limit, but not less a wider one
  const Length limit = e11().row->standard_deviation_limit[Grade::inspection]->value;
  Decision decision = guarded_by_one(DecisionRule::guarded);
  for (const Length band : {limit, limit + k_pm}) {
    for (const Direction direction : k_directions) decision.guards[direction].standard_deviation->band = band;
    EXPECT_EQ(outcome(judge(at(um(75)), decision), aperture_standard_deviation), band == limit ? Outcome::met : Outcome::not_met);
  }
}

TEST(Decision, RulesHaveNames) {
  // identity: read = written, and nothing else is a rule
  for (const DecisionRule rule : {DecisionRule::simple, DecisionRule::guarded, DecisionRule::four_outcomes})
    EXPECT_EQ(parse_decision_rule(to_text(rule)).value(), rule);
  for (const std::string_view other : {"", "simple", "simple-acceptance ", "Simple-acceptance"}) {
    const Result<DecisionRule> rule = parse_decision_rule(other);
    ASSERT_FALSE(rule.ok()) << other;
    EXPECT_EQ(rule.error().code, ErrorCode::option_value);
  }
}

TEST(Decision, ShareIsCountedAtTheMovedLimit) {
  // identity: 6 of 100 apertures above the lowered limit are the 6 % allowed, 7 are not; above the raised limit 7 are rejected
  const Specification iso = specification("iso-3310-1-1990", "2 mm", std::nullopt);
  Sample sample = make_sample(iso);
  for (const Direction direction : k_directions) add(sample, direction, 100, iso.row->nominal);
  const auto judged = [&](DecisionRule rule, std::int64_t lowered, std::int64_t raised) {
    Decision decision = guarded_by_one(rule);
    decision.shares = {GuardedCounts{lowered, raised}, GuardedCounts{lowered, raised}};
    Sample above = make_sample(iso);
    for (const Direction direction : k_directions) {
      add(above, direction, raised, iso.row->intermediate_limit->value + um(2));
      add(above, direction, 100 - raised, iso.row->nominal);
    }
    const Assessment assessment =
        assess(iso, decision.with(above),
               {.viewing_passed = true, .agreed_count = 100, .apertures_only = true, .decision = decision.rule})
            .value();
    return outcome(assessment, share_above_intermediate, Direction::warp);
  };
  EXPECT_EQ(judged(DecisionRule::guarded, 6, 0), Outcome::met);
  EXPECT_EQ(judged(DecisionRule::guarded, 7, 0), Outcome::not_met);
  EXPECT_EQ(judged(DecisionRule::four_outcomes, 7, 6), Outcome::undecided);
  EXPECT_EQ(judged(DecisionRule::four_outcomes, 7, 7), Outcome::not_met);

  // boundary: counts inconsistent with readings none of which is above the limit are refused
  for (const GuardedCounts& wrong : {GuardedCounts{-1, 0}, GuardedCounts{0, 1}, GuardedCounts{0, -1}, GuardedCounts{101, 0}}) {
    Evidence evidence(sample);
    evidence.shares[Direction::weft] = wrong;
    EXPECT_FALSE(assess(iso, evidence, {.viewing_passed = true, .agreed_count = 100, .apertures_only = true}).ok());
  }

  // boundary: without a count at the moved limit, nothing is guessed
  const Decision uncounted = guarded_by_one(DecisionRule::guarded);
  const Assessment assessment =
      assess(iso, uncounted.with(sample),
             {.viewing_passed = true, .agreed_count = 100, .apertures_only = true, .decision = uncounted.rule})
          .value();
  EXPECT_EQ(criterion(assessment, share_above_intermediate, Direction::warp).reasons, std::vector{Reason::uncertainty_not_known});
}

}  // namespace
}  // namespace sievecloth
