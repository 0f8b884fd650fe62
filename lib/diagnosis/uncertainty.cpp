#include "sievecloth/uncertainty.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <boost/math/quadrature/gauss_kronrod.hpp>

#include "base/in_double.hpp"
#include "sievecloth/sampling.hpp"

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

// The coverage factor of k_coverage.
double coverage_factor(const std::optional<double>& freedom) {
  const double tail = (1 - k_coverage) / 2;
  return freedom ? quantile(complement(boost::math::students_t_distribution<double, InDouble>(*freedom), tail))
                 : quantile(complement(Normal(), tail));
}

/// `known_um`: the part of the random uncertainty that was estimated from a few readings.
Uncertainty combine(const UncertaintySources& sources, double systematic_um, double random_um, double known_um) {
  Uncertainty result{.systematic_um = systematic_um, .random_um = random_um, .complete = sources.complete()};
  result.combined_um = std::hypot(systematic_um, random_um);
  if (sources.repeatability_readings && known_um > 0) {
    const double freedom = static_cast<double>(*sources.repeatability_readings - 1) * std::pow(result.combined_um / known_um, 4);
    if (freedom < k_without_limit) result.freedom = freedom;
  }
  result.coverage_factor = coverage_factor(result.freedom);
  result.expanded_um = result.coverage_factor * result.combined_um;
  return result;
}

// The coverage probability of a factor, where none is stated.
double coverage_of(const StatedUncertainty& stated) {
  if (stated.coverage_probability) return *stated.coverage_probability;
  const double k = stated.coverage_factor;
  if (!stated.freedom) return 1 - 2 * cdf(complement(Normal(), k));
  return 1 - 2 * cdf(complement(boost::math::students_t_distribution<double, InDouble>(*stated.freedom), k));
}

// Coverage of 95 % as papers state it, from 94 to 96 %, stays as it is; any other is converted.
Uncertainty from_budget(const StatedUncertainty& stated, double random_um) {
  Uncertainty result{.combined_um = stated.expanded.um() / stated.coverage_factor,
                     .freedom = stated.freedom,
                     .coverage_factor = stated.coverage_factor,
                     .coverage_probability = coverage_of(stated),
                     .expanded_um = stated.expanded.um(),
                     .from_budget = true};
  if (std::abs(result.coverage_probability - 0.95) > 0.01) {
    result.coverage_factor = coverage_factor(stated.freedom);
    result.coverage_probability = k_coverage;
    result.expanded_um = result.coverage_factor * result.combined_um;
  }
  result.random_um = std::min(random_um, result.combined_um);
  result.systematic_um = std::sqrt(squared(result.combined_um) - squared(result.random_um));
  return result;
}

// The larger of the two.
std::optional<Uncertainty> one_of(const std::optional<Uncertainty>& computed, const std::optional<StatedUncertainty>& stated) {
  if (!stated) return computed;
  const Uncertainty budget = from_budget(*stated, computed ? computed->random_um : 0);
  if (!computed || budget.expanded_um >= computed->expanded_um) return budget;
  Uncertainty larger = *computed;
  larger.budget_is_smaller = true;
  return larger;
}

// Variance [um2] that the budget states beyond what follows from the other sources.
double excess(const std::optional<StatedUncertainty>& stated, const Uncertainty& computed) {
  const std::optional<Uncertainty> one = one_of(computed, stated);
  return std::max(0.0, squared(one->combined_um) - squared(computed.combined_um));
}

std::optional<Guard> to_guard(const std::optional<Uncertainty>& uncertainty, double guard_factor) {
  if (!uncertainty || !uncertainty->complete) return std::nullopt;
  constexpr double k_noise_pm = 1e-3;  // of the multiplication: 1.5 times 0.14 um is 0.21 um
  const auto up = [](double um) { return Length::from_pm(static_cast<std::int64_t>(std::ceil(um * 1e6 - k_noise_pm))); };
  return Guard{up(guard_factor * uncertainty->expanded_um), up(uncertainty->expanded_um)};
}

/// Errors of the readings that are independent of each other.
struct IndependentErrors {
  std::span<const Counted> values;
  double limit_um;
  std::int64_t n;

  // Probability that none is above the limit, if all readings are `shift` too small.
  double none_above_shifted(double spread, double shift) const {
    constexpr double k_negligible = 1e-12;
    const Normal standard;
    double logarithm = 0;
    double left = static_cast<double>(n);
    for (std::size_t i = values.size(); i-- > 0;) {
      const double above = cdf(complement(standard, (limit_um - values[i].value_um - shift) / spread));
      if (left * above < k_negligible) break;
      logarithm += static_cast<double>(values[i].count) * std::log1p(-std::min(above, 1 - 1e-16));
      left -= static_cast<double>(values[i].count);
    }
    return std::exp(logarithm);
  }

  // The same over all errors that are common to the readings.
  double none_above(double spread, double common) const {
    if (!(common > 0)) return none_above_shifted(spread, 0);
    const auto weighted = [&](double z) { return pdf(Normal(), z) * none_above_shifted(spread, z * common); };
    constexpr double k_far = 8;
    constexpr unsigned k_depth = 12;
    return boost::math::quadrature::gauss_kronrod<double, 15>::integrate(weighted, -k_far, k_far, k_depth, 1e-7);
  }
};

// What repeated readings say of their own spread is itself uncertain: the mean over the chi-square distribution of its estimate, at
// the middles of equally likely parts. With so many repeated readings that it makes no difference, the estimate itself.
template <class Probability>
double mean_over_spread(const UncertaintySources& sources, double spread, Probability probability) {
  constexpr std::int64_t k_many = 1000;
  constexpr int k_parts = 128;
  if (!sources.repeatability_readings || *sources.repeatability_readings > k_many) return probability(spread);
  const auto freedom = static_cast<double>(*sources.repeatability_readings - 1);
  const boost::math::chi_squared_distribution<double, InDouble> chi_squared(freedom);
  const double repeatability = squared(um_or_zero(sources.repeatability)), rest = squared(spread) - repeatability;
  double sum = 0;
  for (int i = 0; i < k_parts; ++i) {
    const double factor = freedom / quantile(chi_squared, (i + 0.5) / k_parts);
    sum += probability(std::sqrt(std::max(0.0, rest) + repeatability * factor));
  }
  return sum / k_parts;
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

double expanded_um(const StatedUncertainty& stated) { return from_budget(stated, 0).expanded_um; }

FigureUncertainties figure_uncertainties(const UncertaintySources& sources, const DirectionSample& sample, Length largest_limit) {
  const bool known = sources.any();
  const auto of_mean = [&](const Summary& summary, const std::optional<StatedUncertainty>& stated) -> std::optional<Uncertainty> {
    if (summary.empty()) return std::nullopt;
    if (!known) return one_of(std::nullopt, stated);
    return one_of(mean_uncertainty(sources, *summary.mean_um(), summary.standard_deviation_um(), summary.count()), stated);
  };
  FigureUncertainties all{.mean = of_mean(sample.aperture, sources.budget.mean), .wire = of_mean(sample.wire, sources.budget.wire)};
  all.largest =
      one_of(known ? std::optional(reading_uncertainty(sources, largest_limit.um())) : std::nullopt, sources.budget.largest);
  if (const std::optional<double> s = sample.aperture.standard_deviation_um()) {
    all.standard_deviation =
        one_of(known ? std::optional(deviation_uncertainty(sources, *s, sample.aperture.count())) : std::nullopt,
               sources.budget.standard_deviation);
  }
  return all;
}

Guards make_guards(const FigureUncertainties& uncertainties, double guard_factor) {
  return {.average = to_guard(uncertainties.mean, guard_factor),
          .reading = to_guard(uncertainties.largest, guard_factor),
          .standard_deviation = to_guard(uncertainties.standard_deviation, guard_factor),
          .wire = to_guard(uncertainties.wire, guard_factor)};
}

double conformity_probability(double y, double u, std::optional<double> lower, std::optional<double> upper) {
  const Normal normal(y, u);
  return std::max(0.0, share_below(normal, upper, 1) - share_below(normal, lower, 0));
}

std::optional<double> largest_conformity(const UncertaintySources& sources, std::span<const Counted> values, double limit_um) {
  if (values.empty()) return std::nullopt;
  const Moments known = moments(values);
  const bool averages_out = known.standard_deviation.value_or(0) > um_or_zero(sources.resolution);
  const double resolution = resolution_um(sources);
  const double independent = std::hypot(um_or_zero(sources.repeatability), averages_out ? resolution : 0);
  const double beyond = std::sqrt(excess(sources.budget.largest, reading_uncertainty(sources, limit_um)));
  const double common = std::hypot(scale_um(sources, limit_um), averages_out ? 0 : resolution, beyond);
  const double largest = values.back().value_um;
  const Normal standard;
  if (!(independent > 0)) {
    if (!(common > 0)) return std::nullopt;
    return cdf(standard, (limit_um - largest) / common);
  }
  const IndependentErrors errors{values, limit_um, known.n};
  return mean_over_spread(sources, independent, [&](double spread) { return errors.none_above(spread, common); });
}

std::optional<double> deviation_conformity(const UncertaintySources& sources, double s_um, std::int64_t n, double limit_um) {
  const double noise = squared(random_um(sources));
  const double variance = squared(s_um) - noise;
  const double apertures = std::max(0.0, variance);
  double square = (4 * apertures * noise + 2 * squared(noise)) / static_cast<double>(n - 1);
  square += squared(2 * apertures * sources.scale_factor.value_or(0));
  if (sources.repeatability_readings)
    square += 2 * squared(squared(um_or_zero(sources.repeatability))) / static_cast<double>(*sources.repeatability_readings - 1);
  square += squared(2 * s_um) * excess(sources.budget.standard_deviation, deviation_uncertainty(sources, s_um, n));
  if (!(square > 0)) return std::nullopt;
  const Normal estimate(variance, std::sqrt(square));
  const double negative = cdf(estimate, 0);  // no variance is
  return std::clamp((cdf(estimate, squared(limit_um)) - negative) / (1 - negative), 0.0, 1.0);
}

Risks global_risks(const Prior& prior, double u, double lower, double upper, double guard, DecisionRule rule) {
  const Normal process(prior.mean, prior.standard_deviation);
  const Normal measured(prior.mean, std::hypot(prior.standard_deviation, u));
  struct Region {
    double lower, upper;
  };
  const Region passed{lower + guard, std::max(upper - guard, lower + guard)};
  const Region not_failed = rule == DecisionRule::four_outcomes ? Region{lower - guard, upper + guard} : passed;
  const auto share = [](const Normal& distribution, const Region& region) {
    return cdf(distribution, region.upper) - cdf(distribution, region.lower);
  };
  // Share of pieces truly within the limits and measured in a region. The integrand varies on the scale of the process or of the
  // measurement: no piece is wider than either.
  const auto inside_and = [&](const Region& region) {
    constexpr double k_far = 9;  // standard deviations of the process beyond which less than 1e-8 remains
    const double far = k_far * prior.standard_deviation;
    const double from = std::clamp(lower, prior.mean - far, prior.mean + far);
    const double to = std::clamp(upper, prior.mean - far, prior.mean + far);
    const auto both = [&](double value) {
      return pdf(process, value) * conformity_probability(value, u, region.lower, region.upper);
    };
    const auto pieces = static_cast<int>(std::clamp(std::ceil((to - from) / std::min(prior.standard_deviation, u)), 1.0, 4096.0));
    const double width = (to - from) / pieces;
    double sum = 0;
    for (int i = 0; i < pieces; ++i)
      sum += boost::math::quadrature::gauss_kronrod<double, 15>::integrate(both, from + i * width, from + (i + 1) * width, 0);
    return sum;
  };
  Risks risks{.pass = share(measured, passed)};
  risks.consumer = std::max(0.0, risks.pass - inside_and(passed));
  risks.producer = std::max(0.0, share(process, {lower, upper}) - inside_and(not_failed));
  const double tolerated = share(measured, {lower, upper}), doubtful = share(measured, not_failed);
  if (rule == DecisionRule::four_outcomes) {
    risks.conditional_pass = tolerated - risks.pass;
    risks.conditional_fail = doubtful - tolerated;
  }
  risks.fail = 1 - doubtful;
  return risks;
}

}  // namespace sievecloth
