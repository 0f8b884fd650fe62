// Measurement uncertainty (JCGM 100:2008 unless stated otherwise) of mean, largest aperture and standard deviation, and the guard
// bands and risks that follow from it.
#pragma once

#include <cstdint>
#include <optional>
#include <span>

#include "sievecloth/decision.hpp"
#include "sievecloth/observations.hpp"
#include "sievecloth/sample.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// Coverage probability of an expanded uncertainty: k = 2 with many degrees of freedom.
inline constexpr double k_coverage = 0.9545;

/// Measurement uncertainty [um] of one figure of the measured apertures; sampling uncertainty is not included.
struct Uncertainty {
  double systematic_um = 0;       ///< the same in every reading
  double random_um = 0;           ///< independent in every reading
  double combined_um = 0;         ///< standard uncertainty u
  std::optional<double> freedom;  ///< effective degrees of freedom (Welch-Satterthwaite); empty: unlimited
  double coverage_factor = 0;     ///< k, from Student's t
  double expanded_um = 0;         ///< U = k u
};

/// Uncertainty of one reading, and so of the largest aperture.
Uncertainty reading_uncertainty(const UncertaintySources& sources, double reading_um);
/// Uncertainty of the mean of `n` readings with standard deviation `s_um`, if known. Requires n >= 1.
Uncertainty mean_uncertainty(const UncertaintySources& sources, double mean_um, std::optional<double> s_um, std::int64_t n);
/// Uncertainty of the standard deviation of `n` readings. Requires n >= 2.
Uncertainty deviation_uncertainty(const UncertaintySources& sources, double s_um, std::int64_t n);

/// Returns the standard deviation without the contributions of repeatability and resolution; for information only, no verdict rests
/// on it. Empty if they account for all of it.
std::optional<double> corrected_deviation_um(const UncertaintySources& sources, double s_um) noexcept;

/// Returns `U` and `r U` as exact lengths, rounded up to the picometre. Empty if the sources are incomplete or a figure is
/// undefined.
Guards make_guards(const UncertaintySources& sources, double guard_factor, const DirectionSample& sample, Length largest_limit);

/// Returns the probability that a quantity measured as `y` with standard uncertainty `u` (normal) lies within the limits; an empty
/// limit does not bound it. Requires u > 0. Source: JCGM 106:2012, 7.2 to 7.4.
double conformity_probability(double y, double u, std::optional<double> lower, std::optional<double> upper);

/// Returns the probability that none of the measured apertures truly lies above `limit_um`. The systematic part of the uncertainty
/// is common to all of them, the random part independent: with many readings near the limit one of them is above it although each
/// probably is not. Empty without uncertainty or values.
/// Accuracy: 1e-6 absolute.
std::optional<double> largest_conformity(const UncertaintySources& sources, std::span<const Counted> values, double limit_um);

/// Returns the probability that the standard deviation of the measured apertures, without what the instrument added to it, is at
/// most `limit_um` (normal, on the scale of the variance). Requires n >= 2. Empty without uncertainty.
std::optional<double> deviation_conformity(const UncertaintySources& sources, double s_um, std::int64_t n, double limit_um);

/// Global risks, and the shares of pieces by outcome. Source: JCGM 106:2012, 9.5.
struct Risks {
  double consumer = 0;          ///< share of pieces that are out of tolerance and pass
  double producer = 0;          ///< share of pieces that are within tolerance and fail
  double pass = 0;              ///< share of all pieces; the four add up to 1
  double conditional_pass = 0;  ///< 0 except under four outcomes
  double conditional_fail = 0;  ///< 0 except under four outcomes
  double fail = 0;              ///< share of all pieces
};
/// `u`: standard uncertainty of what is measured of a piece (normal). A piece passes if measured within the limits tightened by
/// `guard`. It fails otherwise; under four outcomes only if measured beyond the limits widened by `guard`.
/// Accuracy: 1e-8 absolute.
Risks global_risks(const Prior& prior, double u, double lower, double upper, double guard, DecisionRule rule);

}  // namespace sievecloth
