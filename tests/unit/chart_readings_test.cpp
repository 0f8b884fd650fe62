// boundary: which readings are kept for charts
#include "check/chart_readings.hpp"

#include <algorithm>

#include <gtest/gtest.h>

namespace sievecloth {
namespace {

Reading reading(Direction direction, std::int64_t line, Role role = Role::sample) {
  Reading made;
  made.direction = direction;
  made.role = role;
  made.aperture = Length::of(75, Unit::micrometre);
  made.line = line;
  return made;
}

TEST(ChartReadings, AllIfThereIsRoom) {
  // boundary: as many as there is room for are kept in order; with one more, every second one
  ChartReadings kept(10);
  for (int line = 1; line <= 10; ++line) kept.add(reading(Direction::warp, line));
  EXPECT_EQ(kept.take().size(), 10u);
  ChartReadings full(10);
  for (int line = 1; line <= 11; ++line) full.add(reading(Direction::warp, line));
  EXPECT_EQ(full.rows(), 11);
  const std::vector<Reading> some = full.take();
  ASSERT_EQ(some.size(), 6u);
  for (std::size_t i = 0; i < some.size(); ++i) EXPECT_EQ(some[i].line, static_cast<std::int64_t>(2 * i + 1));
}

TEST(ChartReadings, AreEvenOverEachDirection) {
  // property: directions in turn, or one after the other: each has half of what is kept, evenly from its first to its last reading
  for (const bool in_turn : {true, false}) {
    constexpr int k_rows = 100'000;
    ChartReadings kept(1000);
    for (int i = 0; i < k_rows; ++i) {
      const bool warp = in_turn ? i % 2 == 0 : i < k_rows / 2;
      kept.add(reading(warp ? Direction::warp : Direction::weft, i));
    }
    const std::vector<Reading> some = kept.take();
    EXPECT_LE(some.size(), 1000u);
    EXPECT_GT(some.size(), 450u);
    const auto warps = std::count_if(some.begin(), some.end(), [](const Reading& of) { return of.direction == Direction::warp; });
    EXPECT_NEAR(static_cast<double>(warps), static_cast<double>(some.size()) / 2, 1);
    EXPECT_TRUE(std::is_sorted(some.begin(), some.end(), [](const Reading& a, const Reading& b) { return a.line < b.line; }));
  }
}

TEST(ChartReadings, SuspectsStay) {
  // boundary: suspects are kept while they fill less than half of the room; nothing is kept without room
  ChartReadings kept(100);
  for (int i = 0; i < 10'000; ++i) kept.add(reading(Direction::weft, i, i % 1000 == 7 ? Role::suspect : Role::sample));
  const std::vector<Reading> some = kept.take();
  EXPECT_EQ(std::count_if(some.begin(), some.end(), [](const Reading& of) { return of.role == Role::suspect; }), 10);
  ChartReadings suspects(100);
  for (int i = 0; i < 10'000; ++i) suspects.add(reading(Direction::weft, i, Role::suspect));
  EXPECT_LE(suspects.take().size(), 100u);
  ChartReadings none(0);
  none.add(reading(Direction::warp, 1));
  EXPECT_EQ(none.rows(), 1);
  EXPECT_TRUE(none.take().empty());
}

}  // namespace
}  // namespace sievecloth
