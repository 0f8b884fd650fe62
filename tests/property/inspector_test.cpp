#include "sievecloth/inspector.hpp"

#include <gtest/gtest.h>

#include <limits>

#include "judgement/predicates.hpp"
#include "support/random_piece.hpp"

namespace sievecloth {
namespace {

using test::Push;
using test::RandomPiece;

void expect_same(const Assessment& a, const Assessment& b) {
  ASSERT_EQ(a.sample, b.sample);
  ASSERT_EQ(a.verdict, b.verdict);
  ASSERT_EQ(a.provisional, b.provisional);
  ASSERT_EQ(a.criteria.size(), b.criteria.size());
  for (std::size_t i = 0; i < a.criteria.size(); ++i) {
    ASSERT_EQ(a.criteria[i].outcome, b.criteria[i].outcome);
    ASSERT_EQ(a.criteria[i].reasons, b.criteria[i].reasons);
    ASSERT_EQ(a.criteria[i].observed_um, b.criteria[i].observed_um);
    ASSERT_EQ(a.criteria[i].margin_um, b.criteria[i].margin_um);
    ASSERT_EQ(a.criteria[i].n, b.criteria[i].n);
  }
}

TEST(InspectorProperty, BatchIsStreamIsMergedIsRestored) {
  // property: a batch, a stream, any split merged in any order, and a run restored from a snapshot at any reading are bit-identical
  RandomPiece piece(61);
  for (int round = 0; round < 2000; ++round) {
    const Specification specification = piece.specification();
    const Conditions conditions = piece.conditions();
    std::vector<Push> pushes = piece.readings(specification, piece.below(120));

    Sample batch = make_sample(specification);
    for (const Push& push : pushes) test::add(batch, push);

    piece.shuffle(pushes);
    Inspector stream = Inspector::create(specification, conditions).value();
    std::vector<Inspector> parts(1 + piece.below(4), stream);
    const std::size_t power_cut = piece.below(pushes.size() + 1);
    for (std::size_t i = 0; i < pushes.size(); ++i) {
      if (i == power_cut) stream = Inspector::restore(specification, conditions, stream.save()).value();
      const auto [quantity, direction, reading] = pushes[i];
      ASSERT_TRUE(stream.add(quantity, direction, reading));
      ASSERT_TRUE(parts[piece.below(parts.size())].add(quantity, direction, std::span(&pushes[i].reading, 1)));
    }
    piece.shuffle(parts);
    Inspector merged = parts.front();
    for (std::size_t i = 1; i < parts.size(); ++i) ASSERT_TRUE(merged.merge(parts[i]));

    const Assessment expected = assess(specification, batch, conditions).value();
    for (const Inspector* inspector : {&stream, &merged}) {
      expect_same(inspector->finish().value(), expected);
      ASSERT_EQ(inspector->standing(), stream.standing());
    }
    ASSERT_EQ(merged.save(), stream.save());
  }
}

TEST(InspectorProperty, FailedForGoodStaysFailed) {
  // property: once the standing is rejected, finish() gives does-not-conform then and after any further readings
  RandomPiece piece(62);
  std::array<int, 7> seen{};
  for (int round = 0; round < 4000; ++round) {
    const Specification specification = piece.specification();
    Conditions conditions = piece.conditions();
    const bool has_count = specification.row->counts[specification.lookup_grade()].has_value();
    if (!has_count && piece.chance(80)) conditions.agreed_count = 20;
    const std::optional<RequiredCount> required = required_count(specification, conditions.piece, conditions.agreed_count);
    const std::int64_t asked = required && !required->all ? std::min<std::int64_t>(required->count, 150) : 20;
    if (piece.chance(80)) conditions.planned = {asked, asked + static_cast<std::int64_t>(piece.below(3))};
    if (required && required->all && piece.chance(80)) {
      conditions.piece = {.apertures_in_piece = asked, .all_apertures = true};
      if (conditions.planned) conditions.planned = {asked, asked};
    }
    Inspector inspector = Inspector::create(specification, conditions).value();
    bool failed = false;
    for (int burst = 0; burst < 3; ++burst) {  // each burst with its own level and step: further readings may do anything
      for (const auto& [quantity, direction, reading] : piece.readings(specification, 1 + piece.below(150))) {
        if (inspector.sample()[direction].aperture.count() >= asked && !conditions.planned && conditions.piece.all_apertures)
          continue;
        (void)inspector.add(quantity, direction, reading);
        const Standing standing = inspector.standing();
        if (standing.rejected && !failed) ++seen[static_cast<std::size_t>(standing.criterion)];
        failed = failed || standing.rejected;
        if (!failed) continue;
        ASSERT_TRUE(standing.rejected);
        ASSERT_EQ(inspector.finish().value().verdict, Verdict::does_not_conform)
            << specification.edition->name << " " << specification.row->designation << " round " << round;
      }
    }
  }
  for (const CriterionId id : {CriterionId::viewing, CriterionId::average_aperture, CriterionId::maximum_aperture,
                               CriterionId::aperture_standard_deviation, CriterionId::share_above_intermediate}) {
    EXPECT_GT(seen[static_cast<std::size_t>(id)], 0) << to_text(id);
  }
}

/// Every way to fill a summary up to `planned` with readings from 1 pm to `largest`.
template <class Done>
bool any_completion(const Summary& summary, std::int64_t planned, Length largest, Done done) {
  if (summary.count() == planned) return done(summary);
  for (std::int64_t pm = 1; pm <= largest.pm(); ++pm) {
    Summary next = summary;
    next.add(Length::from_pm(pm)).value();
    if (any_completion(next, planned, largest, done)) return true;
  }
  return false;
}

TEST(InspectorProperty, CanComeBackExactlyWhereACompletionDoes) {
  // oracle: every completion of small samples of small whole lengths, tried one by one
  RandomPiece piece(63);
  std::array<int, 4> seen{};
  for (int round = 0; round < 4000; ++round) {
    const Length nominal = Length::from_pm(2 + static_cast<std::int64_t>(piece.below(5)));
    const Length headroom = Length::from_pm(1 + static_cast<std::int64_t>(piece.below(4)));
    const Length tolerance = Length::from_pm(static_cast<std::int64_t>(piece.below(3)));
    const Length limit = Length::from_pm(1 + static_cast<std::int64_t>(piece.below(3)));
    const std::int64_t rest = static_cast<std::int64_t>(piece.below(5));
    Summary summary(Thresholds{nominal, {}, {}});
    const auto most = static_cast<std::uint64_t>((nominal + headroom).pm());
    for (std::uint64_t n = 1 + piece.below(6); n > 0; --n)
      summary.add(Length::from_pm(1 + static_cast<std::int64_t>(piece.below(most)))).value();
    const std::int64_t planned = summary.count() + rest;
    if (planned < 2) continue;

    const bool mean = any_completion(summary, planned, nominal + headroom, [&](const Summary& all) {
      return mean_within(all, nominal - tolerance, nominal + tolerance);
    });
    const bool spread = any_completion(summary, planned, nominal + headroom,
                                       [&](const Summary& all) { return standard_deviation_within(all, limit); });
    ASSERT_EQ(mean_can_come_back(summary, tolerance, headroom, planned), mean) << round;
    ASSERT_EQ(standard_deviation_can_come_back(summary, limit, planned), spread) << round;
    ++seen[mean ? 0 : 1];
    ++seen[spread ? 2 : 3];
  }
  for (const int count : seen) EXPECT_GT(count, 100);
}

TEST(InspectorProperty, AnyFlippedBitIsRefused) {
  // property: a snapshot with any one bit flipped, or truncated anywhere, is refused; complete, it gives the same inspector
  RandomPiece piece(64);
  const Specification specification = piece.specification();
  Conditions conditions;
  conditions.planned = {40, 50};
  Inspector inspector = Inspector::create(specification, conditions).value();
  for (const auto& [quantity, direction, reading] : piece.readings(specification, 200))
    (void)inspector.add(quantity, direction, reading);
  (void)inspector.add(Quantity::wire, Direction::weft, std::numeric_limits<double>::quiet_NaN(), Unit::micrometre);
  const Snapshot whole = inspector.save();
  EXPECT_EQ(Inspector::restore(specification, conditions, whole).value().save(), whole);
  for (std::size_t bit = 0; bit < 8 * whole.size(); ++bit) {
    Snapshot flipped = whole;
    flipped[bit / 8] ^= std::byte{1} << bit % 8;
    const Result<Inspector> restored = Inspector::restore(specification, conditions, flipped);
    ASSERT_FALSE(restored.ok()) << bit;
    ASSERT_EQ(restored.error().code, ErrorCode::snapshot_damaged) << bit;
  }
  for (std::size_t size = 0; size < whole.size(); ++size) {
    ASSERT_EQ(Inspector::restore(specification, conditions, std::span(whole).first(size)).error().code,
              ErrorCode::snapshot_damaged);
  }
}

}  // namespace
}  // namespace sievecloth
