// Every size that a measured cloth meets, so that off-grade cloth can be sold for what it is.
#pragma once

#include <span>
#include <vector>

#include "sievecloth/assessment.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// One size, edition and grade compared with the readings.
struct Match {
  Assessment assessment;  ///< the judgement
  /// How far the worst missed criterion lies beyond its limit, as a part of its tolerance: 0 where none is missed.
  double excess = 0;
};

/// Rows whose nominal aperture is farther from the mean aperture than this ratio are not looked at.
inline constexpr double k_match_ratio = 1.25;
/// A miss by more than its whole tolerance is no near miss.
inline constexpr double k_farthest_miss = 1;

/// All that is met or left open, and the near misses: conforming, then undecided without a miss, then by growing excess what
/// misses; within each, in the order of the editions, their sizes and grades. Cloth without wires read is judged by its apertures
/// alone; an agreed count holds where the edition's is not known. Empty without an aperture read. Time: one pass over the readings
/// for each candidate. Errors: those of `assess`.
Result<std::vector<Match>> find_matches(std::span<const Reading> readings, std::span<const Edition* const> editions,
                                        Conditions conditions);

/// Whether it is not met, or would not be if the readings so far were all: beyond its limit, and only their number too small.
bool is_missed(const Criterion& criterion) noexcept;

/// Distance of a missed criterion from its limit, as a part of the tolerance; 0 where it is not about a size.
double excess_of(const Criterion& criterion, const Row& row) noexcept;

}  // namespace sievecloth
