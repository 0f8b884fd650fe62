#include <gtest/gtest.h>

#include "support/judging.hpp"

namespace sievecloth {
namespace {

using namespace test;
using enum CriterionId;

// Every combination of size, edition and grade.
std::vector<Specification> all_specifications() {
  std::vector<Specification> all;
  for (const Edition* edition : built_in_editions()) {
    for (const Row& row : edition->rows) {
      if (!edition->rules.graded) all.push_back({edition, &row, std::nullopt});
      for (const Grade grade : k_grades) {
        if (edition->rules.graded) all.push_back({edition, &row, grade});
      }
    }
  }
  return all;
}

// Enough readings for any count: for `all`, a piece with exactly that many apertures.
struct Enough {
  std::int64_t n;
  Conditions conditions;
};

Enough enough_for(const Specification& specification) {
  const std::optional<RequiredCount> required = required_count(specification, {});
  if (required && required->count == k_all)
    return {30, {.piece = {.apertures_in_piece = 30, .all_apertures = true}, .viewing_passed = true}};
  if (!required) return {20, {.viewing_passed = true, .agreed_count = 20}};
  return {std::max<std::int64_t>(required->count, 20), viewed()};
}

Outcome outcome_of(const Specification& specification, CriterionId id, Length reading, bool wire = false) {
  const Enough enough = enough_for(specification);
  Sample sample = make_sample(specification);
  for (const Direction direction : k_directions) {
    wire ? add(sample, direction, enough.n, std::nullopt, reading) : add(sample, direction, enough.n, reading);
  }
  Conditions conditions = enough.conditions;
  if (wire) conditions.piece = {};
  return outcome(assess(specification, sample, conditions).value(), id);
}

TEST(Limits, EveryLimitOfEveryRowIsIncluded) {
  // boundary: limit - 1 pm, limit and limit + 1 pm for average, maximum and wires, in every row, grade and edition
  int rows = 0;
  for (const Specification& specification : all_specifications()) {
    const Row& row = *specification.row;
    SCOPED_TRACE(std::string(specification.edition->name) + " " + std::string(row.designation));
    EXPECT_EQ(outcome_of(specification, average_aperture, row.smallest_mean()), Outcome::met);
    EXPECT_EQ(outcome_of(specification, average_aperture, row.smallest_mean() + k_pm), Outcome::met);
    EXPECT_EQ(outcome_of(specification, average_aperture, row.smallest_mean() - k_pm), Outcome::not_met);
    EXPECT_EQ(outcome_of(specification, average_aperture, row.largest_mean()), Outcome::met);
    EXPECT_EQ(outcome_of(specification, average_aperture, row.largest_mean() - k_pm), Outcome::met);
    EXPECT_EQ(outcome_of(specification, average_aperture, row.largest_mean() + k_pm), Outcome::not_met);
    EXPECT_EQ(outcome_of(specification, maximum_aperture, row.largest_aperture()), Outcome::met);
    EXPECT_EQ(outcome_of(specification, maximum_aperture, row.largest_aperture() - k_pm), Outcome::met);
    EXPECT_EQ(outcome_of(specification, maximum_aperture, row.largest_aperture() + k_pm), Outcome::not_met);
    EXPECT_EQ(outcome_of(specification, wire_diameter, row.wire.minimum.value, true), Outcome::met);
    EXPECT_EQ(outcome_of(specification, wire_diameter, row.wire.minimum.value - k_pm, true), Outcome::not_met);
    EXPECT_EQ(outcome_of(specification, wire_diameter, row.wire.maximum.value, true), Outcome::met);
    EXPECT_EQ(outcome_of(specification, wire_diameter, row.wire.maximum.value + k_pm, true), Outcome::not_met);
    ++rows;
  }
  EXPECT_EQ(rows, 56 * 3 + 99 * 3 + 99 + 56);
}

// Three readings w - L, w, w + L have s = L exactly; n of them in equal parts have s^2 = 2/3 L^2 n / (n - 1).
Outcome spread_outcome(const Specification& specification, Length half_width, std::int64_t n) {
  Sample sample = make_sample(specification);
  for (const Direction direction : k_directions) {
    for (const Length deviation : {Length() - half_width, Length(), half_width})
      add(sample, direction, n / 3, specification.row->nominal + deviation);
  }
  Conditions conditions{.piece = {.apertures_in_piece = n, .all_apertures = true}, .viewing_passed = true};
  return outcome(assess(specification, sample, conditions).value(), aperture_standard_deviation);
}

TEST(Limits, EverySpreadLimitIsIncluded) {
  // boundary: s = limit - 1 pm, limit and limit + 1 pm, from three readings of a piece of three apertures (K = 1)
  int limits = 0;
  for (const Specification& specification : all_specifications()) {
    const std::optional<Limit>& limit = specification.row->standard_deviation_limit[specification.lookup_grade()];
    if (!limit) continue;
    SCOPED_TRACE(std::string(specification.edition->name) + " " + std::string(specification.row->designation));
    EXPECT_EQ(spread_outcome(specification, limit->value - k_pm, 3), Outcome::met);
    EXPECT_EQ(spread_outcome(specification, limit->value, 3), Outcome::met);
    EXPECT_EQ(spread_outcome(specification, limit->value + k_pm, 3), Outcome::not_met);
    ++limits;
  }
  EXPECT_GT(limits, 56 * 2 + 80 * 3);
}

TEST(Limits, EveryIntermediateLimitIsStrict) {
  // boundary: apertures exactly at w + Z are not above it; one picometre more and they are
  int limits = 0;
  for (const Specification& specification : all_specifications()) {
    if (!specification.row->intermediate_limit) continue;
    const Length limit = specification.row->intermediate_limit->value;
    EXPECT_EQ(outcome_of(specification, share_above_intermediate, limit), Outcome::met);
    EXPECT_EQ(outcome_of(specification, share_above_intermediate, limit + k_pm), Outcome::not_met);
    ++limits;
  }
  EXPECT_EQ(limits, 99 + 56);
}

TEST(Limits, EveryCountIsInclusive) {
  // boundary: one reading fewer than the count is not enough, the count is
  for (const Specification& specification : all_specifications()) {
    const std::optional<RequiredCount> required = required_count(specification, {});
    if (!required || required->all) continue;
    const auto outcome_with = [&](std::int64_t n) {
      return outcome(assess(specification, perfect(specification, n), viewed()).value(), sample_size);
    };
    EXPECT_EQ(outcome_with(required->count - 1), Outcome::undecided);
    EXPECT_EQ(outcome_with(required->count), Outcome::met);
  }
}

}  // namespace
}  // namespace sievecloth
