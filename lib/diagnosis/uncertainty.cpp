#include "sievecloth/uncertainty.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <boost/math/quadrature/gauss_kronrod.hpp>

#include "base/in_double.hpp"

namespace sievecloth {
namespace {

constexpr double k_without_limit = 1e6;  // more degrees of freedom do not change the digits of the coverage factor

using Normal = boost::math::normal_distribution<double, InDouble>;

double squared(double value) { return value * value; }
double um_or_zero(const std::optional<Length>& length) { return length ? length->um() : 0; }

// Uniform within half a step either way.
double resolution_um(const UncertaintySources& sources) { return um_or_zero(sources.resolution) / std::sqrt(12.0); }

double scale_um(const UncertaintySources& sources, double value_um) {
  return std::hypot(sources.scale_factor.value_or(0) * value_um, um_or_zero(sources.scale_offset));
}

double random_um(const UncertaintySources& sources) {
  return std::hypot(um_or_zero(sources.repeatability), resolution_um(sources));
}

/// `known_um`: the part of the random uncertainty that was estimated from a few readings.
Uncertainty combine(const UncertaintySources& sources, double systematic_um, double random_um, double known_um) {
  Uncertainty result{.systematic_um = systematic_um, .random_um = random_um};
  result.combined_um = std::hypot(systematic_um, random_um);
  if (sources.repeatability_readings && known_um > 0) {
    const double freedom = static_cast<double>(*sources.repeatability_readings - 1) * std::pow(result.combined_um / known_um, 4);
    if (freedom < k_without_limit) result.freedom = freedom;
  }
  const double tail = (1 - k_coverage) / 2;
  result.coverage_factor = result.freedom
                               ? quantile(complement(boost::math::students_t_distribution<double, InDouble>(*result.freedom), tail))
                               : quantile(complement(Normal(), tail));
  result.expanded_um = result.coverage_factor * result.combined_um;
  return result;
}

Guard to_guard(const Uncertainty& uncertainty, double guard_factor) {
  const auto up = [](double um) { return Length::from_pm(static_cast<std::int64_t>(std::ceil(um * 1e6))); };
  return {up(guard_factor * uncertainty.expanded_um), up(uncertainty.expanded_um)};
}

double share_below(const Normal& normal, std::optional<double> limit, double otherwise) {
  return limit ? cdf(normal, *limit) : otherwise;
}

}  // namespace

Uncertainty reading_uncertainty(const UncertaintySources& sources, double reading_um) {
  return combine(sources, scale_um(sources, reading_um), random_um(sources), um_or_zero(sources.repeatability));
}

Uncertainty mean_uncertainty(const UncertaintySources& sources, double mean_um, std::optional<double> s_um, std::int64_t n) {
  const double root_n = std::sqrt(static_cast<double>(n));
  const double repeatability = um_or_zero(sources.repeatability) / root_n;
  const double resolution = resolution_um(sources);
  const bool averages_out = s_um && *s_um > um_or_zero(sources.resolution);
  const double scale = scale_um(sources, mean_um);
  return averages_out ? combine(sources, scale, std::hypot(repeatability, resolution / root_n), repeatability)
                      : combine(sources, std::hypot(scale, resolution), repeatability, repeatability);
}

Uncertainty deviation_uncertainty(const UncertaintySources& sources, double s_um, std::int64_t n) {
  // Noise of variance r^2 on apertures of variance v: the variance of s^2 is 4 v r^2 / (n - 1) + 2 r^4 / (n - 1), and u(s) = u(s^2)
  // / 2 s.
  const double noise = squared(random_um(sources));
  const double apertures = std::max(0.0, squared(s_um) - noise);
  const double of_square = std::sqrt((4 * apertures * noise + 2 * squared(noise)) / static_cast<double>(n - 1));
  const double random = s_um > 0 ? std::min(of_square / (2 * s_um), random_um(sources)) : random_um(sources);
  return combine(sources, sources.scale_factor.value_or(0) * s_um, random, random);
}

std::optional<double> corrected_deviation_um(const UncertaintySources& sources, double s_um) noexcept {
  const double rest = squared(s_um) - squared(random_um(sources));
  if (!(rest > 0)) return std::nullopt;
  return std::sqrt(rest);
}

Guards make_guards(const UncertaintySources& sources, double guard_factor, const DirectionSample& sample, Length largest_limit) {
  if (!sources.complete()) return {};
  const auto of_mean = [&](const Summary& summary) -> std::optional<Guard> {
    if (summary.empty()) return std::nullopt;
    return to_guard(mean_uncertainty(sources, *summary.mean_um(), summary.standard_deviation_um(), summary.count()), guard_factor);
  };
  Guards guards{.average = of_mean(sample.aperture), .wire = of_mean(sample.wire)};
  guards.reading = to_guard(reading_uncertainty(sources, largest_limit.um()), guard_factor);
  if (const std::optional<double> s = sample.aperture.standard_deviation_um()) {
    guards.standard_deviation = to_guard(deviation_uncertainty(sources, *s, sample.aperture.count()), guard_factor);
  }
  return guards;
}

double conformity_probability(double y, double u, std::optional<double> lower, std::optional<double> upper) {
  const Normal normal(y, u);
  return std::max(0.0, share_below(normal, upper, 1) - share_below(normal, lower, 0));
}

Risks global_risks(const Prior& prior, double u, double lower, double upper, double guard) {
  const Normal process(prior.mean, prior.standard_deviation);
  const double accept_lower = lower + guard;
  const double accept_upper = std::max(upper - guard, accept_lower);
  const auto both = [&](double value) {
    return pdf(process, value) * conformity_probability(value, u, accept_lower, accept_upper);
  };
  // The integrand varies on the scale of the process or the measurement: no piece is wider than either.
  const auto integrate = [&](double from, double to) {
    const double width = std::min(prior.standard_deviation, u);
    const auto pieces = static_cast<int>(std::clamp(std::ceil((to - from) / width), 1.0, 4096.0));
    double sum = 0;
    for (int i = 0; i < pieces; ++i) {
      const double begin = from + (to - from) * i / pieces;
      const double end = from + (to - from) * (i + 1) / pieces;
      sum += boost::math::quadrature::gauss_kronrod<double, 15>::integrate(both, begin, end, 0);
    }
    return sum;
  };
  constexpr double k_far = 9;  // standard deviations of the process beyond which less than 1e-8 remains
  const double from = prior.mean - k_far * prior.standard_deviation;
  const double to = prior.mean + k_far * prior.standard_deviation;
  const double inside_from = std::clamp(lower, from, to);
  const double inside_to = std::clamp(upper, from, to);
  const double accepted_inside = integrate(inside_from, inside_to);
  const double inside = cdf(process, upper) - cdf(process, lower);
  return {integrate(from, inside_from) + integrate(inside_to, to), std::max(0.0, inside - accepted_inside)};
}

}  // namespace sievecloth
