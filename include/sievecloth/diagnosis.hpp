// Measurement uncertainty and sampling confidence of an assessment, and signs of weave faults.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>
#include <variant>

#include "sievecloth/assessment.hpp"
#include "sievecloth/observations.hpp"
#include "sievecloth/sampling.hpp"
#include "sievecloth/uncertainty.hpp"
#include "sievecloth/weave.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// Confidence level of every interval and bound in this header.
inline constexpr double k_confidence = 0.95;
/// Share of the piece measured from which its finite number of apertures is taken into account.
inline constexpr double k_finite_share = 0.05;

/// What was taken as independent.
enum class Dependence : std::uint8_t {
  assumed_independent,  ///< readings: neither fields, gaps nor positions were given
  by_gap,               ///< gaps: readings of one share its two wires
  by_field,             ///< fields of view: the coarsest grouping that is given
};
/// `assumed-independent`, `by-gap`, `by-field`.
std::string_view to_text(Dependence dependence) noexcept;

/// Why a figure is withheld: a fact of how the readings were taken. Only `no_spread`, `correlated` and `coarse_step` depend on what
/// was read.
enum class Withheld : std::uint8_t {
  too_few,       ///< fewer than three readings
  no_spread,     ///< all readings are equal
  incomplete,    ///< some readings have a field, a gap or a position, others not
  one_group,     ///< all readings lie in one gap or field
  contiguous,    ///< the readings are neighbours: they speak of the section measured, not of the piece
  correlated,    ///< readings that follow each other are so alike that they are no independent sample
  coarse_step,   ///< the readings move in steps too wide for it
  few_readings,  ///< fewer than k_fewest_for_deviation independent readings
  few_groups,    ///< fewer than k_fewest_groups gaps or fields
};
/// `too-few` and so on.
std::string_view to_text(Withheld reason) noexcept;

/// Independent readings from which a standard deviation has an interval.
inline constexpr std::int64_t k_fewest_for_deviation = 100;
/// Gaps or fields from which it has one.
inline constexpr std::int64_t k_fewest_groups = 10;
/// Probability with which the readings said to be needed decide, if mean and spread stay as they are.
inline constexpr double k_assurance = 0.9;

/// A figure whose probability holds, or the reason why it is withheld, or neither if it does not apply.
template <class T>
class Held {
 public:
  Held() = default;
  /// A figure that is shown.
  Held(T figure) noexcept : content_(figure) {}  // NOLINT(google-explicit-constructor): a figure is one that is held
  /// A figure that is withheld.
  Held(Withheld reason) noexcept : content_(reason) {}  // NOLINT(google-explicit-constructor)

  explicit operator bool() const noexcept { return std::holds_alternative<T>(content_); }  ///< there is a figure
  const T& operator*() const { return std::get<T>(content_); }                             ///< requires a figure
  const T* operator->() const { return &std::get<T>(content_); }                           ///< requires a figure
  /// Why there is none.
  std::optional<Withheld> withheld() const noexcept {
    const Withheld* reason = std::get_if<Withheld>(&content_);
    return reason != nullptr ? std::optional(*reason) : std::nullopt;
  }

 private:
  std::variant<std::monostate, T, Withheld> content_;
};

/// Inference about the unmeasured apertures of one direction. Lengths [um], shares from 0 to 1. Undefined values are empty.
struct DirectionConfidence {
  std::int64_t n = 0;                                       ///< readings
  Dependence dependence = Dependence::assumed_independent;  ///< what was taken as independent
  std::int64_t independent = 0;                             ///< number of readings, gaps or fields that were
  bool contiguous = false;               ///< declared, or shown by positions: a section, not a sample of the piece
  std::optional<double> turn_degrees;    ///< of the wires against the axes, if gaps were found by position
  bool finite = false;                   ///< the finite number of apertures was taken into account
  Held<Interval> mean_um;                ///< of the whole piece, from sampling alone
  Held<Interval> standard_deviation_um;  ///< likewise
  Held<Interval> wire_mean_um;           ///< likewise, of the wires along the line

  std::int64_t above_largest = 0;               ///< readings above w + X, of the n
  std::int64_t may_be_above_largest = 0;        ///< likewise, with those that were rounded to it from above; 0 in groups
  Held<double> share_above_bound;               ///< upper bound for the whole piece, distribution-free
  std::optional<double> expected_number;        ///< expected on the whole piece, if the rest is like the sample
  std::optional<double> number_above_bound;     ///< upper bound on that number
  std::int64_t above_intermediate = 0;          ///< readings above the intermediate limit, of the n
  std::int64_t may_be_above_intermediate = 0;   ///< likewise, with those that were rounded to it from above; 0 in groups
  Held<double> share_above_intermediate_bound;  ///< upper bound for the whole piece; empty without that limit

  /// Total readings, taken alike, at which the confidence interval of the mean lies on one side of its nearer limit with the
  /// probability k_assurance; at least the required count, and n exactly if it already does.
  std::optional<std::int64_t> needed_for_mean;
  /// Total readings at which K s is within its limit with that probability; at least the required count, and n exactly if it
  /// already is. Empty if it never would be, and for readings in groups.
  std::optional<std::int64_t> needed_for_spread;

  // Measurement uncertainty: empty unless something is known about the instrument.
  std::optional<Uncertainty> mean_uncertainty;       ///< of the mean of the measured apertures
  std::optional<Uncertainty> reading_uncertainty;    ///< of one reading near the largest
  std::optional<Uncertainty> deviation_uncertainty;  ///< of s
  std::optional<double> corrected_deviation_um;      ///< s without the contribution of the instrument
  std::optional<double> largest_conformity;          ///< probability that no measured aperture truly lies above its limit
  std::optional<double> deviation_conformity;        ///< that s of the measured ones, corrected, is within its limit
  std::optional<double> mean_conformity;             ///< mean of the piece; measurement and sampling uncertainty together
  std::optional<Risks> risks;                        ///< of accepting and rejecting by the mean, if the process is known
};

/// Inputs besides the assessment.
struct DiagnosisSettings {
  UncertaintySources uncertainty;  ///< of the instrument
  std::optional<Prior> process;    ///< distribution of the means of pieces [um]
  bool contiguous = false;         ///< readings are consecutive on the cloth, gap by gap
};

/// Uncertainty and confidence of an assessment, and signs of weave faults.
struct Diagnosis {
  std::optional<std::int64_t> apertures_in_piece;  ///< as stated, or counted at the nominal pitch
  bool apertures_stated = false;                   ///< they were stated
  bool uncertainty_complete = false;               ///< scale, repeatability and resolution, or the budget's figures, are all known
  bool uncertainty_known = false;                  ///< at least in part
  PerDirection<DirectionConfidence> confidence;    ///< statistical confidence in each direction
  Held<Interval> difference_um;                    ///< mean along the warp less mean along the weft, of the whole piece
  Weave weave;                                     ///< signs of faults
};

/// Returns what `observations` has to be set up with.
ObservationSettings observation_settings(const Specification& specification, bool contiguous);

/// `observations`: of all readings behind the assessment's sample.
/// Time and memory: proportional to the different values, fields and gaps.
Diagnosis diagnose(const Assessment& assessment, const Observations& observations, const DiagnosisSettings& settings);

}  // namespace sievecloth
