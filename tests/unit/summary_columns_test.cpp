// Both columns of many rows at once: the same sums as one column after the other.
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <initializer_list>
#include <random>
#include <vector>

#include "measurement/block_sums.hpp"

namespace sievecloth {
namespace {

bool same(const BlockSums& a, const BlockSums& b) {
  return a.sum_of_deviations == b.sum_of_deviations && a.sum_of_squared_deviations == b.sum_of_squared_deviations &&
         a.smallest == b.smallest && a.largest == b.largest && a.count_above_intermediate == b.count_above_intermediate &&
         a.count_above_largest == b.count_above_largest;
}

// One number after the other, as the sums are defined.
BlockSums one_by_one(const std::vector<Numbers>& rows, std::size_t column, const BlockThresholds& limits) {
  BlockSums sums{.smallest = rows[0][column], .largest = rows[0][column]};
  for (const Numbers& row : rows) {
    const std::int32_t value = row[column];
    sums.sum_of_deviations += value;
    sums.sum_of_squared_deviations += static_cast<int128>(value) * value;
    sums.smallest = std::min(sums.smallest, value);
    sums.largest = std::max(sums.largest, value);
    sums.count_above_intermediate += value > limits.intermediate ? 1 : 0;
    sums.count_above_largest += value > limits.largest ? 1 : 0;
  }
  return sums;
}

void expect_same(const std::vector<Numbers>& rows, const std::array<BlockThresholds, 2>& limits) {
  std::vector<Numbers> padded = rows;
  while (padded.size() % k_rows_at_once != 0) padded.push_back({0, 0});
  padded.push_back({-1, -1});  // which is none of them
  const std::array<BlockSums, 2> sums = sum_columns({padded.data(), rows.size()}, limits);
  for (const std::size_t column : {0u, 1u}) EXPECT_TRUE(same(sums[column], one_by_one(rows, column, limits[column]))) << column;
}

TEST(SummaryColumns, AreTheSameAsOneByOne) {
  // property: any numbers, limits and counts up to a block
  std::mt19937_64 random(20261126);
  for (int round = 0; round < 3'000; ++round) {
    const std::uint64_t count = 1 + random() % (round % 3 == 0 ? 9 : k_block_readings);
    const std::array<std::uint64_t, 2> most{1 + random() % k_most_in_column, round % 2 == 0 ? 100 : 1 + random() % k_most_in_column};
    const auto number = [&](std::size_t column) { return static_cast<std::int32_t>(1 + random() % most[column]); };
    std::vector<Numbers> rows(count);
    for (Numbers& row : rows) row = {number(0), number(1)};
    const auto limit = [&](std::size_t column) { return round % 5 == 0 ? rows[0][column] : number(column); };
    expect_same(rows, {{{0, limit(0), limit(0)}, {0, limit(1), limit(1)}}});
    ASSERT_FALSE(HasFailure()) << "round " << round;
  }
}

TEST(SummaryColumns, LimitsOfTheirNumbers) {
  // boundary: a full block of the greatest and of the least numbers, limits on both sides of them, whatever the other column holds
  for (const Numbers numbers : std::initializer_list<Numbers>{
           {k_most_in_column, k_most_in_column}, {k_most_in_column, 1}, {1, k_most_in_column}, {1, 1}}) {
    for (const std::size_t count : {std::size_t{1}, std::size_t{3}, k_block_readings - 1, k_block_readings}) {
      for (const std::int32_t step : {-1, 0, 1}) {
        const BlockThresholds first{0, numbers[0] + step, numbers[0]}, second{0, numbers[1], numbers[1] + step};
        expect_same(std::vector<Numbers>(count, numbers), {first, second});
      }
    }
  }
  expect_same({{5, 7}, {6, 8}}, {{{0, INT32_MIN, INT32_MAX}, {0, INT32_MAX, INT32_MIN}}});
}

}  // namespace
}  // namespace sievecloth
