// How many apertures and wires to measure, and which, before anything is measured.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "sievecloth/assessment.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// Part of a roll's width; a mounted sieve has none.
enum class Lane : std::uint8_t { left, centre, right };
/// `left`, `centre`, `right`.
std::string_view to_text(Lane lane) noexcept;

/// One aperture to measure in one direction. x runs across the cloth, along the weft wires; y along the warp wires. A mounted sieve
/// has its zero in the middle, a roll at its left beginning. The position is that of the aperture's middle.
struct PlannedReading {
  std::int64_t number = 0;                ///< from 1, in each direction
  Direction direction = Direction::warp;  ///< the line along which to measure
  Length x;                               ///< across the cloth
  Length y;                               ///< along the warp wires
  std::optional<Lane> lane;               ///< of a roll
  bool wire = false;                      ///< measure the wire beside the aperture too
};

/// What the limit of the standard deviation lets through: cloth whose true standard deviation is 0.7 times the limit.
struct SpreadOutlook {
  double pass_probability = 0;              ///< at the required count
  std::optional<double> factor;             ///< K at the required count, where the edition has it
  std::optional<std::int64_t> least_count;  ///< the least count at which such cloth passes with 90 %; empty beyond 10,000
};
/// True standard deviation over its limit, in an outlook.
inline constexpr double k_outlook_ratio = 0.7;
/// Chance to pass that the least count gives.
inline constexpr double k_outlook_probability = 0.9;

/// No plan lists more readings in a direction.
inline constexpr std::int64_t k_most_planned = 100'000;
/// What a clear diameter or side is less than the frame's nominal size where it is not known: 0.5 in. (from memory of ASTM E11).
inline constexpr Length k_frame_allowance = Length::from_pm(12'700'000'000);

/// What to measure on one piece, and where.
struct Plan {
  Specification specification;                     ///< what it will be compared with
  Piece piece;                                     ///< what is known of it
  std::optional<Length> clear;                     ///< clear diameter or side of the frame
  std::uint64_t seed = 0;                          ///< as given
  std::optional<RequiredCount> required;           ///< empty where the edition's count is not known
  std::optional<std::int64_t> apertures_in_piece;  ///< full apertures at the nominal pitch; empty without a frame or roll
  std::optional<std::int64_t> apertures;           ///< to measure in each direction; empty where nothing says how many
  std::int64_t wires = 0;                          ///< to measure in each direction; may be more than there are apertures
  bool all = false;                                ///< every full aperture
  Length resolution;                               ///< what the instrument must resolve
  bool resolution_required = false;                ///< by the edition; else it is what ISO 3310-1 asks
  std::optional<SpreadOutlook> spread;             ///< empty where the spread is not judged
  std::vector<PlannedReading> readings;            ///< warp, then weft; empty without a frame or roll
};

/// Plans the measuring of one piece. Every full aperture has the same chance of being chosen, exactly: the apertures are counted
/// through in order across the direction (on a roll lane by lane, along the length), from a random start on, and one is drawn from
/// each of as many equal sections. The same seed gives the same plan everywhere.
/// `clear`: clear diameter or side; by default the frame's size less 0.5 in.
/// Errors: option_conflict (frame and roll; a clear part wider than the frame); option_value (a piece without a full aperture; more
/// than `k_most_planned` readings in a direction).
Result<Plan> make_plan(const Specification& specification, const Piece& piece, std::optional<Length> clear, std::uint64_t seed);

/// Chance that cloth with 0.7 times the limit passes `count` readings; empty where the row has no such limit. `count` >= 2.
std::optional<SpreadOutlook> spread_outlook(const Specification& specification, std::int64_t count);

}  // namespace sievecloth
