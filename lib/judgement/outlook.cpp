#include "judgement/outlook.hpp"

#include "judgement/predicates.hpp"

namespace sievecloth {
namespace {

constexpr std::int32_t k_half = 500'000;  // up to this tail chi-square's quantile is below its mean, so that K is above 1

std::int64_t planned(const Case& c, Direction direction) { return (*c.conditions.planned)[direction]; }

bool all_will_be_measured(const Case& c) {
  const Piece& piece = c.conditions.piece;
  return piece.all_apertures && piece.apertures_in_piece && planned(c, Direction::warp) == *piece.apertures_in_piece &&
         planned(c, Direction::weft) == *piece.apertures_in_piece;
}

// There is a plan, it is not exceeded, and once it is fulfilled the count asked for is reached.
bool plan_decides(const Case& c, Direction direction) {
  if (!c.conditions.planned) return false;
  const std::int64_t n = c.sample[direction].aperture.count();
  if (n == 0 || n > planned(c, direction)) return false;
  if (all_will_be_measured(c)) return true;
  const bool says_all = c.conditions.piece.all_apertures && c.conditions.piece.apertures_in_piece;
  return c.required && !c.required->all && !says_all && planned(c, direction) >= c.required->count;
}

}  // namespace

bool is_coarse(const Case& c, Length step) {
  const std::optional<ResolutionRule>& rule = c.rules().resolution;
  return rule && coarser_than(step, rule->floor, c.row().average_tolerance.value, rule->fraction_of_average);
}

bool more_to_come(const Case& c, Direction direction) { return c.sample[direction].aperture.count() < planned(c, direction); }

bool mean_is_lost(const Case& c, Direction direction) {
  if (!plan_decides(c, direction)) return false;
  // An aperture above w + X could bring a mean back from below, and rejects only where that limit counts.
  if (more_to_come(c, direction) && c.conditions.only_seen && !is_verified(c.row().maximum_tolerance.basis.provenance))
    return false;
  return !mean_can_come_back(c.sample[direction].aperture, c.row().average_tolerance.value, c.row().maximum_tolerance.value,
                             planned(c, direction));
}

bool spread_is_lost(const Case& c, Direction direction) {
  if (!plan_decides(c, direction)) return false;
  // K s is above s, so that s alone decides; an owner's rule with a smaller K is left to the full sample.
  const SpreadRule& rule = c.rules().spread;
  if (rule.factor && rule.tail_millionths[c.specification.lookup_grade()] > k_half) return false;
  const Limit& limit = *c.row().standard_deviation_limit[c.specification.lookup_grade()];
  return !standard_deviation_can_come_back(c.sample[direction].aperture, limit.value, planned(c, direction));
}

bool share_is_lost(const Case& c, Direction direction) {
  if (!plan_decides(c, direction)) return false;
  const std::int32_t percent = c.rules().share->percent;
  if (one_decides(planned(c, direction), percent) && !all_will_be_measured(c)) return false;
  return !share_within(c.sample[direction].aperture.count_above_intermediate(), planned(c, direction), percent);
}

}  // namespace sievecloth
