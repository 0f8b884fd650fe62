// The inner loops over readings in memory: code that compilers turn into vector instructions, chosen at run time.
#pragma once

#include <cstdint>
#include <span>

#include "sievecloth/length.hpp"

namespace sievecloth {

/// So many readings are summed at a time: few enough for the first level of cache and for the bounds below.
inline constexpr std::size_t k_block_readings = 1024;

/// What a block of whole numbers is compared with; every one of them in the block's own quantum.
struct BlockThresholds {
  std::int32_t base = 0;  ///< deviations are taken from here; 0 or more
  std::int32_t intermediate = 0;
  std::int32_t largest = 0;
};

/// Exact sums over one block.
struct BlockSums {
  std::int64_t sum_of_deviations = 0;
  int128 sum_of_squared_deviations = 0;
  std::int32_t smallest = 0;
  std::int32_t largest = 0;
  std::int32_t count_above_intermediate = 0;
  std::int32_t count_above_largest = 0;
};

/// Sums over 1 to k_block_readings values. Values below 0 make the other sums worthless but `smallest` still shows them, except
/// where base is 0: then they are taken as any other.
BlockSums sum_block(std::span<const std::int32_t> values, const BlockThresholds& thresholds) noexcept;

/// Deviations from `nominal` [pm] of readings. Result: false where one of them has more than 32 bits; `deviations` is worthless
/// then. As many deviations as readings, at most k_block_readings.
bool deviations_of(std::span<const Length> readings, Length nominal, std::span<std::int32_t> deviations) noexcept;

/// Deviations from `nominal` [pm] of readings [um], rounded as round_to_length does. Result: false where one of them is not above
/// 0, is longer than k_longest_reading, deviates by 2^31 pm or more, or lies so near to a tie that its rounding must be looked at
/// singly; `deviations` is worthless then. As many deviations as readings, at most k_block_readings.
bool round_block(std::span<const double> readings_um, Length nominal, std::span<std::int32_t> deviations) noexcept;

/// Whether every value + offset is a multiple of step. 0 <= offset < step < 2^40.
bool are_multiples(std::span<const std::int32_t> values, std::int64_t offset, std::int64_t step) noexcept;

/// Whether some value is neither `a` nor `b`.
bool has_third_value(std::span<const std::int32_t> values, std::int32_t a, std::int32_t b) noexcept;

}  // namespace sievecloth
