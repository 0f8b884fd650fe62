#include "judgement/criteria.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>

#include "base/enumerators.hpp"
#include "base/exact.hpp"
#include "judgement/factor.hpp"
#include "judgement/names.hpp"
#include "judgement/outlook.hpp"
#include "judgement/predicates.hpp"

namespace sievecloth {
namespace {

void undecide(Criterion& criterion, Reason reason) {
  criterion.outcome = Outcome::undecided;
  criterion.reasons.push_back(reason);
}

Criterion not_applicable(Criterion criterion, Reason reason) {
  criterion.outcome = Outcome::not_applicable;
  criterion.reasons = {reason};
  return criterion;
}

Ground ground(Ground::Kind kind, const Basis& basis) { return {kind, basis}; }

Ground count_ground(const Case& c) {
  if (!c.required) return {Ground::Kind::count, std::nullopt};
  return {c.required->basis ? Ground::Kind::count : Ground::Kind::agreed_count, c.required->basis};
}

// Distance of the mean from the nearer of its limits, negative beyond it.
double mean_margin_um(const Summary& summary, Length lower, Length upper) {
  const int512 n = summary.count();
  const int512 sum(summary.sum_of_deviations());
  const Length from = summary.thresholds().nominal;
  const int512 above = sum - n * (lower - from).pm();
  const int512 below = n * (upper - from).pm() - sum;
  return nearest_um(std::min(above, below), n);
}

Guards guards_of(const Case& c, Direction direction) { return c.evidence.guards[direction]; }

// Of K s the guard band is K times that of s, rounded to the picometre towards the careful side; for show and margin only.
Length shown_guard(const Criterion& criterion, const Guard& guard) {
  if (!criterion.factor) return guard.band;
  return Length::from_pm(static_cast<std::int64_t>(std::ceil(*criterion.factor * static_cast<double>(guard.band.pm()))));
}

void move_limits(Criterion& criterion) {
  if (compared_by(criterion.id) != Compared::length) return;  // a share keeps its percentage
  if (criterion.lower) criterion.acceptance_lower = *criterion.lower + *criterion.guard;
  if (criterion.upper) criterion.acceptance_upper = *criterion.upper - *criterion.guard;
}

/// Compares under the decision rule. `width`: of the tolerance. `within(inwards)`: the exact predicate with its limits moved
/// inwards by that much (outwards if negative).
template <class Within>
void decide(Criterion& criterion, const Case& c, const std::optional<Guard>& guard, Length width, Within within) {
  const DecisionRule rule = c.conditions.decision;
  if (rule == DecisionRule::simple) {
    criterion.outcome = within(Length()) ? Outcome::met : Outcome::not_met;
    return;
  }
  if (!guard) return undecide(criterion, Reason::uncertainty_not_known);
  criterion.guard = shown_guard(criterion, *guard);
  if (guard->expanded + guard->expanded >= width) return undecide(criterion, Reason::instrument_too_uncertain);
  move_limits(criterion);
  criterion.outcome = within(guard->band) ? Outcome::met : Outcome::not_met;
  if (criterion.outcome == Outcome::met) return;
  const bool inside = within(Length());
  if (rule == DecisionRule::guarded) {
    if (!inside) return;
    criterion.reasons.push_back(Reason::within_guard_band);
    criterion.statement = Statement::not_accepted;
  } else if (within(Length() - guard->band)) {
    undecide(criterion, Reason::within_guard_band);
    criterion.statement = inside ? Statement::conditional_pass : Statement::conditional_fail;
  }
}

// The limits from which margins are measured.
Length margin_lower(const Criterion& criterion, const Case& c) {
  return c.conditions.decision == DecisionRule::guarded ? criterion.acceptance_lower.value_or(*criterion.lower) : *criterion.lower;
}
Length margin_upper(const Criterion& criterion, const Case& c) {
  return c.conditions.decision == DecisionRule::guarded ? criterion.acceptance_upper.value_or(*criterion.upper) : *criterion.upper;
}

void compare_mean(Criterion& criterion, const Summary& summary, const Case& c, const std::optional<Guard>& guard) {
  if (summary.empty()) return undecide(criterion, Reason::no_readings);
  criterion.observed_um = summary.mean_um();
  decide(criterion, c, guard, *criterion.upper - *criterion.lower,
         [&](Length inwards) { return mean_within(summary, *criterion.lower + inwards, *criterion.upper - inwards); });
  criterion.margin_um = mean_margin_um(summary, margin_lower(criterion, c), margin_upper(criterion, c));
}

// True if the record states that every full aperture was measured.
bool says_all(const Case& c) { return c.conditions.piece.all_apertures && c.conditions.piece.apertures_in_piece; }

// Below the required count the figures are interim: shown, not decided.
void undecide_below_count(Criterion& criterion, const Case& c) {
  if (criterion.n == 0) return;
  if (c.conditions.planned && criterion.n < (*c.conditions.planned)[*criterion.direction]) {
    undecide(criterion, Reason::plan_not_fulfilled);
  }
  if (c.all_measured) return;  // no count requires more than all
  if (!c.required) return undecide(criterion, Reason::count_not_known);
  if (c.required->all || says_all(c)) return undecide(criterion, Reason::all_apertures_needed);
  if (criterion.n < c.required->count) undecide(criterion, Reason::count_not_reached);
}

// The coarser of the instrument's resolution and the readings' own step, if coarser than the edition permits.
std::optional<Length> coarse_step(const Case& c, Direction direction) {
  const Length step =
      std::max(c.conditions.resolution.value_or(Length()), c.sample()[direction].aperture.common_step().value_or(Length()));
  return is_coarse(c, step) ? std::optional(step) : std::nullopt;
}

void undecide_coarse(Criterion& criterion, const Case& c) {
  if (criterion.n == 0 || !coarse_step(c, *criterion.direction)) return;
  undecide(criterion, Reason::too_coarse);
  criterion.grounds.push_back(ground(Ground::Kind::rule, c.rules().resolution->basis));
}

Criterion viewing(const Case& c) {
  Criterion criterion{.id = CriterionId::viewing};
  const std::optional<bool>& passed = c.conditions.viewing_passed;
  criterion.finding = passed;
  if (passed == false) {
    criterion.outcome = Outcome::not_met;
  } else if (c.conditions.measured_only) {
    return not_applicable(criterion, Reason::left_out);
  } else if (passed) {
    criterion.outcome = Outcome::met;
    const std::optional<std::int64_t>& suspects = c.conditions.suspects_recorded;
    const std::int64_t readings = c.sample()[Direction::warp].suspect.count() + c.sample()[Direction::weft].suspect.count();
    const std::int64_t measured = std::min(c.sample().named_suspects(), readings);  // each has at least one reading
    if (suspects && *suspects != measured) undecide(criterion, Reason::suspects_not_measured);
  } else {
    undecide(criterion, Reason::viewing_not_recorded);
  }
  return criterion;
}

Criterion sample_size(const Case& c, Direction direction) {
  Criterion criterion{.id = CriterionId::sample_size, .direction = direction, .n = c.sample()[direction].aperture.count()};
  criterion.observed = static_cast<double>(criterion.n);
  if (c.required && c.required->count != k_all) criterion.limit = static_cast<double>(c.required->count);
  criterion.grounds = {count_ground(c)};
  criterion.outcome = Outcome::met;
  if (criterion.n == 0) {
    undecide(criterion, Reason::no_readings);
  } else {
    undecide_below_count(criterion, c);
  }
  if (c.sample()[direction].refused_apertures != 0) undecide(criterion, Reason::readings_refused);
  if (c.sample().readings_lost()) undecide(criterion, Reason::readings_lost);
  return criterion;
}

Criterion average_aperture(const Case& c, Direction direction) {
  const Row& row = c.row();
  const Summary& aperture = c.sample()[direction].aperture;
  Criterion criterion{.id = CriterionId::average_aperture, .direction = direction, .n = aperture.count()};
  criterion.lower = row.smallest_mean();
  criterion.upper = row.largest_mean();
  criterion.grounds = {ground(Ground::Kind::limit, row.average_tolerance.basis), count_ground(c)};
  compare_mean(criterion, aperture, c, guards_of(c, direction).average);
  const bool lost = mean_is_unrecoverable(c, direction);
  if (lost && more_to_come(c, direction)) criterion.grounds.push_back(ground(Ground::Kind::limit, row.maximum_tolerance.basis));
  if (!lost) undecide_below_count(criterion, c);
  undecide_coarse(criterion, c);
  return criterion;
}

Criterion maximum_aperture(const Case& c, Direction direction) {
  const DirectionSample& side = c.sample()[direction];
  Criterion criterion{
      .id = CriterionId::maximum_aperture, .direction = direction, .n = side.aperture.count() + side.suspect.count()};
  criterion.upper = c.row().largest_aperture();
  criterion.grounds = {ground(Ground::Kind::limit, c.row().maximum_tolerance.basis)};
  if (criterion.n == 0) {
    undecide(criterion, Reason::no_readings);
    return criterion;
  }
  const Length largest = side.aperture.empty()  ? side.suspect.maximum()
                         : side.suspect.empty() ? side.aperture.maximum()
                                                : std::max(side.aperture.maximum(), side.suspect.maximum());
  criterion.observed_um = largest.um();
  decide(criterion, c, guards_of(c, direction).reading, c.row().maximum_tolerance.value,
         [&](Length inwards) { return largest <= *criterion.upper - inwards; });
  criterion.margin_um = (margin_upper(criterion, c) - largest).um();
  if (side.aperture.empty() && criterion.outcome == Outcome::met) undecide(criterion, Reason::no_readings);
  const bool too_small = !side.suspect.empty() && side.suspect.minimum() < c.row().nominal - c.row().maximum_tolerance.value;
  if (too_small && criterion.outcome != Outcome::not_met) undecide(criterion, Reason::suspect_too_small);
  // A reading more than a whole step above the limit is above it, however coarse.
  const std::optional<Length> step = coarse_step(c, direction);
  if (step && largest - *step <= *criterion.upper) undecide_coarse(criterion, c);
  return criterion;
}

void compare_deviation(Criterion& criterion, const Summary& aperture, const Case& c, const std::optional<Guard>& guard,
                       Length limit) {
  decide(criterion, c, guard, limit, [&](Length inwards) {
    const Length moved = limit - inwards;
    return moved >= Length() && standard_deviation_within(aperture, moved);
  });
}

// Compares K s with the limit by comparing s with the limit divided by K.
void compare_with_factor(Criterion& criterion, const Summary& aperture, const Case& c) {
  const SpreadRule& rule = c.rules().spread;
  const double factor = standard_deviation_factor(criterion.n, rule.tail_millionths[c.specification.lookup_grade()]);
  criterion.factor = factor;
  criterion.observed_um = factor * *aperture.standard_deviation_um();
  const std::optional<Guard> guard = guards_of(c, *criterion.direction).standard_deviation;
  compare_deviation(criterion, aperture, c, guard, limit_without_factor(*criterion.upper, factor));
  if (rule.settled || criterion.outcome == Outcome::met) return;
  // Without K the outcome may differ: it is settled only if both reject.
  Criterion without = criterion;
  without.statement.reset();
  without.reasons.clear();
  compare_deviation(without, aperture, c, guard, *criterion.upper);
  if (without.outcome == Outcome::not_met) {
    criterion.outcome = Outcome::not_met;
  } else if (criterion.outcome == Outcome::not_met) {
    criterion.reasons.clear();
    undecide(criterion, Reason::rule_not_seen);
  }
}

void compare_spread(Criterion& criterion, const Summary& aperture, const Case& c) {
  if (aperture.count() < 2) return undecide(criterion, aperture.empty() ? Reason::no_readings : Reason::single_reading);
  if (c.rules().spread.factor && !c.all_measured) {
    compare_with_factor(criterion, aperture, c);
  } else {
    criterion.observed_um = aperture.standard_deviation_um();
    compare_deviation(criterion, aperture, c, guards_of(c, *criterion.direction).standard_deviation, *criterion.upper);
  }
  criterion.margin_um = margin_upper(criterion, c).um() - *criterion.observed_um;
}

bool edition_judges_spread(const Edition& edition) {
  return std::any_of(edition.rows.begin(), edition.rows.end(), [](const Row& row) {
    return std::any_of(k_grades.begin(), k_grades.end(),
                       [&](Grade grade) { return row.standard_deviation_limit[grade].has_value(); });
  });
}

Criterion aperture_standard_deviation(const Case& c, Direction direction) {
  const Summary& aperture = c.sample()[direction].aperture;
  const std::optional<Limit>& limit = c.row().standard_deviation_limit[c.specification.lookup_grade()];
  Criterion criterion{.id = CriterionId::aperture_standard_deviation, .direction = direction, .n = aperture.count()};
  if (!limit) {
    return not_applicable(criterion, edition_judges_spread(*c.specification.edition) ? Reason::not_in_row : Reason::not_in_edition);
  }
  criterion.upper = limit->value;
  criterion.grounds = {ground(Ground::Kind::limit, limit->basis), ground(Ground::Kind::rule, c.rules().spread.basis),
                       count_ground(c)};
  compare_spread(criterion, aperture, c);
  if (!spread_is_unrecoverable(c, direction)) undecide_below_count(criterion, c);
  undecide_coarse(criterion, c);
  return criterion;
}

// The limit of the share moves, not the percentage: apertures above the moved limits were counted while reading.
void compare_share(Criterion& criterion, const Case& c, std::int64_t above, std::int32_t percent) {
  const std::optional<GuardedCounts>& counts = c.evidence.shares[*criterion.direction];
  const bool counted = c.conditions.decision == DecisionRule::simple || counts;
  const std::optional<Guard> guard = counted ? guards_of(c, *criterion.direction).reading : std::nullopt;
  decide(criterion, c, guard, c.row().intermediate_limit->value - c.row().nominal, [&](Length inwards) {
    const std::int64_t count = inwards == Length() ? above : inwards > Length() ? counts->above_lowered : counts->above_raised;
    return share_within(count, criterion.n, percent);
  });
}

Criterion share_above_intermediate(const Case& c, Direction direction) {
  const Summary& aperture = c.sample()[direction].aperture;
  const std::optional<Limit>& limit = c.row().intermediate_limit;
  const std::optional<ShareRule>& rule = c.rules().share;
  Criterion criterion{.id = CriterionId::share_above_intermediate, .direction = direction, .n = aperture.count()};
  if (!rule || !limit) return not_applicable(criterion, rule ? Reason::not_in_row : Reason::not_in_edition);
  criterion.limit = rule->percent;
  criterion.grounds = {ground(Ground::Kind::limit, limit->basis), ground(Ground::Kind::rule, rule->basis), count_ground(c)};
  if (aperture.empty()) {
    undecide(criterion, Reason::no_readings);
    return criterion;
  }
  const std::int64_t above = aperture.count_above_intermediate();
  criterion.observed = nearest_quotient(int512(100) * above, aperture.count());
  compare_share(criterion, c, above, rule->percent);
  if (share_is_unrecoverable(c, direction)) return criterion;
  undecide_below_count(criterion, c);
  if (one_decides(aperture.count(), rule->percent) && !c.all_measured) undecide(criterion, Reason::share_of_few);
  return criterion;
}

Criterion wire_diameter(const Case& c, Direction direction) {
  const Summary& wire = c.sample()[direction].wire;
  const Count& count = c.rules().wire_count;
  Criterion criterion{.id = CriterionId::wire_diameter, .direction = direction, .n = wire.count()};
  criterion.lower = c.row().wire.minimum.value;
  criterion.upper = c.row().wire.maximum.value;
  criterion.grounds = {ground(Ground::Kind::lower_limit, c.row().wire.minimum.basis),
                       ground(Ground::Kind::upper_limit, c.row().wire.maximum.basis), ground(Ground::Kind::count, count.basis)};
  compare_mean(criterion, wire, c, guards_of(c, direction).wire);
  const std::int64_t different = c.evidence.different_wires[direction].value_or(criterion.n);
  if (criterion.n > 0 && criterion.n < count.value) {
    undecide(criterion, Reason::too_few_wires);
  } else if (different < count.value && !c.all_measured) {  // where all apertures are measured, the piece has no more wires
    undecide(criterion, Reason::too_few_different_wires);
  }
  if (c.sample()[direction].refused_wires != 0) undecide(criterion, Reason::readings_refused);
  return c.conditions.apertures_only ? not_applicable(criterion, Reason::left_out) : criterion;
}

// Nothing is decided by a mistyped row; the visual examination does not depend on the table.
void undecide_by_table(std::vector<Criterion>& criteria) {
  for (Criterion& criterion : criteria) {
    if (compared_by(criterion.id) == Compared::finding || criterion.outcome == Outcome::not_applicable) continue;
    undecide(criterion, Reason::table_implausible);
  }
}

// What is missing besides leaves a criterion undecided and nothing else.
void state(Criterion& criterion, DecisionRule rule) {
  const bool by_rule = criterion.reasons == std::vector{Reason::within_guard_band};
  if (!by_rule) criterion.statement.reset();
  if (rule != DecisionRule::four_outcomes) return;
  if (criterion.outcome == Outcome::met) criterion.statement = Statement::pass;
  if (criterion.outcome == Outcome::not_met) criterion.statement = Statement::fail;
}

double average_allowance(const Row& row, const Criterion&) { return row.average_tolerance.value.um(); }
double maximum_allowance(const Row& row, const Criterion&) { return row.maximum_tolerance.value.um(); }
double upper_limit(const Row&, const Criterion& criterion) { return criterion.upper->um(); }
double half_the_range(const Row&, const Criterion& criterion) { return (*criterion.upper - *criterion.lower).um() / 2; }

constexpr CatalogueEntry k_catalogue[] = {
    {CriterionId::viewing, Compared::finding, viewing},
    {CriterionId::sample_size, Compared::count, sample_size},
    {CriterionId::average_aperture, Compared::length, average_aperture, average_allowance, average_is_rejected},
    {CriterionId::maximum_aperture, Compared::length, maximum_aperture, maximum_allowance, maximum_is_rejected},
    {CriterionId::aperture_standard_deviation, Compared::length, aperture_standard_deviation, upper_limit, spread_is_rejected},
    {CriterionId::share_above_intermediate, Compared::share, share_above_intermediate, nullptr, share_is_rejected},
    {CriterionId::wire_diameter, Compared::length, wire_diameter, half_the_range},
};

// The index of an entry is the number of its criterion.
constexpr bool is_complete() {
  if (std::size(k_catalogue) != enumerator_count<CriterionId>()) return false;
  for (std::size_t i = 0; i < std::size(k_catalogue); ++i) {
    const CatalogueEntry& entry = k_catalogue[i];
    if (static_cast<std::size_t>(entry.id) != i) return false;
    if ((entry.compared == Compared::length) != (entry.allowance_um != nullptr)) return false;
  }
  return true;
}
static_assert(is_complete(), "a criterion without its entry, or in another place");

const CatalogueEntry& entry_of(CriterionId id) { return k_catalogue[static_cast<std::size_t>(id)]; }

}  // namespace

std::span<const CatalogueEntry> catalogue() noexcept { return k_catalogue; }

Compared compared_by(CriterionId id) noexcept { return entry_of(id).compared; }

std::optional<double> allowance_um(const Criterion& criterion, const Row& row) noexcept {
  const auto of = entry_of(criterion.id).allowance_um;
  if (of == nullptr || !criterion.upper) return std::nullopt;
  return of(row, criterion);
}

std::vector<Criterion> judge_all(const Case& the_case) {
  std::vector<Criterion> criteria;
  for (const CatalogueEntry& entry : k_catalogue) {
    if (const auto* const judge = std::get_if<CatalogueEntry::OfPiece>(&entry.judge)) criteria.push_back((*judge)(the_case));
    if (const auto* const judge = std::get_if<CatalogueEntry::OfDirection>(&entry.judge)) {
      for (const Direction direction : k_directions) criteria.push_back((*judge)(the_case, direction));
    }
  }
  if (!the_case.specification.edition->implausible_values_of(the_case.row()).empty()) undecide_by_table(criteria);
  for (Criterion& criterion : criteria) state(criterion, the_case.conditions.decision);
  return criteria;
}

}  // namespace sievecloth
