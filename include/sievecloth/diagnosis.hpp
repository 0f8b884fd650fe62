// How sure an assessment is, and what the readings say about the loom.
#pragma once

#include <cstdint>
#include <optional>
#include <span>

#include "sievecloth/assessment.hpp"
#include "sievecloth/sampling.hpp"
#include "sievecloth/uncertainty.hpp"
#include "sievecloth/weave.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// Confidence of every interval and bound here.
inline constexpr double k_confidence = 0.95;
/// From this share of the piece measured on, its finite number counts.
inline constexpr double k_finite_share = 0.05;

/// What was put together before intervals were computed.
enum class Dependence : std::uint8_t {
  assumed_independent,  ///< neither positions nor fields were given
  by_gap,               ///< readings of one gap share its two wires
  by_field,
  one_gap,  ///< all readings share one gap: of the rest of the piece they say next to nothing
  one_field,
  not_kept,  ///< those at hand stand in gaps or fields, but not all are at hand: how many there are is not known
};
/// `assumed-independent`, `by-gap`, `by-field`, `one-gap`, `one-field`, `not-kept`.
std::string_view to_text(Dependence dependence) noexcept;

/// Why the tail of a normal distribution is not shown.
enum class NoModel : std::uint8_t { too_few, no_spread, sorted_out, not_normal };
/// `too-few`, `no-spread`, `sorted-out`, `not-normal`.
std::string_view to_text(NoModel reason) noexcept;

/// The apertures of one direction that nobody measured. Lengths [um], shares from 0 to 1. What is not defined is empty.
struct DirectionConfidence {
  std::int64_t n = 0;                                       ///< readings
  Dependence dependence = Dependence::assumed_independent;  ///< what was put together
  std::optional<Clustering> groups;                         ///< where there are gaps or fields
  double effective_n = 0;                                   ///< independent readings that tell as much
  bool finite = false;                                      ///< the finite number of apertures entered
  std::optional<Interval> mean_um;                          ///< of the whole piece, from sampling alone
  std::optional<Interval> standard_deviation_um;            ///< likewise

  std::int64_t above_largest = 0;            ///< of the n, above w + X
  std::optional<double> share_above_bound;   ///< on the whole piece, whatever the distribution
  std::optional<double> expected_number;     ///< on the whole piece, if the rest is like the sample
  std::optional<double> number_above_bound;  ///< on the whole piece
  std::optional<double> model_share_bound;   ///< the same share by the normal model
  std::optional<NoModel> no_model;           ///< why there is none

  /// Readings in all at which the mean's interval would lie on one side of its nearer limit, and not below the required count.
  std::optional<std::int64_t> needed_for_mean;
  /// Readings in all at which K s would be within its limit, if s stays, and not below the required count; empty if it never is.
  std::optional<std::int64_t> needed_for_spread;

  // By measurement: empty unless something is known of the instrument.
  std::optional<Uncertainty> mean_uncertainty;       ///< of the apertures measured
  std::optional<Uncertainty> reading_uncertainty;    ///< of the largest
  std::optional<Uncertainty> deviation_uncertainty;  ///< of s
  std::optional<double> corrected_deviation_um;      ///< s without what the instrument adds to it
  std::optional<double> largest_conformity;          ///< probability that the largest measured aperture is within its limit
  std::optional<double> deviation_conformity;        ///< that the measured apertures' standard deviation is, by measurement alone
  std::optional<double> mean_conformity;             ///< that the piece's mean is, measurement and sampling together
  std::optional<Risks> risks;                        ///< of accepting and rejecting by the mean, where the process is known
};

/// What is known besides the assessment.
struct DiagnosisSettings {
  UncertaintySources uncertainty;  ///< of the instrument
  std::optional<Prior> process;    ///< of the means of pieces [um]
  bool contiguous = false;         ///< readings follow each other on the cloth, gap by gap
  bool suspects_found = false;     ///< viewing singled apertures out, whether or not they stand among the readings
};

/// How sure an assessment is, and the signs of weave faults.
struct Diagnosis {
  std::optional<std::int64_t> apertures_in_piece;  ///< as stated, or counted at the nominal pitch
  bool apertures_stated = false;                   ///< they were stated
  bool readings_complete = false;                  ///< else neither gaps nor fields nor the weave could be looked at
  bool uncertainty_complete = false;               ///< scale, repeatability and resolution are all known
  bool uncertainty_known = false;                  ///< at least in part
  bool contiguous = false;                         ///< the readings are neighbours, no random choice
  PerDirection<DirectionConfidence> confidence;    ///< statistical confidence in each direction
  std::optional<Weave> weave;                      ///< signs of faults; empty where the readings are not complete
};

/// `readings`: all that the assessment's sample was made from; where they are fewer, what needs them is left out and said so, and
/// readings with places or fields count as one.
/// Time: a sort of the readings.
Diagnosis diagnose(const Assessment& assessment, std::span<const Reading> readings, const DiagnosisSettings& settings);

}  // namespace sievecloth
