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

/// How apertures are chosen.
enum class PlanMethod : std::uint8_t {
  fields,     ///< runs of neighbouring gaps, on the centre lines of a mounted sieve, all over a roll
  scattered,  ///< single apertures, all over the piece
};
/// `fields`, `scattered`.
std::string_view to_text(PlanMethod method) noexcept;
/// Version of both methods: the same version, seed and choice give the same plan.
inline constexpr int k_plan_version = 2;

/// What the user of a plan chooses.
struct PlanChoice {
  std::optional<Length> clear;             ///< clear diameter or side of the frame; by default its size less k_frame_allowance
  std::optional<Length> field;             ///< length of the instrument's field of view; by default that of k_usual_field gaps
  PlanMethod method = PlanMethod::fields;  ///< how apertures are chosen
  std::uint64_t seed = 1;                  ///< a different number gives a different random selection

  /// Equal in every member.
  bool operator==(const PlanChoice&) const = default;
};
/// Gaps of a field at most, where the field of view is not known.
inline constexpr std::int64_t k_usual_field = 10;
/// Fields in each direction at least, if there are as many apertures to measure.
inline constexpr std::int64_t k_fewest_fields = 10;

/// One aperture to measure in one direction. x runs across the cloth, parallel to the weft wires; y parallel to the warp wires. The
/// origin of a mounted sieve is its centre, that of a roll the left corner of its beginning. The position is that of the aperture's
/// centre.
struct PlannedReading {
  std::int64_t field = 0;                 ///< from 1, in each direction; readings of one field are neighbours, in their order
  Direction direction = Direction::warp;  ///< direction of measurement
  Length x;                               ///< across the cloth
  Length y;                               ///< parallel to the warp wires
  std::optional<std::int64_t> gap;        ///< number of the gap across the cloth, from 1; empty where nobody could count it
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
  PlanChoice choice;                               ///< as given; `clear` is filled in for a frame
  std::optional<RequiredCount> required;           ///< empty where the edition's count is not known
  std::optional<std::int64_t> apertures_in_piece;  ///< full apertures at the nominal pitch; empty without a frame or roll
  std::optional<std::int64_t> apertures;           ///< to measure in each direction; empty if their number is unknown
  std::int64_t wires = 0;                          ///< to measure in each direction; may be more than there are apertures
  std::int64_t fields = 0;                         ///< runs in each direction; 0 unless apertures are chosen in fields
  bool all = false;                                ///< every full aperture
  Length resolution;                               ///< required resolution of the instrument
  bool resolution_required = false;                ///< by the edition; else it is the requirement of ISO 3310-1
  std::optional<SpreadOutlook> spread;             ///< empty where the spread is not judged
  std::vector<PlannedReading> readings;            ///< warp, then weft; empty without a frame or roll
};

/// Plans the measurement of one piece. The same choice gives the same plan on every platform.
/// Fields: the apertures of a line (of the centre line; of further lines beside it where it has too few) are taken as a circle,
/// which is divided from a random start into as many sections as there are fields; in each lies one run, at a random place. Every
/// aperture of the lines has exactly the same chance of being chosen. On a roll each field has a section of the length and one of
/// the width to itself. A run that reaches over the edge of the cloth goes on at the opposite edge, as a field of its own.
/// Scattered: the apertures are numbered across the direction (on a roll lane by lane, along the length) from a random start and
/// divided into equal sections, and one is drawn from each. Every aperture of the piece has exactly the same chance.
/// Errors: option_conflict (frame and roll; a clear part wider than the frame); option_value (a piece without a full aperture; more
/// than `k_most_planned` readings in a direction).
Result<Plan> make_plan(const Specification& specification, const Piece& piece, const PlanChoice& choice);

/// Returns the upper bound (95 %) on the share of apertures above w + X if none of the plan's readings in one direction is: the
/// best that the plan can show. Neighbours resemble each other, so that a field counts as one reading. Requires a number of
/// apertures, fewer than all.
double best_share_bound(const Plan& plan);

/// Returns the outlook for cloth with 0.7 times the limit and `count` readings; empty if the row has no limit of the standard
/// deviation. Requires count >= 2.
std::optional<SpreadOutlook> spread_outlook(const Specification& specification, std::int64_t count);

}  // namespace sievecloth
