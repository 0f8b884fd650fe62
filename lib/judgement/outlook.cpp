#include "judgement/outlook.hpp"

#include <algorithm>
#include <initializer_list>

#include "judgement/predicates.hpp"

namespace sievecloth {
namespace {

constexpr std::int32_t k_half = 500'000;  // up to this tail the quantile of chi-square is below its mean, so that K is above 1

std::int64_t planned(const Case& c, Direction direction) { return (*c.conditions.planned)[direction]; }

bool all_will_be_measured(const Case& c) {
  const Piece& piece = c.conditions.piece;
  return piece.all_apertures && piece.apertures_in_piece && planned(c, Direction::warp) == *piece.apertures_in_piece &&
         planned(c, Direction::weft) == *piece.apertures_in_piece;
}

// True if there is a plan, it is not exceeded, and fulfilling it reaches the required count.
bool plan_decides(const Case& c, Direction direction) {
  if (!c.conditions.planned) return false;
  const std::int64_t n = c.sample()[direction].aperture.count();
  if (n == 0 || n > planned(c, direction)) return false;
  if (all_will_be_measured(c)) return true;
  const bool says_all = c.conditions.piece.all_apertures && c.conditions.piece.apertures_in_piece;
  return c.required && !c.required->all && !says_all && planned(c, direction) >= c.required->count;
}

// The coarsest step that the finished sample can have: the instrument's, or the divisor of all apertures so far.
Length coarsest_step(const Case& c, Direction direction) {
  const Length divisor = Length::from_pm(c.sample()[direction].aperture.figures().divisor_pm);
  return std::max(c.conditions.resolution.value_or(Length()), divisor);
}

bool certainly_fine(const Case& c, Direction direction) {
  return !c.rules().resolution || (!c.sample()[direction].aperture.empty() && !is_coarse(c, coarsest_step(c, direction)));
}

bool verified(std::initializer_list<const Basis*> grounds) {
  return std::all_of(grounds.begin(), grounds.end(),
                     [](const Basis* basis) { return basis != nullptr && is_verified(basis->provenance); });
}

// A provisional rejection becomes undecided if only verified values count.
bool counts(const Case& c, std::initializer_list<const Basis*> grounds) { return !c.conditions.only_seen || verified(grounds); }

const Basis* count_basis(const Case& c) { return c.required && c.required->basis ? &*c.required->basis : nullptr; }

}  // namespace

bool is_coarse(const Case& c, Length step) {
  const std::optional<ResolutionRule>& rule = c.rules().resolution;
  return rule && coarser_than(step, rule->floor, c.row().average_tolerance.value, rule->fraction_of_average);
}

bool more_to_come(const Case& c, Direction direction) { return c.sample()[direction].aperture.count() < planned(c, direction); }

bool mean_is_unrecoverable(const Case& c, Direction direction) {
  if (!plan_decides(c, direction)) return false;
  // An aperture above w + X could raise a low mean, and rejects only if that limit counts.
  if (more_to_come(c, direction) && c.conditions.only_seen && !is_verified(c.row().maximum_tolerance.basis.provenance))
    return false;
  return !mean_can_come_back(c.sample()[direction].aperture, c.row().average_tolerance.value, c.row().maximum_tolerance.value,
                             planned(c, direction));
}

bool spread_is_unrecoverable(const Case& c, Direction direction) {
  if (!plan_decides(c, direction)) return false;
  // K s exceeds s, so s alone decides; an owner's rule with K below 1 is left to the full sample.
  const SpreadRule& rule = c.rules().spread;
  if (rule.factor && rule.tail_millionths[c.specification.lookup_grade()] > k_half) return false;
  const Limit& limit = *c.row().standard_deviation_limit[c.specification.lookup_grade()];
  return !standard_deviation_can_come_back(c.sample()[direction].aperture, limit.value, planned(c, direction));
}

bool share_is_unrecoverable(const Case& c, Direction direction) {
  if (!plan_decides(c, direction)) return false;
  const std::int32_t percent = c.rules().share->percent;
  if (one_decides(planned(c, direction), percent) && !all_will_be_measured(c)) return false;
  return !share_within(c.sample()[direction].aperture.count_above_intermediate(), planned(c, direction), percent);
}

// A reading more than a whole step above the limit is above it, however coarse the readings turn out to be.
bool maximum_is_rejected(const Case& c, Direction direction) {
  const DirectionSample& side = c.sample()[direction];
  const Length limit = c.row().largest_aperture();
  const Length largest = std::max(side.aperture.maximum(), side.suspect.maximum());  // 0 if there is none
  if (largest <= limit || !counts(c, {&c.row().maximum_tolerance.basis})) return false;
  if (certainly_fine(c, direction)) return true;
  return !side.aperture.empty() && largest - coarsest_step(c, direction) > limit;
}

bool average_is_rejected(const Case& c, Direction direction) {
  return counts(c, {&c.row().average_tolerance.basis, count_basis(c)}) && certainly_fine(c, direction) &&
         mean_is_unrecoverable(c, direction);
}

bool spread_is_rejected(const Case& c, Direction direction) {
  const std::optional<Limit>& limit = c.row().standard_deviation_limit[c.specification.lookup_grade()];
  return limit && counts(c, {&limit->basis, &c.rules().spread.basis, count_basis(c)}) && certainly_fine(c, direction) &&
         spread_is_unrecoverable(c, direction);
}

bool share_is_rejected(const Case& c, Direction direction) {
  const std::optional<Limit>& limit = c.row().intermediate_limit;
  const std::optional<ShareRule>& rule = c.rules().share;
  return limit && rule && counts(c, {&limit->basis, &rule->basis, count_basis(c)}) && share_is_unrecoverable(c, direction);
}

}  // namespace sievecloth
