// Every size that a measured cloth meets, so that off-grade cloth can be sold for what it is.
#pragma once

#include <span>
#include <vector>

#include "sievecloth/assessment.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// One size, edition and grade compared with the readings.
struct Match {
  Assessment assessment;  ///< the assessment
  /// How far the worst missed criterion lies beyond its limit, as a fraction of its tolerance; 0 if none is missed.
  double excess = 0;
};

/// Rows whose nominal aperture differs from the mean aperture by more than this ratio are skipped.
inline constexpr double k_match_ratio = 1.25;
/// Largest excess of a near miss: its whole tolerance.
inline constexpr double k_farthest_miss = 1;

/// Returns what is met or left open, and the near misses: conforming, then undecided without a miss, then misses by growing excess;
/// within each, in the order of the editions, their sizes and grades. Cloth without wire readings is judged by its apertures alone;
/// an agreed count applies where the edition's is unknown. Empty without an aperture reading.
/// Time: one pass over the readings for each candidate. Errors: those of `assess`.
Result<std::vector<Match>> find_matches(std::span<const Reading> readings, std::span<const Edition* const> editions,
                                        Conditions conditions);

/// True if it is not met, or is beyond its limit and undecided only for lack of readings.
bool is_missed(const Criterion& criterion) noexcept;

/// Distance of a missed criterion from its limit, as a fraction of the tolerance; 0 if it compares neither a length nor a share.
double excess_of(const Criterion& criterion, const Row& row) noexcept;

}  // namespace sievecloth
