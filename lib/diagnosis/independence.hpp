// What of a series of readings is taken as independent.
#pragma once

#include <optional>
#include <span>

#include "sievecloth/diagnosis.hpp"

namespace sievecloth {

/// Readings are nested: piece, field, gap, reading. The coarsest grouping that is given decides; finer ones are never pooled
/// because a test finds no difference, which a weak correlation passes unseen.
struct Independence {
  Dependence dependence = Dependence::assumed_independent;
  std::span<const GroupSums> groups;  ///< of the series, which must outlive it; empty if each reading is its own
  std::int64_t units = 0;             ///< groups, or readings
  bool contiguous = false;            ///< the readings are neighbours
  double correlation = 0;             ///< of readings that follow each other, if each is its own
};

/// What is known besides the readings.
struct Surroundings {
  double pitch_um = 0;                  ///< nominal
  bool contiguous = false;              ///< declared
  std::optional<double> gaps_in_piece;  ///< along the series, if the extent of the piece is known
};

/// Correlation of readings in the order of the file above which they are no independent sample.
inline constexpr double k_most_correlation = 0.7;

Independence independence_of(const SeriesObservations& series, const Surroundings& surroundings);

/// True if the gaps follow each other without one missing. Empty gaps are not in order.
bool are_neighbours(const SeriesObservations& series, double pitch_um);

/// Mean of the piece from independent units. The standard error of readings that follow each other alike is wider: by (1 + r) / (1
/// - r) as a variance, where r counts less while it is no greater than chance makes it, which costs 3 % of the width if there is
/// none. That of groups is at least what rounding to the step of the readings, or to the resolution, leaves open. Empty below three
/// readings or two units, or without a spread.
std::optional<MeanEstimate> mean_of(const SeriesObservations& series, const Independence& independence, double resolution_um = 0);

}  // namespace sievecloth
