// A sample compared with a specification: every criterion, and the verdict.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sievecloth/decision.hpp"
#include "sievecloth/sample.hpp"
#include "sievecloth/specification.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// The requirements that a standard makes, in the order in which they are judged.
enum class CriterionId : std::uint8_t {
  viewing,
  sample_size,
  average_aperture,
  maximum_aperture,
  aperture_standard_deviation,
  share_above_intermediate,
  wire_diameter,
};

/// `average-aperture` and so on.
std::string_view to_text(CriterionId id) noexcept;

/// What a criterion compares, and so which members of `Criterion` hold its figures.
enum class Compared : std::uint8_t {
  finding,  ///< passed or failed: `finding`
  count,    ///< a number of readings: `observed`, at least `limit`
  share,    ///< a part of the readings [%]: `observed`, at most `limit`
  length,   ///< `observed_um`, from `lower` to `upper`
};
/// What this criterion compares.
Compared compared_by(CriterionId id) noexcept;

/// What holding a criterion against the sample gave.
enum class Outcome : std::uint8_t { met, not_met, undecided, not_applicable };
/// `met`, `not-met`, `undecided`, `not-applicable`.
std::string_view to_text(Outcome outcome) noexcept;

/// In the order in which the verdicts of several pieces outweigh each other.
enum class Verdict : std::uint8_t { conforms, undecided, does_not_conform };
/// `conforms`, `undecided`, `does-not-conform`.
std::string_view to_text(Verdict verdict) noexcept;

/// Why a criterion is undecided or not applicable.
enum class Reason : std::uint8_t {
  no_readings,           ///< nothing was measured
  single_reading,        ///< one reading has no standard deviation
  count_not_reached,     ///< fewer apertures than the grade asks
  all_apertures_needed,  ///< every full aperture must be measured, and the job does not say that it was
  too_few_wires,         ///< fewer wires than required
  rule_not_seen,         ///< the factor K decides, and whether the edition keeps it was not seen
  share_of_few,          ///< so few apertures that one of them decides
  too_coarse,            ///< instrument, or common step of the readings, coarser than required
  viewing_not_recorded,
  left_out,                  ///< by option
  not_in_edition,            ///< the edition has no such criterion
  not_in_row,                ///< the edition asks it of other sizes only
  count_not_known,           ///< the edition's count is not in the table
  plan_not_fulfilled,        ///< fewer apertures than were planned
  readings_refused,          ///< the instrument delivered invalid readings
  uncertainty_not_known,     ///< the decision rule needs the uncertainty of measurement
  instrument_too_uncertain,  ///< 2 U reaches the width of the tolerance
  within_guard_band,         ///< nearer to the limit than the guard band: a conditional pass or fail
  suspects_not_measured,     ///< the record of the viewing tests has another number of suspects than named ones were measured
  readings_lost,             ///< readings are missing, or nobody can say that none is
  table_implausible,         ///< the owner's table looks mistyped in this row, and does not explain it
  suspect_too_small,         ///< a suspect below w - X cannot have been singled out as large
};
/// `no-readings` and so on: the reason's name in JSON.
std::string_view to_text(Reason reason) noexcept;

/// One thing that a criterion's outcome rests on.
struct Ground {
  /// What of the criterion rests on it.
  enum class Kind : std::uint8_t { limit, lower_limit, upper_limit, count, agreed_count, rule };
  Kind kind = Kind::limit;     ///< what rests on it
  std::optional<Basis> basis;  ///< empty: not known at all
  /// Seen in this edition, or computed from what was seen there.
  bool verified() const noexcept { return basis && is_verified(basis->provenance); }
};
/// `limit`, `lower-limit`, `upper-limit`, `count`, `agreed-count`, `rule`.
std::string_view to_text(Ground::Kind kind) noexcept;

/// One requirement in one direction. (id, direction) is unique in an assessment; viewing has no direction.
struct Criterion {
  CriterionId id = CriterionId::viewing;  ///< which requirement
  std::optional<Direction> direction;     ///< empty for viewing
  Outcome outcome = Outcome::undecided;   ///< what the comparison gave
  std::vector<Reason> reasons;            ///< empty where met or not met

  std::optional<bool> finding;  ///< whether the piece passed; empty where that is not recorded, or something else is compared

  // About a length: what was compared, as the nearest double [um], and the exact limits, both included.
  std::optional<double> observed_um;  ///< what was compared
  std::optional<Length> lower;        ///< smallest that is met
  std::optional<Length> upper;        ///< largest that is met
  std::optional<Length> guard;        ///< how far the decision rule moves the limits; empty under simple acceptance
  std::optional<double> margin_um;    ///< distance to the nearer limit, negative beyond it; the nearest double

  // About a count or a share [%] of apertures. The limit is empty where every full aperture is required and their number is not
  // known.
  std::optional<double> observed;  ///< count, or share in percent
  std::optional<double> limit;     ///< least count, or greatest share in percent

  std::int64_t n = 0;            ///< readings it rests on
  std::optional<double> factor;  ///< K, where observed is K s
  std::vector<Ground> grounds;   ///< what the outcome rests on
};

/// How far the best value lies from the limit [um]: Y, X, the permitted standard deviation, half the range of the wire. Margins of
/// different criteria are compared as parts of this. None where no length is compared, or none was compared with a limit.
std::optional<double> allowance_um(const Criterion& criterion, const Row& row) noexcept;

/// A plain warning before the verdict.
struct Warning {
  /// What kind of mistake the readings look like.
  enum class Kind : std::uint8_t {
    fits_other_size,          ///< the apertures fit `row` better
    looks_like_inches,        ///< apertures fit when read as inches instead of millimetres, or the other way round
    looks_like_thousand,      ///< apertures fit when a thousand times larger or smaller
    looks_swapped,            ///< apertures fit the wire, wires the aperture
    no_spread,                ///< ten apertures or more of a direction, all the same
    same_in_both_directions,  ///< ten apertures or more, along warp the same as along weft
    table_implausible,        ///< the owner's table looks mistyped in this row: its verdict is undecided
    unusual_frame,            ///< the frame is below 75 mm or above 500 mm
    coarse_step,  ///< apertures read in steps coarser than max(1 um, Y/4), in an edition that does not ask for a resolution
  };
  Kind kind = Kind::fits_other_size;   ///< what the readings look like
  std::optional<Direction> direction;  ///< whose readings; empty for both
  const Row* row = nullptr;            ///< the size that they fit better; nullptr for the other kinds
  Length step;                         ///< of a coarse step; 0 for the other kinds
};
/// `fits-other-size` and so on.
std::string_view to_text(Warning::Kind kind) noexcept;

/// What was measured, and what it is worth. What is missing under another rule than simple acceptance leaves its criterion
/// undecided.
struct Evidence {
  /// Of simple acceptance, which needs nothing else.
  Evidence(const Sample& measured = {}) : sample(measured) {}  // NOLINT(google-explicit-constructor)

  Sample sample;                                      ///< the readings
  PerDirection<Guards> guards;                        ///< how far the uncertainty of measurement moves the limits
  PerDirection<std::optional<GuardedCounts>> shares;  ///< apertures beyond moved limits, where the edition judges the share
};

/// What is known of the piece and how it is to be judged; nothing that was measured.
struct Conditions {
  Piece piece;                                    ///< what is known of it besides its readings
  std::optional<Length> resolution;               ///< of the instrument
  std::optional<bool> viewing_passed;             ///< of both viewing tests; empty: not recorded
  std::optional<std::int64_t> suspects_recorded;  ///< apertures that the viewing tests singled out; empty: not recorded
  std::optional<std::int64_t> agreed_count;       ///< apertures for each direction, agreed where the edition's count is not known
  bool measured_only = false;                     ///< leave viewing out
  bool apertures_only = false;                    ///< leave the wires out
  bool only_seen = false;                         ///< a provisional verdict becomes undecided
  DecisionRule decision = DecisionRule::simple;   ///< how the uncertainty of measurement enters
  /// Apertures to be measured in each direction, fixed before the first reading. Until then nothing is accepted, and what no
  /// further readings can bring back is rejected.
  std::optional<PerDirection<std::int64_t>> planned;

  /// Equal in every member.
  bool operator==(const Conditions&) const = default;
};

/// The count that a grade asks of one direction of this piece.
struct RequiredCount {
  std::int64_t count = 0;      ///< k_all where every full aperture is required and their number is not known
  std::optional<Basis> basis;  ///< where the count comes from; empty where it was agreed
  bool all = false;            ///< every full aperture is required
  bool scaled = false;         ///< with the frame or the area of the cloth
  bool size_assumed = false;   ///< the edition scales, but frame or area is not known: 200 mm, or the full count, was taken
};

/// A finished judgement, with everything that it rests on.
struct Assessment {
  Specification specification;               ///< what it was compared with
  Conditions conditions;                     ///< how it was judged
  Sample sample;                             ///< the readings
  PerDirection<Guards> guards;               ///< what the limits were moved by; empty under simple acceptance
  std::optional<RequiredCount> required;     ///< empty where the edition's count is not known
  bool all_measured = false;                 ///< every full aperture in both directions
  std::vector<Criterion> criteria;           ///< in the order of CriterionId, warp before weft
  std::vector<Warning> warnings;             ///< what the readings look like; no verdict rests on them
  Verdict verdict = Verdict::undecided;      ///< of all criteria together
  bool provisional = false;                  ///< rests on a limit, count or rule that was not verified
  std::vector<std::string> ignored_columns;  ///< of the readings' file; whoever read it fills them in
};

/// An empty sample with the thresholds that `assess` needs for this specification; `Sample{}` without its row.
Sample make_sample(const Specification& specification) noexcept;

/// The required count, scaled by the edition's rule, for a frame below 75 mm as for one of 75 mm (the smallest common one is of
/// 3 in.; common practice: what a smaller one asks is not known, and a slip must not lessen the count); where the edition's count
/// is not known the one agreed, or none.
std::optional<RequiredCount> required_count(const Specification& specification, const Piece& piece,
                                            std::optional<std::int64_t> agreed = std::nullopt);

/// Judges. Every comparison is exact on integers; limits are included.
/// Errors: null_argument (a specification without its edition or row); wrong_argument (a row that the edition does not have, or a
/// grade that it lacks or does not know); sample_mismatch (a sample that was not made by `make_sample` for this size);
/// option_conflict (an agreed count, where the edition has its own); option_value (an agreed count below 1; a resolution, plan,
/// guard band or record of suspects that cannot be; counts beyond moved limits that the readings contradict); piece_contradicted
/// (more readings than apertures in the piece; a number of apertures that the frame or roll cannot hold; a frame or roll that is
/// none).
Result<Assessment> assess(const Specification& specification, const Evidence& evidence, const Conditions& conditions);

}  // namespace sievecloth
