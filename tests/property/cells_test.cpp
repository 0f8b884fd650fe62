// property: the statistics beside the verdict on simulated pieces, with fixed seeds; docs/statistics.md has the same cells with
// more pieces. A share of k pieces is compared with its limit and three standard errors.
#include <cmath>
#include <ostream>

#include <gtest/gtest.h>

#include "support/cell_list.hpp"

namespace sievecloth::test {

void PrintTo(const Cell& cell, std::ostream* out) { *out << cell.name; }

namespace {

constexpr int k_pieces = 400;

double error_of(double share, int count) { return 3 * std::sqrt(share * (1 - share) / count); }

// At least `share` of `shown`, if any were.
void expect_at_least(double share, int held, int shown, const char* what) {
  if (shown == 0) return;
  EXPECT_GE(static_cast<double>(held) / shown, share - error_of(share, shown)) << what;
}

// Every third cell of good cloth.
std::vector<Cell> good_cells() {
  std::vector<Cell> good;
  int number = 0;
  for (const Cell& cell : all_cells()) {
    if (!cell.fault && !cell.surface && cell.weft_spread == 1 && number++ % 3 == 0) good.push_back(cell);
  }
  return good;
}

class GoodPieces : public testing::TestWithParam<Cell> {};

TEST_P(GoodPieces, AreCovered) {
  // property: intervals and bounds of 95 % hold at least 93.5 % of the time, that of s 90 % if not normal; normal cloth is flagged
  // at most 5 % of the time
  const Cell& cell = GetParam();
  const Counts counts = simulate(cell, k_pieces);
  const bool is_normal = cell.shape == Shape::normal;
  expect_at_least(0.935, counts.mean_held, counts.mean_shown, "mean");
  expect_at_least(is_normal ? 0.935 : 0.9, counts.deviation_held, counts.deviation_shown, "s");
  expect_at_least(0.935, counts.share_held, counts.share_shown, "share");
  expect_at_least(0.935, counts.difference_held, counts.difference_shown, "warp less weft");
  if (is_normal) {
    EXPECT_LE(static_cast<double>(counts.alarms) / k_pieces, 0.05 + error_of(0.05, k_pieces));
  }
}

INSTANTIATE_TEST_SUITE_P(Cells, GoodPieces, testing::ValuesIn(good_cells()));

TEST(IndependentPieces, AreNotPunished) {
  // property: on 110 independent normal readings the interval of the mean is at most 3 % wider than Student's with the true spread,
  // that of s at most 15 % wider than the one by chi-square; both are shown in 98 % and more
  const Counts counts = simulate({.name = "n = 110"}, 2000);
  const double n = 110, spread = 3.5;
  const double student = 2 * 1.981967 * spread / std::sqrt(n);                                 // t(0.975, 109), R 4.2
  const double chi_square = spread * (std::sqrt(109 / 81.99968) - std::sqrt(109 / 139.7839));  // 0.025 and 0.975, R 4.2
  EXPECT_LE(counts.mean_width / counts.mean_shown, 1.03 * student);
  EXPECT_LE(counts.deviation_width / counts.deviation_shown, 1.15 * chi_square);
  EXPECT_GE(counts.mean_shown, 0.98 * counts.sides);
  EXPECT_GE(counts.deviation_shown, 0.98 * counts.sides);
}

}  // namespace
}  // namespace sievecloth::test
