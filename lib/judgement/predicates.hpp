// The comparisons that verdicts rest on: integers only, limits included.
#pragma once

#include "sievecloth/summary.hpp"

namespace sievecloth {

/// lower <= mean <= upper, without a division. Requires a reading.
bool mean_within(const Summary& summary, Length lower, Length upper);

/// s <= limit, as n sum(d^2) - sum(d)^2 <= limit^2 n (n - 1). Requires two readings.
bool standard_deviation_within(const Summary& summary, Length limit);

/// True if the mean of `planned` readings, of which `summary` holds the first, can still lie within nominal -+ tolerance with none
/// of the rest above nominal + headroom. Requires summary.count() <= planned.
bool mean_can_come_back(const Summary& summary, Length tolerance, Length headroom, std::int64_t planned);

/// True if s of `planned` readings, of which `summary` holds the first, can still be within `limit`.
/// Requires 1 <= summary.count() <= planned.
bool standard_deviation_can_come_back(const Summary& summary, Length limit, std::int64_t planned);

/// 100 count <= percent n.
constexpr bool share_within(std::int64_t count, std::int64_t n, std::int32_t percent) noexcept {
  return static_cast<int128>(100) * count <= static_cast<int128>(percent) * n;
}

/// A single aperture above the limit already exceeds the share: 100 > percent n.
constexpr bool one_decides(std::int64_t n, std::int32_t percent) noexcept { return !share_within(1, n, percent); }

/// step > max(floor, tolerance / fraction), without a division.
constexpr bool coarser_than(Length step, Length floor, Length tolerance, std::int32_t fraction) noexcept {
  return step > floor && static_cast<int128>(step.pm()) * fraction > tolerance.pm();
}

}  // namespace sievecloth
