// Inner loops over readings in memory, which compilers vectorise; the version is selected at run time.
#pragma once

#include <cstdint>
#include <span>

#include "sievecloth/length.hpp"

namespace sievecloth {

/// Readings per block: few enough for the first-level cache and for the bounds below.
inline constexpr std::size_t k_block_readings = 1024;

/// What a block of whole numbers is compared with, all in the block's own quantum.
struct BlockThresholds {
  std::int32_t base = 0;  ///< reference of the deviations; 0 or more
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

/// Sums over 1 to k_block_readings values. Values below 0 invalidate the other sums but are still found by `smallest`; if base is 0
/// they are summed like any other.
BlockSums sum_block(std::span<const std::int32_t> values, const BlockThresholds& thresholds) noexcept;

/// Computes the deviations of readings from `nominal` [pm]. Returns false if one of them needs more than 32 bits; `deviations` is
/// then unspecified. As many deviations as readings, at most k_block_readings.
bool deviations_of(std::span<const Length> readings, Length nominal, std::span<std::int32_t> deviations) noexcept;

/// Computes the deviations of readings [um] from `nominal` [pm], rounded as by round_to_length. Returns false if a reading is not
/// above 0, is longer than k_longest_reading, deviates by 2^31 pm or more, or is so close to a tie that it must be rounded
/// individually; `deviations` is then unspecified. As many deviations as readings, at most k_block_readings.
bool round_block(std::span<const double> readings_um, Length nominal, std::span<std::int32_t> deviations) noexcept;

/// True if every value + offset is a multiple of step. Requires 0 <= offset < step < 2^40.
bool are_multiples(std::span<const std::int32_t> values, std::int64_t offset, std::int64_t step) noexcept;

/// True if some value is neither `a` nor `b`.
bool has_third_value(std::span<const std::int32_t> values, std::int32_t a, std::int32_t b) noexcept;

}  // namespace sievecloth
