// Words of the judgement module: one for each value of its enumerations, as used in tables, JSON and the tool.
#pragma once

#include <string_view>

#include "sievecloth/assessment.hpp"

namespace sievecloth {

constexpr std::string_view word_of(DecisionRule value) noexcept {
  switch (value) {
    case DecisionRule::simple: return "simple-acceptance";
    case DecisionRule::guarded: return "guarded-acceptance";
    case DecisionRule::four_outcomes: return "four-outcomes";
  }
  return {};
}

constexpr std::string_view word_of(CriterionId value) noexcept {
  switch (value) {
    case CriterionId::viewing: return "viewing";
    case CriterionId::sample_size: return "sample-size";
    case CriterionId::average_aperture: return "average-aperture";
    case CriterionId::maximum_aperture: return "maximum-aperture";
    case CriterionId::aperture_standard_deviation: return "aperture-standard-deviation";
    case CriterionId::share_above_intermediate: return "share-above-intermediate";
    case CriterionId::wire_diameter: return "wire-diameter";
  }
  return {};
}

constexpr std::string_view word_of(Outcome value) noexcept {
  switch (value) {
    case Outcome::met: return "met";
    case Outcome::not_met: return "not-met";
    case Outcome::undecided: return "undecided";
    case Outcome::not_applicable: return "not-applicable";
  }
  return {};
}

constexpr std::string_view word_of(Statement value) noexcept {
  switch (value) {
    case Statement::pass: return "pass";
    case Statement::conditional_pass: return "conditional-pass";
    case Statement::conditional_fail: return "conditional-fail";
    case Statement::fail: return "fail";
    case Statement::not_accepted: return "not-accepted";
  }
  return {};
}

constexpr std::string_view word_of(Verdict value) noexcept {
  switch (value) {
    case Verdict::conforms: return "conforms";
    case Verdict::undecided: return "undecided";
    case Verdict::does_not_conform: return "does-not-conform";
  }
  return {};
}

constexpr std::string_view word_of(Reason value) noexcept {
  switch (value) {
    case Reason::no_readings: return "no-readings";
    case Reason::single_reading: return "single-reading";
    case Reason::count_not_reached: return "count-not-reached";
    case Reason::all_apertures_needed: return "all-apertures-needed";
    case Reason::too_few_wires: return "too-few-wires";
    case Reason::rule_not_seen: return "rule-not-seen";
    case Reason::share_of_few: return "share-of-few";
    case Reason::too_coarse: return "too-coarse";
    case Reason::viewing_not_recorded: return "viewing-not-recorded";
    case Reason::left_out: return "left-out";
    case Reason::not_in_edition: return "not-in-edition";
    case Reason::not_in_row: return "not-in-row";
    case Reason::count_not_known: return "count-not-known";
    case Reason::plan_not_fulfilled: return "plan-not-fulfilled";
    case Reason::readings_refused: return "readings-refused";
    case Reason::uncertainty_not_known: return "uncertainty-not-known";
    case Reason::instrument_too_uncertain: return "instrument-too-uncertain";
    case Reason::within_guard_band: return "within-guard-band";
    case Reason::suspects_not_measured: return "suspects-not-measured";
    case Reason::readings_lost: return "readings-lost";
    case Reason::table_implausible: return "table-implausible";
    case Reason::suspect_too_small: return "suspect-too-small";
    case Reason::too_few_different_wires: return "too-few-different-wires";
  }
  return {};
}

constexpr std::string_view word_of(Ground::Kind value) noexcept {
  switch (value) {
    case Ground::Kind::limit: return "limit";
    case Ground::Kind::lower_limit: return "lower-limit";
    case Ground::Kind::upper_limit: return "upper-limit";
    case Ground::Kind::count: return "count";
    case Ground::Kind::agreed_count: return "agreed-count";
    case Ground::Kind::rule: return "rule";
  }
  return {};
}

constexpr std::string_view word_of(Warning::Kind value) noexcept {
  switch (value) {
    case Warning::Kind::fits_other_size: return "fits-other-size";
    case Warning::Kind::looks_like_inches: return "looks-like-inches";
    case Warning::Kind::looks_like_thousand: return "looks-like-thousand";
    case Warning::Kind::looks_swapped: return "looks-swapped";
    case Warning::Kind::no_spread: return "no-spread";
    case Warning::Kind::same_in_both_directions: return "same-in-both-directions";
    case Warning::Kind::table_implausible: return "table-implausible";
    case Warning::Kind::unusual_frame: return "unusual-frame";
    case Warning::Kind::positions_not_compared: return "positions-not-compared";
    case Warning::Kind::budget_is_smaller: return "budget-is-smaller";
    case Warning::Kind::too_uncertain: return "too-uncertain";
    case Warning::Kind::coarse_step: return "coarse-step";
    case Warning::Kind::reading_far_off: return "reading-far-off";
    case Warning::Kind::repeated_run: return "repeated-run";
  }
  return {};
}

}  // namespace sievecloth
