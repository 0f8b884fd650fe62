// Measurement plan: how many apertures and wires to measure, and which.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "sievecloth/assessment.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// Lane across the width of a roll; a mounted sieve has none.
enum class Lane : std::uint8_t { left, centre, right };
/// `left`, `centre`, `right`.
std::string_view to_text(Lane lane) noexcept;

/// One aperture to measure in one direction. x runs across the cloth, parallel to the weft wires; y parallel to the warp wires. The
/// origin of a mounted sieve is its centre, that of a roll the left corner of its beginning. The position is that of the aperture's
/// centre.
struct PlannedReading {
  std::int64_t number = 0;                ///< from 1, in each direction
  Direction direction = Direction::warp;  ///< direction of measurement
  Length x;                               ///< across the cloth
  Length y;                               ///< parallel to the warp wires
  std::optional<Lane> lane;               ///< of a roll
  bool wire = false;                      ///< also measure the wire beside the aperture
};

/// Chance of passing the standard deviation limit for cloth whose true standard deviation is 0.7 times the limit.
struct SpreadOutlook {
  double pass_probability = 0;              ///< at the required count
  std::optional<double> factor;             ///< K at the required count, if the edition uses it
  std::optional<std::int64_t> least_count;  ///< smallest count at which such cloth passes with 90 %; empty beyond 10,000
};
/// Ratio of the true standard deviation to its limit in an outlook.
inline constexpr double k_outlook_ratio = 0.7;
/// Chance of passing that defines the least count.
inline constexpr double k_outlook_probability = 0.9;

/// Maximum number of readings per direction in a plan.
inline constexpr std::int64_t k_most_planned = 100'000;

/// What to measure on one piece, and where.
struct Plan {
  Specification specification;                     ///< what it will be compared with
  Piece piece;                                     ///< what is known about it
  std::optional<Length> clear;                     ///< clear diameter or side of the frame
  std::uint64_t seed = 0;                          ///< as given
  std::optional<RequiredCount> required;           ///< empty where the edition's count is not known
  std::optional<std::int64_t> apertures_in_piece;  ///< full apertures at the nominal pitch; empty without a frame or roll
  std::optional<std::int64_t> apertures;           ///< to measure in each direction; empty if their number is unknown
  std::int64_t wires = 0;                          ///< to measure in each direction; may be more than there are apertures
  bool all = false;                                ///< every full aperture
  Length resolution;                               ///< required resolution of the instrument
  bool resolution_required = false;                ///< by the edition; else it is the requirement of ISO 3310-1
  std::optional<SpreadOutlook> spread;             ///< empty where the spread is not judged
  std::vector<PlannedReading> readings;            ///< warp, then weft; empty without a frame or roll
};

/// Plans the measurement of one piece. Every full aperture has exactly the same chance of being chosen: the apertures are numbered
/// across the direction (on a roll lane by lane, along the length) from a random start and divided into equal sections, and one is
/// drawn from each. The same seed gives the same plan on every platform.
/// `clear`: clear diameter or side; by default the frame's size less 0.5 in.
/// Errors: option_conflict (frame and roll; a clear part wider than the frame); option_value (a piece without a full aperture; more
/// than `k_most_planned` readings in a direction).
Result<Plan> make_plan(const Specification& specification, const Piece& piece, std::optional<Length> clear, std::uint64_t seed);

/// Returns the upper bound (95 %) on the share of apertures above w + X if none of the plan's readings in one direction is: the
/// best that the plan can show. Requires a number of apertures, fewer than all.
double best_share_bound(const Plan& plan);

/// Returns the outlook for cloth with 0.7 times the limit and `count` readings; empty if the row has no limit of the standard
/// deviation. Requires count >= 2.
std::optional<SpreadOutlook> spread_outlook(const Specification& specification, std::int64_t count);

}  // namespace sievecloth
