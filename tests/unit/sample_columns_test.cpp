// Columns: the same sample as row by row.
#include <gtest/gtest.h>

#include <array>
#include <random>
#include <string_view>
#include <vector>

#include "sievecloth/sample.hpp"
#include "support/outcome.hpp"

namespace sievecloth {
namespace {

constexpr Length um(std::int64_t count) { return Length::of(count, Unit::micrometre); }
const Sample k_blank(Thresholds{um(75), um(91), um(103)}, um(50));

struct Columns {
  std::vector<Direction> direction;
  std::vector<Role> role;
  std::vector<Length> aperture, wire, x, y;
  std::vector<std::string_view> field;

  void push(Direction d, Role r, Length a, Length w) {
    direction.push_back(d);
    role.push_back(r);
    aperture.push_back(a);
    wire.push_back(w);
  }
  ReadingColumns all() const { return {7, direction, role, aperture, wire, x, y, field}; }
};

Sample one_by_one(const ReadingColumns& rows) {
  Sample sample = k_blank;
  for (std::size_t row = 0; row < rows.size(); ++row) (void)sample.add(rows.reading(row));
  return sample;
}

TEST(SampleColumns, AreTheSameAsRowByRow) {
  // property: any rows, with empty cells, suspects, a suspect's wire and invalid lengths, give the same sample and counts of
  // refusals
  std::mt19937_64 random(20261129);
  for (int round = 0; round < 300; ++round) {
    Columns columns;
    const std::size_t count = random() % 2'500;
    const bool suspects = random() % 2 == 0, refused = random() % 3 == 0;
    for (std::size_t i = 0; i < count; ++i) {
      const auto length = [&](std::int64_t nominal) {
        if (random() % 6 == 0) return Length();
        if (refused && random() % 900 == 0) return random() % 2 == 0 ? um(-3) : k_longest;
        return Length::from_pm(nominal * 1'000'000 + static_cast<std::int64_t>(random() % 30'000'000));
      };
      const Role role = suspects && random() % 700 == 0 ? Role::suspect : Role::sample;
      columns.push(random() % 3 == 0 ? Direction::warp : Direction::weft, role, length(70), length(45));
    }
    Sample sample = k_blank;
    const Result<void> taken = sample.add(columns.all());
    ASSERT_EQ(sample, one_by_one(columns.all()));
    ASSERT_TRUE(refused || suspects || taken.ok());
    columns.role.clear();
    Sample without_role = k_blank;
    (void)without_role.add(columns.all());
    ASSERT_EQ(without_role, one_by_one(columns.all()));
  }
}

TEST(SampleColumns, RefusesAsRowByRow) {
  // boundary: the first error is returned; valid values are taken, around the end of a batch sorted at a time
  for (const std::size_t at : std::initializer_list<std::size_t>{0, 1'023, 1'024, 2'047}) {
    Columns columns;
    for (std::size_t i = 0; i < 2'048; ++i) columns.push(Direction::warp, Role::sample, um(75), um(50));
    columns.wire[at] = um(-1);
    Sample sample = k_blank;
    EXPECT_EQ(test::code_of(sample.add(columns.all())), ErrorCode::not_positive);
    EXPECT_EQ(sample[Direction::warp].aperture.count(), 2'048);
    EXPECT_EQ(sample[Direction::warp].wire.count(), 2'047);
    EXPECT_EQ(sample[Direction::warp].refused_wires, 1);
    columns.wire[at] = um(50);
    columns.role[at] = Role::suspect;
    sample = k_blank;
    EXPECT_EQ(test::code_of(sample.add(columns.all())), ErrorCode::suspect_wire);
    EXPECT_EQ(sample[Direction::warp].suspect.count(), 1);
  }
}

TEST(SampleColumns, RowsByThemselves) {
  // identity: each cell of a row arrives in its own column; columns that the file lacks are empty
  const std::array direction{Direction::warp, Direction::weft, Direction::weft};
  const std::array role{Role::sample, Role::suspect, Role::sample};
  const std::array aperture{um(75), um(90), Length()};
  const std::array x{um(1), k_no_position, Length()}, y{um(2), k_no_position, um(-1)};
  const std::array<std::string_view, 3> field{"F1", "", "F3"};
  const std::array<std::int32_t, 3> gap{0, k_no_gap, 5};
  const ReadingColumns rows{7, direction, role, aperture, {}, x, y, field, gap};
  EXPECT_EQ(rows.reading(0).aperture, um(75));
  EXPECT_EQ(rows.reading(0).wire, std::nullopt);
  EXPECT_EQ(rows.reading(0).field, "F1");
  EXPECT_EQ(rows.reading(0).gap, 0);
  EXPECT_EQ(rows.reading(1).gap, std::nullopt);
  EXPECT_EQ(rows.reading(0).line, 7);
  EXPECT_EQ(rows.reading(1).role, Role::suspect);
  EXPECT_EQ(rows.reading(1).direction, Direction::weft);
  EXPECT_EQ(rows.reading(1).x, std::nullopt);
  EXPECT_EQ(rows.reading(2).x, Length());
  EXPECT_EQ(rows.reading(2).y, um(-1));
  EXPECT_EQ(rows.reading(2).line, 9);
  EXPECT_TRUE(rows.has_reading(1));
  EXPECT_FALSE(rows.has_reading(2));
  const ReadingColumns last = rows.part(2, 1);
  EXPECT_EQ(last.size(), 1u);
  EXPECT_EQ(last.reading(0).line, 9);
  EXPECT_EQ(last.reading(0).field, "F3");
  EXPECT_EQ(last.reading(0).gap, 5);
}

}  // namespace
}  // namespace sievecloth
