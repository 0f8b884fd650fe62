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
  share,    ///< a share of the readings [%]: `observed`, at most `limit`
  length,   ///< `observed_um`, from `lower` to `upper`
};
/// What this criterion compares.
Compared compared_by(CriterionId id) noexcept;

/// What holding a criterion against the sample gave.
enum class Outcome : std::uint8_t { met, not_met, undecided, not_applicable };
/// `met`, `not-met`, `undecided`, `not-applicable`.
std::string_view to_text(Outcome outcome) noexcept;

/// What a decision rule says where it says more than the outcome or the verdict, in order of increasing severity.
enum class Statement : std::uint8_t {
  pass,              ///< four outcomes: within the acceptance limits
  conditional_pass,  ///< four outcomes: within the limits, by less than the guard band
  conditional_fail,  ///< four outcomes: beyond a limit, by no more than the guard band
  fail,              ///< four outcomes: beyond a limit by more than the guard band
  not_accepted,      ///< guarded acceptance: inside the tolerance, within the guard band
};
/// `pass`, `conditional-pass`, `conditional-fail`, `fail` (ILAC-G8:09/2019, 4.2.3), `not-accepted`.
std::string_view to_text(Statement statement) noexcept;

/// In order of increasing severity; the most severe verdict of several pieces prevails.
enum class Verdict : std::uint8_t { conforms, undecided, does_not_conform };
/// `conforms`, `undecided`, `does-not-conform`.
std::string_view to_text(Verdict verdict) noexcept;

/// Why a criterion is undecided or not applicable.
enum class Reason : std::uint8_t {
  no_readings,           ///< nothing was measured
  single_reading,        ///< one reading has no standard deviation
  count_not_reached,     ///< fewer apertures than the grade requires
  all_apertures_needed,  ///< every full aperture must be measured, and the job does not state that it was
  too_few_wires,         ///< fewer wires than required
  rule_not_seen,         ///< the factor K decides, and it is unverified whether the edition retains it
  share_of_few,          ///< so few apertures that a single one decides
  too_coarse,            ///< instrument, or common step of the readings, coarser than required
  viewing_not_recorded,
  left_out,                  ///< excluded by an option
  not_in_edition,            ///< the edition has no such criterion
  not_in_row,                ///< the edition requires it of other sizes only
  count_not_known,           ///< the edition's count is not in the table
  plan_not_fulfilled,        ///< fewer apertures than were planned
  readings_refused,          ///< the instrument delivered invalid readings
  uncertainty_not_known,     ///< the decision rule needs the measurement uncertainty
  instrument_too_uncertain,  ///< 2 U reaches the width of the tolerance
  within_guard_band,         ///< within the guard band: a conditional pass or fail, or not accepted
  suspects_not_measured,     ///< number of recorded suspects differs from that of the named suspects measured
  readings_lost,             ///< readings are or may be missing
  table_implausible,         ///< the owner's table looks mistyped in this row, without an erratum to explain it
  suspect_too_small,         ///< a suspect below w - X cannot have been singled out as large
  too_few_different_wires,   ///< readings along one gap are of one wire, and the gaps are too few
};
/// `no-readings` and so on: the reason's name in JSON.
std::string_view to_text(Reason reason) noexcept;

/// One basis of a criterion's outcome.
struct Ground {
  /// The part of the criterion that rests on it.
  enum class Kind : std::uint8_t { limit, lower_limit, upper_limit, count, agreed_count, rule };
  Kind kind = Kind::limit;     ///< part that rests on it
  std::optional<Basis> basis;  ///< empty: unknown
  /// True if seen in this edition, or computed from what was seen there.
  bool verified() const noexcept { return basis && is_verified(basis->provenance); }
};
/// `limit`, `lower-limit`, `upper-limit`, `count`, `agreed-count`, `rule`.
std::string_view to_text(Ground::Kind kind) noexcept;

/// One requirement in one direction. (id, direction) is unique in an assessment; viewing has no direction.
struct Criterion {
  CriterionId id = CriterionId::viewing;  ///< which requirement
  std::optional<Direction> direction;     ///< empty for viewing
  Outcome outcome = Outcome::undecided;   ///< result of the comparison
  std::optional<Statement> statement;     ///< where the decision rule says more than the outcome
  std::vector<Reason> reasons;            ///< empty where met; where not met, at most `within_guard_band`

  std::optional<bool> finding;  ///< whether the piece passed; empty if not recorded, or if something else is compared

  // For a length: the compared value, as the nearest double [um], and the exact limits, both included.
  std::optional<double> observed_um;  ///< compared value
  std::optional<Length> lower;        ///< smallest conforming value
  std::optional<Length> upper;        ///< largest conforming value
  std::optional<Length> guard;  ///< how far the decision rule moves the limits (of K s, K times); empty under simple acceptance
  std::optional<Length> acceptance_lower;  ///< `lower` moved inwards: the smallest value that is accepted
  std::optional<Length> acceptance_upper;  ///< `upper` moved inwards; of K s, by K times the guard band
  /// Distance to the nearer limit, negative beyond it; the nearest double. Under guarded acceptance, to the acceptance limit.
  std::optional<double> margin_um;

  // For a count or a share [%] of apertures. The limit is empty if every full aperture is required and their number is unknown.
  std::optional<double> observed;  ///< count, or share in percent
  std::optional<double> limit;     ///< minimum count, or maximum share in percent

  std::int64_t n = 0;            ///< readings used
  std::optional<double> factor;  ///< K, if observed is K s
  std::vector<Ground> grounds;   ///< what the outcome rests on
};

/// Returns the distance from the ideal value to the limit [um]: Y, X, the permitted standard deviation, or half the range of the
/// wire. Margins of different criteria are compared as fractions of it. Empty if no length is compared, or there is no limit to
/// compare it with.
std::optional<double> allowance_um(const Criterion& criterion, const Row& row) noexcept;

/// A warning shown before the verdict.
struct Warning {
  /// The mistake that the readings suggest.
  enum class Kind : std::uint8_t {
    fits_other_size,          ///< the apertures fit `row` better
    looks_like_inches,        ///< apertures fit if read as inches instead of millimetres, or vice versa
    looks_like_thousand,      ///< apertures fit if a thousand times larger or smaller
    looks_swapped,            ///< apertures fit the wire, wires the aperture
    no_spread,                ///< ten or more apertures of a direction, all equal
    same_in_both_directions,  ///< ten or more apertures, identical in both directions
    table_implausible,        ///< the owner's table looks mistyped in this row: its verdict is undecided
    unusual_frame,            ///< the frame is below 75 mm or above 500 mm
    positions_not_compared,   ///< rows beyond k_most_positions have positions that may repeat
    budget_is_smaller,        ///< the laboratory's budget states less uncertainty than its instrument has
    too_uncertain,            ///< 2 U of the mean reaches the width of its tolerance
    coarse_step,              ///< apertures read in steps coarser than max(1 um, Y/4), in an edition that requires no resolution
    reading_far_off,          ///< a reading less than a tenth or more than ten times of what it should be: another unit?
    repeated_run,             ///< 32 apertures of a direction that follow each other as they did before
  };
  Kind kind = Kind::fits_other_size;   ///< the mistake suggested
  std::optional<Direction> direction;  ///< whose readings; empty for both
  const Row* row = nullptr;            ///< the size that they fit better; nullptr for the other kinds
  Length step;                         ///< of a coarse step; 0 for the other kinds
  Length reading;                      ///< that is far off; 0 for the other kinds
  std::int64_t line = 0;               ///< where a repeated run ends; 0 for the other kinds
  std::int64_t earlier_line = 0;       ///< where it ended before; 0 for the other kinds
};
/// `fits-other-size` and so on.
std::string_view to_text(Warning::Kind kind) noexcept;

/// The readings and their guard bands. Under any rule other than simple acceptance, what is missing leaves its criterion undecided.
struct Evidence {
  /// For simple acceptance, which needs nothing else.
  Evidence(const Sample& measured = {}) : sample(measured) {}  // NOLINT(google-explicit-constructor)

  Sample sample;                                      ///< the readings
  PerDirection<FigureUncertainties> uncertainty;      ///< as far as known; no verdict rests on it, but on the guard bands
  PerDirection<Guards> guards;                        ///< how far measurement uncertainty moves the limits
  PerDirection<std::optional<std::int64_t>> different_wires;  ///< wires measured, as far as their gaps tell; empty: one a reading
  PerDirection<std::optional<GuardedCounts>> shares;  ///< apertures beyond moved limits, if the edition judges the share
};

/// What is known about the piece and how to judge it; no measured values.
struct Conditions {
  Piece piece;                                    ///< what is known about it besides its readings
  std::optional<Length> resolution;               ///< of the instrument
  std::optional<bool> viewing_passed;             ///< result of the visual examination (both tests); empty: not recorded
  std::optional<std::int64_t> suspects_recorded;  ///< suspects found in the visual examination; empty: not recorded
  std::optional<std::int64_t> agreed_count;       ///< apertures for each direction, agreed where the edition's count is unknown
  bool measured_only = false;                     ///< do without a visual examination, unless one is recorded
  bool apertures_only = false;                    ///< exclude the wires
  bool only_seen = false;                         ///< a provisional verdict becomes undecided
  DecisionRule decision = DecisionRule::simple;   ///< how measurement uncertainty enters
  /// Apertures to be measured in each direction, fixed before the first reading. Until the plan is fulfilled nothing is accepted,
  /// and what no further readings can bring back within its limits is rejected.
  std::optional<PerDirection<std::int64_t>> planned;

  /// Equal in every member.
  bool operator==(const Conditions&) const = default;
};

/// The count that a grade requires in one direction of this piece.
struct RequiredCount {
  std::int64_t count = 0;      ///< k_all if every full aperture is required and their number is unknown
  std::optional<Basis> basis;  ///< where the count comes from; empty if it was agreed
  bool all = false;            ///< every full aperture is required
  bool scaled = false;         ///< scaled by the frame or the area of the cloth
  bool size_assumed = false;   ///< the edition scales, but frame or area is unknown: 200 mm, or the full count, was assumed
};

/// A completed assessment, with everything it rests on.
struct Assessment {
  Specification specification;                    ///< what it was compared with
  Conditions conditions;                          ///< how it was judged
  Sample sample;                                  ///< the readings
  PerDirection<FigureUncertainties> uncertainty;  ///< of each figure, as far as known
  PerDirection<Guards> guards;                    ///< by how much the limits were moved; empty under simple acceptance
  std::optional<RequiredCount> required;          ///< empty where the edition's count is not known
  bool all_measured = false;                      ///< every full aperture in both directions
  std::vector<Criterion> criteria;                ///< in the order of CriterionId, warp before weft
  std::vector<Warning> warnings;                  ///< mistakes that the readings suggest; no verdict rests on them
  Verdict verdict = Verdict::undecided;           ///< of all criteria together
  std::optional<Statement> statement;             ///< where the decision rule says more than the verdict
  bool provisional = false;                       ///< rests on a limit, count or rule that was not verified
  std::vector<std::string> ignored_columns;       ///< of the readings file; filled in by whoever read it
};

/// Returns an empty sample with the thresholds that `assess` needs for this specification; `Sample{}` without a row.
Sample make_sample(const Specification& specification) noexcept;

/// Returns the required count, scaled by the edition's rule; if the edition's count is unknown, the agreed one or none. A frame
/// below 75 mm counts as one of 75 mm: the smallest common one is 3 in. (common practice), the requirement for smaller ones is
/// unknown, and a typing error must not reduce the count.
std::optional<RequiredCount> required_count(const Specification& specification, const Piece& piece,
                                            std::optional<std::int64_t> agreed = std::nullopt);

/// Judges the evidence. Every comparison is exact on integers; limits are included.
/// Errors: null_argument (a specification without its edition or row); wrong_argument (a row that is not in the edition, or a grade
/// that is missing, invalid or not in the edition); sample_mismatch (a sample that was not made by `make_sample` for this size);
/// option_conflict (an agreed count although the edition has its own); option_value (an agreed count below 1; an impossible
/// resolution, plan, guard band or number of suspects; counts beyond moved limits that the readings contradict); piece_contradicted
/// (more readings than apertures in the piece; a number of apertures that the frame or roll cannot hold; an impossible frame or
/// roll).
Result<Assessment> assess(const Specification& specification, const Evidence& evidence, const Conditions& conditions);

}  // namespace sievecloth
