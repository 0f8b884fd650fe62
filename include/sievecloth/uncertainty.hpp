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

/// What follows from resolution, scale and repeatability alone: uncertainty of one reading, and so of the largest aperture.
Uncertainty reading_uncertainty(const UncertaintySources& sources, double reading_um);
/// Likewise of the mean of `n` readings with standard deviation `s_um`, if known. Requires n >= 1.
Uncertainty mean_uncertainty(const UncertaintySources& sources, double mean_um, std::optional<double> s_um, std::int64_t n);
/// Likewise of the standard deviation of `n` readings. Requires n >= 2.
Uncertainty deviation_uncertainty(const UncertaintySources& sources, double s_um, std::int64_t n);

/// Returns the one uncertainty of each figure: as the budget states it or as it follows from the other sources, whichever is larger
/// at the coverage of 95 %. That of the largest aperture is taken at `largest_limit`, where it decides. Empty where nothing is
/// known.
FigureUncertainties figure_uncertainties(const UncertaintySources& sources, const DirectionSample& sample, Length largest_limit);

/// Returns the standard deviation without the contributions of repeatability and resolution; for information only, no verdict rests
/// on it. Empty if they account for all of it.
std::optional<double> corrected_deviation_um(const UncertaintySources& sources, double s_um) noexcept;

/// Returns a stated uncertainty [um] at a coverage of 95 %: as stated from 94 to 96 %, otherwise converted to k_coverage.
double expanded_um(const StatedUncertainty& stated);

/// Returns `U` and `r U` as exact lengths, rounded up to the picometre. Empty where an uncertainty is unknown or no more than a
/// lower bound.
Guards make_guards(const FigureUncertainties& uncertainties, double guard_factor);

/// Returns the probability that a quantity measured as `y` with standard uncertainty `u` (normal) lies within the limits; an empty
/// limit does not bound it. Requires u > 0. Source: JCGM 106:2012, 7.2 to 7.4.
double conformity_probability(double y, double u, std::optional<double> lower, std::optional<double> upper);

/// Returns the probability that none of the measured apertures truly lies above `limit_um`. The systematic part of the uncertainty
/// is common to all of them, the random part independent: with many readings near the limit one of them is above it although each
/// probably is not. What a budget states beyond the sources counts as common. Empty without uncertainty or values.
/// A repeatability from few readings is itself uncertain, and the probability a mean over what it may be.
/// Accuracy: 1e-6 absolute; 2e-3 where the repeatability rests on up to 1,000 readings.
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
