// Measurement uncertainty and sampling confidence of an assessment, and signs of weave faults.
#pragma once

#include <cstdint>
#include <optional>
#include <span>

#include "sievecloth/assessment.hpp"
#include "sievecloth/sampling.hpp"
#include "sievecloth/uncertainty.hpp"
#include "sievecloth/weave.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// Confidence level of every interval and bound in this header.
inline constexpr double k_confidence = 0.95;
/// Share of the piece measured from which its finite number of apertures is taken into account.
inline constexpr double k_finite_share = 0.05;

/// How readings were grouped before intervals were computed.
enum class Dependence : std::uint8_t {
  assumed_independent,  ///< neither positions nor fields were given
  by_gap,               ///< readings of one gap share its two wires
  by_field,
  one_gap,  ///< all readings lie in one gap and say next to nothing about the rest of the piece
  one_field,
  not_kept,  ///< readings have gaps or fields, but not all were kept: the number of groups is unknown
};
/// `assumed-independent`, `by-gap`, `by-field`, `one-gap`, `one-field`, `not-kept`.
std::string_view to_text(Dependence dependence) noexcept;

/// Why no bound from the normal model is given.
enum class NoModel : std::uint8_t { too_few, no_spread, sorted_out, not_normal };
/// `too-few`, `no-spread`, `sorted-out`, `not-normal`.
std::string_view to_text(NoModel reason) noexcept;

/// Inference about the unmeasured apertures of one direction. Lengths [um], shares from 0 to 1. Undefined values are empty.
struct DirectionConfidence {
  std::int64_t n = 0;                                       ///< readings
  Dependence dependence = Dependence::assumed_independent;  ///< how readings were grouped
  std::optional<Clustering> groups;                         ///< if there are gaps or fields
  double effective_n = 0;                                   ///< equivalent number of independent readings
  bool finite = false;                                      ///< the finite number of apertures was taken into account
  std::optional<Interval> mean_um;                          ///< of the whole piece, from sampling alone
  std::optional<Interval> standard_deviation_um;            ///< likewise

  std::int64_t above_largest = 0;            ///< readings above w + X, of the n
  std::optional<double> share_above_bound;   ///< upper bound for the whole piece, distribution-free
  std::optional<double> expected_number;     ///< expected on the whole piece, if the rest is like the sample
  std::optional<double> number_above_bound;  ///< upper bound on that number
  std::optional<double> model_share_bound;   ///< upper bound on the share from the normal model
  std::optional<NoModel> no_model;           ///< why `model_share_bound` is empty

  /// Total readings at which the confidence interval of the mean would clear its nearer limit; at least the required count.
  std::optional<std::int64_t> needed_for_mean;
  /// Total readings at which K s would be within its limit if s stayed the same; at least the required count. Empty if it never
  /// would.
  std::optional<std::int64_t> needed_for_spread;

  // Measurement uncertainty: empty unless something is known about the instrument.
  std::optional<Uncertainty> mean_uncertainty;       ///< of the mean of the measured apertures
  std::optional<Uncertainty> reading_uncertainty;    ///< of the largest aperture
  std::optional<Uncertainty> deviation_uncertainty;  ///< of s
  std::optional<double> corrected_deviation_um;      ///< s without the contribution of the instrument
  std::optional<double> largest_conformity;          ///< probability that the largest measured aperture is within its limit
  std::optional<double> deviation_conformity;        ///< likewise, s of the measured apertures; measurement uncertainty only
  std::optional<double> mean_conformity;             ///< likewise, mean of the piece; measurement and sampling uncertainty together
  std::optional<Risks> risks;                        ///< of accepting and rejecting by the mean, if the process is known
};

/// Inputs besides the assessment.
struct DiagnosisSettings {
  UncertaintySources uncertainty;  ///< of the instrument
  std::optional<Prior> process;    ///< distribution of the means of pieces [um]
  bool contiguous = false;         ///< readings are consecutive on the cloth, gap by gap
  bool suspects_found = false;     ///< the visual examination found suspects, whether or not they are among the readings
};

/// Uncertainty and confidence of an assessment, and signs of weave faults.
struct Diagnosis {
  std::optional<std::int64_t> apertures_in_piece;  ///< as stated, or counted at the nominal pitch
  bool apertures_stated = false;                   ///< they were stated
  bool readings_complete = false;                  ///< else gaps, fields and weave could not be analysed
  bool uncertainty_complete = false;               ///< scale, repeatability and resolution are all known
  bool uncertainty_known = false;                  ///< at least in part
  bool contiguous = false;                         ///< the readings are neighbours, not a random sample
  PerDirection<DirectionConfidence> confidence;    ///< statistical confidence in each direction
  std::optional<Weave> weave;                      ///< signs of faults; empty if the readings are incomplete
};

/// `readings`: all readings behind the assessment's sample. If some are missing, whatever needs them all is omitted and said to be
/// so, and readings with positions or fields count as one.
/// Time: a sort of the readings.
Diagnosis diagnose(const Assessment& assessment, std::span<const Reading> readings, const DiagnosisSettings& settings);

}  // namespace sievecloth
