// Uncertainty of measurement (JCGM 100:2008, where nothing else is named): from what is known of the instrument to mean, largest
// aperture and standard deviation, and to the guard bands and risks of a decision.
#pragma once

#include <cstdint>
#include <optional>

#include "sievecloth/decision.hpp"
#include "sievecloth/sample.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// Coverage probability of an expanded uncertainty: k = 2 with many degrees of freedom.
inline constexpr double k_coverage = 0.9545;

/// [um] of one figure, of the apertures measured; what the sample leaves open about the piece is not in it.
struct Uncertainty {
  double systematic_um = 0;       ///< the same in every reading
  double random_um = 0;           ///< of every reading anew
  double combined_um = 0;         ///< standard uncertainty u
  std::optional<double> freedom;  ///< effective degrees of freedom (Welch and Satterthwaite); empty: without limit
  double coverage_factor = 0;     ///< k, of Student's t
  double expanded_um = 0;         ///< U = k u
};

/// Of one reading, and so of the largest aperture.
Uncertainty reading_uncertainty(const UncertaintySources& sources, double reading_um);
/// Of the mean of `n` readings with standard deviation `s_um`, where there is one. n >= 1.
Uncertainty mean_uncertainty(const UncertaintySources& sources, double mean_um, std::optional<double> s_um, std::int64_t n);
/// Of the standard deviation of `n` readings. n >= 2.
Uncertainty deviation_uncertainty(const UncertaintySources& sources, double s_um, std::int64_t n);

/// The standard deviation less what repeatability and resolution add to it, for show alone: no verdict rests on it.
/// Empty where they explain all of it.
std::optional<double> corrected_deviation_um(const UncertaintySources& sources, double s_um) noexcept;

/// `U` and `r U` as exact lengths, rounded up to the picometre. Empty where the sources are not complete or there is no figure.
Guards make_guards(const UncertaintySources& sources, double guard_factor, const DirectionSample& sample, Length largest_limit);

/// Probability that a quantity measured as `y` with standard uncertainty `u` lies within the limits; an empty one does not limit.
/// Normal. u > 0. Source: JCGM 106:2012, 7.2 to 7.4.
double conformity_probability(double y, double u, std::optional<double> lower, std::optional<double> upper);

/// Global risks. Source: JCGM 106:2012, 9.5.
struct Risks {
  double consumer = 0;  ///< a piece is out of tolerance, and accepted
  double producer = 0;  ///< a piece is within tolerance, and rejected
};
/// `u`: standard uncertainty of the measurement, normal. Accepted is what is measured within the limits moved inwards by `guard`.
/// Accuracy: 1e-8 absolute.
Risks global_risks(const Prior& prior, double u, double lower, double upper, double guard);

}  // namespace sievecloth
