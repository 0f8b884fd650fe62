#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <random>
#include <vector>

#include "judgement/predicates.hpp"
#include "sievecloth/inspector.hpp"

namespace sievecloth {
namespace {

/// An invented edition with one size, so small that every possible continuation can be tried.
struct SmallEdition {
  Row row;
  Edition edition;
  Conditions conditions;
  std::int64_t planned = 0;

  explicit SmallEdition(std::mt19937_64& random) {
    const auto from = [&](std::int64_t least, std::int64_t most) {
      return least + static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(most - least + 1));
    };
    const auto basis = [&] { return Basis{from(0, 3) == 0 ? Provenance::memory : Provenance::seen, 0}; };
    const auto limit = [&](std::int64_t least, std::int64_t most) { return Limit{Length::from_pm(from(least, most)), basis()}; };
    row.nominal = Length::from_pm(from(2, 5));
    row.designation = "small";
    row.average_tolerance = limit(0, 2);
    row.maximum_tolerance = limit(1, 4);
    row.wire = {limit(1, 3), limit(1, 3), limit(1, 3)};
    const Count asked{from(2, 4), basis()};
    const bool share = from(0, 1) == 0;  // an edition judges either the share or the spread, as the standards do
    if (share) row.intermediate_limit = Limit{row.nominal + Length::from_pm(from(0, 4)), basis()};
    const Limit spread = limit(1, 2);
    for (const Grade grade : k_grades) {
      row.counts[grade] = asked;
      if (!share) row.standard_deviation_limit[grade] = spread;
    }
    edition.name = "small";
    edition.title = "Small";
    edition.rules.graded = false;
    edition.rules.spread.basis = basis();
    edition.rules.spread.factor = from(0, 1) == 0;  // K, and whether it applies was not seen
    edition.rules.spread.settled = !edition.rules.spread.factor;
    for (const Grade grade : k_grades) edition.rules.spread.tail_millionths[grade] = 5000;
    if (share) edition.rules.share = ShareRule{static_cast<std::int32_t>(from(10, 60)), basis()};
    edition.rows = std::span(&row, 1);
    planned = asked.value + from(0, 2);
    conditions.planned = {planned, planned};
    conditions.only_seen = from(0, 2) == 0;
    if (from(0, 3) == 0) conditions.piece = {.apertures_in_piece = planned, .all_apertures = true};
  }
  SmallEdition(const SmallEdition&) = delete;
  SmallEdition& operator=(const SmallEdition&) = delete;

  Specification specification() const { return {&edition, &row, std::nullopt}; }
  // Readings far enough above w + X that larger ones would only widen s; the last one just makes up for the smallest apertures.
  std::int64_t longest() const { return row.largest_aperture().pm() + 4; }
  std::int64_t longest_last() const { return longest() + planned * row.nominal.pm(); }
};

/// Whether the piece can still end in anything but does-not-conform: every completion of the plan in direction warp, none below
/// `least`.
bool can_still_pass(const SmallEdition& small, const Inspector& inspector, std::int64_t rest, std::int64_t least = 1) {
  if (rest == 0) return inspector.finish().value().verdict != Verdict::does_not_conform;
  for (std::int64_t pm = least; pm <= (rest == 1 ? small.longest_last() : small.longest()); ++pm) {
    Inspector next = inspector;
    (void)next.add(Quantity::aperture, Direction::warp, Length::from_pm(pm));
    if (can_still_pass(small, next, rest - 1, pm)) return true;
  }
  return false;
}

/// Whether some completion of one direction's plan, with readings from `least` to `longest`, satisfies `done`.
template <class Done>
bool any_completion(const Summary& summary, std::int64_t rest, std::int64_t least, std::int64_t longest, const Done& done) {
  if (rest == 0) return done(summary);
  for (std::int64_t pm = least; pm <= longest; ++pm) {
    Summary next = summary;
    next.add(Length::from_pm(pm)).value();
    if (any_completion(next, rest - 1, pm, longest, done)) return true;
  }
  return false;
}

/// The first criterion, in order, that no completion can meet, each considered separately.
std::optional<CriterionId> lost_criterion(const SmallEdition& small, const Summary& apertures, std::int64_t rest) {
  const Row& row = small.row;
  const Basis& count = row.counts[Grade::inspection]->basis;
  const auto counts = [&](std::initializer_list<Basis> grounds) {
    return !small.conditions.only_seen ||
           std::all_of(grounds.begin(), grounds.end(), [](const Basis& basis) { return is_verified(basis.provenance); });
  };
  // While readings are still to come, one above w + X could balance the mean, and rejects by that limit.
  const Basis& largest = rest > 0 ? row.maximum_tolerance.basis : count;
  if (counts({row.average_tolerance.basis, count, largest}) &&
      !any_completion(apertures, rest, 1, row.largest_aperture().pm(),
                      [&](const Summary& all) { return mean_within(all, row.smallest_mean(), row.largest_mean()); }))
    return CriterionId::average_aperture;
  const std::optional<Limit>& spread = row.standard_deviation_limit[Grade::inspection];
  if (spread && counts({spread->basis, small.edition.rules.spread.basis, count}) &&
      !any_completion(apertures, rest, 1, small.longest(),
                      [&](const Summary& all) { return standard_deviation_within(all, spread->value); }))
    return CriterionId::aperture_standard_deviation;
  const std::optional<ShareRule>& share = small.edition.rules.share;
  const bool decides = share && (small.conditions.piece.all_apertures || !one_decides(small.planned, share->percent));
  if (decides && counts({row.intermediate_limit->basis, share->basis, count}) &&
      !share_within(apertures.count_above_intermediate(), small.planned, share->percent))
    return CriterionId::share_above_intermediate;
  return std::nullopt;
}

TEST(OutlookProperty, FailedForGoodAsSoonAsACriterionIsLostAndNeverTooSoon) {
  // oracle: in 2000 small editions, after each reading, every completion of the plan is tried. The standing has failed exactly if
  // one criterion is unrecoverable in all of them; each of them, finished, then does not conform
  std::mt19937_64 random(67);
  std::array<std::array<int, 2>, 7> seen{};  // by criterion; while readings remain, and at the end
  int open = 0;
  for (int round = 0; round < 2000; ++round) {
    const SmallEdition small(random);
    Inspector inspector = Inspector::create(small.specification(), small.conditions).value();
    for (std::int64_t i = 0; i < small.planned; ++i) (void)inspector.add(Quantity::aperture, Direction::weft, small.row.nominal);
    for (std::int64_t rest = small.planned; rest-- > 0;) {
      const auto reading = 1 + static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(small.row.largest_aperture().pm()));
      (void)inspector.add(Quantity::aperture, Direction::warp, Length::from_pm(reading));
      const Standing standing = inspector.standing();
      const std::optional<CriterionId> lost = lost_criterion(small, inspector.sample()[Direction::warp].aperture, rest);
      ASSERT_EQ(standing.rejected, lost.has_value()) << "round " << round << " rest " << rest;
      if (!lost) {
        ++open;
        continue;
      }
      ASSERT_EQ(standing.criterion, *lost);
      ASSERT_EQ(inspector.finish().value().verdict, Verdict::does_not_conform) << "round " << round << " rest " << rest;
      ASSERT_FALSE(can_still_pass(small, inspector, rest)) << "round " << round << " rest " << rest;
      ++seen[static_cast<std::size_t>(*lost)][rest > 0 ? 0 : 1];
    }
  }
  for (const CriterionId id :
       {CriterionId::average_aperture, CriterionId::aperture_standard_deviation, CriterionId::share_above_intermediate}) {
    for (const int count : seen[static_cast<std::size_t>(id)]) EXPECT_GT(count, 20) << to_text(id);
  }
  EXPECT_GT(open, 1000);
}

}  // namespace
}  // namespace sievecloth
