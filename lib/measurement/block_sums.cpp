#include "measurement/block_sums.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include "measurement/vectors.hpp"
#include "sievecloth/summary.hpp"

#ifdef __FAST_MATH__
#error "rounding and exact sums do not survive -ffast-math"
#endif

namespace sievecloth {
namespace {

// Adding and taking it away again rounds a double below 2^51 to a whole number, ties to even.
constexpr double k_rounder = 0x1.8p52;

std::int32_t deviation(std::int32_t value, std::int32_t base) noexcept {
  return static_cast<std::int32_t>(static_cast<std::uint32_t>(value) - static_cast<std::uint32_t>(base));
}

// `squares` is the sum modulo 2^64: the caller knows when that is the sum itself.
struct NarrowSums {
  std::int64_t sum;
  std::uint64_t squares;
  std::int32_t smallest, largest, above_intermediate, above_largest;
};

SIEVECLOTH_PART_OF_LOOP NarrowSums sum_narrow(std::span<const std::int32_t> values, BlockThresholds limits) noexcept {
  std::int64_t sum = 0;
  std::uint64_t squares = 0;
  std::int32_t smallest = values[0], largest = values[0], above_intermediate = 0, above_largest = 0;
  for (const std::int32_t value : values) {
    const std::int64_t d = deviation(value, limits.base);
    sum += d;
    squares += static_cast<std::uint64_t>(d * d);
    smallest = std::min(smallest, value);
    largest = std::max(largest, value);
    above_intermediate += value > limits.intermediate ? 1 : 0;
    above_largest += value > limits.largest ? 1 : 0;
  }
  return {sum, squares, smallest, largest, above_intermediate, above_largest};
}

// Squares of any deviations, in halves of 32 bits: 1024 halves stay below 2^42.
SIEVECLOTH_PART_OF_LOOP int128 sum_wide_squares(std::span<const std::int32_t> values, std::int32_t base) noexcept {
  std::uint64_t lows = 0, highs = 0;
  for (const std::int32_t value : values) {
    const std::int64_t d = deviation(value, base);
    const std::uint64_t square = static_cast<std::uint64_t>(d * d);
    lows += square & 0xFFFF'FFFFu;
    highs += square >> 32;
  }
  return (static_cast<int128>(highs) << 32) + lows;
}

// Each word of 64 bits holds the numbers of a row, the second one in its upper half.
template <class Vectors>
class ColumnSums {
 public:
  SIEVECLOTH_PART_OF_LOOP explicit ColumnSums(const std::array<BlockThresholds, 2>& limits) noexcept {
    for (std::size_t lane = 0; lane < k_lanes; ++lane) {  // all numbers, but not the zeros behind them, are above limits below 1
      intermediate_[lane] = std::max(limits[lane % 2].intermediate, 0);
      largest_allowed_[lane] = std::max(limits[lane % 2].largest, 0);
    }
  }

  SIEVECLOTH_PART_OF_LOOP void add(const Numbers* rows) noexcept {
    const Words both = load_as<Words>(rows), seconds = both >> 32;
    Words squares;
    sum_of_both_ += both;
    sum_of_seconds_ += seconds;
    Vectors::square_lower_halves(both, squares);
    squares_of_firsts_ += squares;
    Vectors::square_lower_halves(seconds, squares);
    squares_of_seconds_ += squares;
    const auto values = reinterpret_cast<Values>(both);
    const auto below = reinterpret_cast<UnsignedValues>(values) - 1u;  // which makes zeros the greatest
    least_below_ = below < least_below_ ? below : least_below_;
    largest_ = values > largest_ ? values : largest_;
    above_intermediate_ -= values > intermediate_;
    above_largest_ -= values > largest_allowed_;
  }

  SIEVECLOTH_PART_OF_LOOP std::array<BlockSums, 2> sums() const noexcept {
    const std::uint64_t seconds = sum_of(sum_of_seconds_), firsts = sum_of(sum_of_both_) - (seconds << 32);
    std::array<BlockSums, 2> sums = {of_column(0), of_column(1)};
    sums[0].sum_of_deviations = static_cast<std::int64_t>(firsts);
    sums[1].sum_of_deviations = static_cast<std::int64_t>(seconds);
    sums[0].sum_of_squared_deviations = sum_of(squares_of_firsts_);
    sums[1].sum_of_squared_deviations = sum_of(squares_of_seconds_);
    return sums;
  }

 private:
  static constexpr std::size_t k_bytes = sizeof(typename Vectors::Bytes);
  static constexpr std::size_t k_lanes = k_bytes / sizeof(std::int32_t);
  using Values = Vector<std::int32_t, k_bytes>;
  using UnsignedValues = Vector<std::uint32_t, k_bytes>;
  using Words = Vector<std::uint64_t, k_bytes>;

  SIEVECLOTH_PART_OF_LOOP static std::uint64_t sum_of(const Words& words) noexcept {
    std::uint64_t sum = 0;
    for (std::size_t i = 0; i < k_lanes / 2; ++i) sum += words[i];
    return sum;
  }
  SIEVECLOTH_PART_OF_LOOP BlockSums of_column(std::size_t column) const noexcept {
    BlockSums sums;
    std::uint32_t least_below = least_below_[column];
    for (std::size_t lane = column; lane < k_lanes; lane += 2) {
      least_below = std::min<std::uint32_t>(least_below, least_below_[lane]);
      sums.largest = std::max<std::int32_t>(sums.largest, largest_[lane]);
      sums.count_above_intermediate += above_intermediate_[lane];
      sums.count_above_largest += above_largest_[lane];
    }
    sums.smallest = static_cast<std::int32_t>(least_below + 1);
    return sums;
  }

  Words sum_of_both_{}, sum_of_seconds_{}, squares_of_firsts_{}, squares_of_seconds_{};
  UnsignedValues least_below_ = ~UnsignedValues{};
  Values largest_{}, above_intermediate_{}, above_largest_{};
  Values intermediate_, largest_allowed_;
};

template <class Vectors>
SIEVECLOTH_PART_OF_LOOP std::array<BlockSums, 2> sum_columns_by(std::span<const Numbers> rows,
                                                                const std::array<BlockThresholds, 2>& limits) noexcept {
  constexpr std::size_t k_step = sizeof(typename Vectors::Bytes) / sizeof(Numbers);
  static_assert(k_rows_at_once % k_step == 0);
  ColumnSums<Vectors> sums(limits);
  for (std::size_t i = 0; i < rows.size(); i += k_step) sums.add(&rows[i]);
  return sums.sums();
}

SIEVECLOTH_WIDE std::array<BlockSums, 2> sum_columns_wide(std::span<const Numbers> rows,
                                                          const std::array<BlockThresholds, 2>& limits) noexcept {
  return sum_columns_by<WideVectors>(rows, limits);
}

// A product that is no tie rounds as the exact product does: its own error is under half a unit in the last place, and what
// separates it from a tie is at least one.
SIEVECLOTH_PART_OF_LOOP bool round_each(const double* readings_um, std::size_t count, double nominal, double least, double most,
                                        std::int32_t* deviations) noexcept {
  std::int32_t bad = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const double product = readings_um[i] * 1e6;
    const double whole = (product + k_rounder) - k_rounder;
    const double d = whole - nominal;
    const bool good = (d >= least) & (d <= most) & (std::fabs(product - whole) < 0.5);
    bad |= good ? 0 : 1;
    deviations[i] = static_cast<std::int32_t>(good ? d : 0.0);
  }
  return bad == 0;
}

// A multiple gives its quotient up to a small error and so the whole quotient; the product of whole numbers is exact below 2^53.
SIEVECLOTH_PART_OF_LOOP bool are_multiples_each(const std::int32_t* values, std::size_t count, double offset,
                                                double step) noexcept {
  const double inverse = 1 / step;
  std::int32_t bad = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const double value = static_cast<double>(values[i]) + offset;
    const double quotient = (value * inverse + k_rounder) - k_rounder;
    bad |= quotient * step != value ? 1 : 0;
  }
  return bad == 0;
}

SIEVECLOTH_PART_OF_LOOP bool has_third_value_each(const std::int32_t* values, std::size_t count, std::int32_t a,
                                                  std::int32_t b) noexcept {
  std::int32_t third = 0;
  for (std::size_t i = 0; i < count; ++i) third |= ((values[i] != a) & (values[i] != b)) ? 1 : 0;
  return third != 0;
}

}  // namespace

BlockSums sum_block(std::span<const std::int32_t> values, const BlockThresholds& thresholds) noexcept {
  const NarrowSums narrow = vectorised<sum_narrow>(values, thresholds);
  BlockSums sums{narrow.sum, narrow.squares, narrow.smallest, narrow.largest, narrow.above_intermediate, narrow.above_largest};
  const std::int64_t from_base =
      std::max(std::int64_t{thresholds.base} - narrow.smallest, std::int64_t{narrow.largest} - thresholds.base);
  constexpr std::int64_t k_narrow = std::int64_t{1} << 27;  // 1024 squares of 2^27 are 2^64: the first that wraps
  if (from_base >= k_narrow) {
    sums.sum_of_squared_deviations = vectorised<sum_wide_squares>(values, thresholds.base);
  }
  return sums;
}

std::array<BlockSums, 2> sum_columns(std::span<const Numbers> rows, const std::array<BlockThresholds, 2>& thresholds) noexcept {
  return has_wide_vectors() ? sum_columns_wide(rows, thresholds) : sum_columns_by<NarrowVectors>(rows, thresholds);
}

bool round_block(std::span<const double> readings_um, Length nominal, std::span<std::int32_t> deviations) noexcept {
  constexpr std::int64_t k_most = INT32_MAX;
  const std::int64_t least = std::max(-k_most, 1 - nominal.pm());
  const std::int64_t most = std::min(k_most, (k_longest_reading - nominal).pm());
  return vectorised<round_each>(readings_um.data(), readings_um.size(), static_cast<double>(nominal.pm()),
                                static_cast<double>(least), static_cast<double>(most), deviations.data());
}

bool are_multiples(std::span<const std::int32_t> values, std::int64_t offset, std::int64_t step) noexcept {
  return vectorised<are_multiples_each>(values.data(), values.size(), static_cast<double>(offset), static_cast<double>(step));
}

bool has_third_value(std::span<const std::int32_t> values, std::int32_t a, std::int32_t b) noexcept {
  return vectorised<has_third_value_each>(values.data(), values.size(), a, b);
}

}  // namespace sievecloth
