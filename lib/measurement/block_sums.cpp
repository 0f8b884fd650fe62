#include "measurement/block_sums.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include "measurement/vectorised.hpp"
#include "sievecloth/summary.hpp"

#ifdef __FAST_MATH__
#error "rounding and exact sums do not survive -ffast-math"
#endif

namespace sievecloth {
namespace {

// Adding and subtracting it rounds a double below 2^51 to a whole number, ties to even.
constexpr double k_rounder = 0x1.8p52;

std::int32_t deviation(std::int32_t value, std::int32_t base) noexcept {
  return static_cast<std::int32_t>(static_cast<std::uint32_t>(value) - static_cast<std::uint32_t>(base));
}

// `squares` is the sum modulo 2^64: the caller knows when that equals the sum.
struct NarrowSums {
  std::int64_t sum;
  std::uint64_t squares;
  std::int32_t smallest, largest, above_intermediate, above_largest;
};

SIEVECLOTH_ALWAYS_INLINE NarrowSums sum_narrow(std::span<const std::int32_t> values, BlockThresholds limits) noexcept {
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

// Squares of any deviations, summed in 32-bit halves: 1024 halves stay below 2^42.
SIEVECLOTH_ALWAYS_INLINE int128 sum_wide_squares(std::span<const std::int32_t> values, std::int32_t base) noexcept {
  std::uint64_t lows = 0, highs = 0;
  for (const std::int32_t value : values) {
    const std::int64_t d = deviation(value, base);
    const std::uint64_t square = static_cast<std::uint64_t>(d * d);
    lows += square & 0xFFFF'FFFFu;
    highs += square >> 32;
  }
  return (static_cast<int128>(highs) << 32) + lows;
}

// A difference that exceeds 32 bits leaves an upper bit set, so that one test covers all of them.
SIEVECLOTH_ALWAYS_INLINE bool subtract_each(const Length* readings, std::size_t count, std::int64_t nominal,
                                            std::int32_t* deviations) noexcept {
  std::uint64_t beyond = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const std::uint64_t d = static_cast<std::uint64_t>(readings[i].pm()) - static_cast<std::uint64_t>(nominal);
    beyond |= (d + 0x8000'0000u) >> 32;
    deviations[i] = static_cast<std::int32_t>(static_cast<std::uint32_t>(d));
  }
  return beyond == 0;
}

// A product that is not a tie rounds as the exact product does: its error is below half a unit in the last place, and its distance
// from a tie is at least one.
SIEVECLOTH_ALWAYS_INLINE bool round_each(const double* readings_um, std::size_t count, double nominal, double least, double most,
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

// For a multiple the quotient is accurate enough to round to the exact one; the product of whole numbers is exact below 2^53.
SIEVECLOTH_ALWAYS_INLINE bool are_multiples_each(const std::int32_t* values, std::size_t count, double offset,
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

SIEVECLOTH_ALWAYS_INLINE bool has_third_value_each(const std::int32_t* values, std::size_t count, std::int32_t a,
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

bool deviations_of(std::span<const Length> readings, Length nominal, std::span<std::int32_t> deviations) noexcept {
  return vectorised<subtract_each>(readings.data(), readings.size(), nominal.pm(), deviations.data());
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
