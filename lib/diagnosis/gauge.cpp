#include "sievecloth/gauge.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <Eigen/Dense>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/distributions/students_t.hpp>

#include "base/in_double.hpp"
#include "sievecloth/diagnosis.hpp"

namespace sievecloth {
namespace {

constexpr double k_pool_above = 0.25;
constexpr double k_tail = (1 - k_confidence) / 2;  // on each side of an interval

Error unbalanced(std::string message, std::string expected) {
  return {ErrorCode::study_unbalanced, std::move(message), "", std::move(expected), {}};
}

double deviation(double variance) { return std::sqrt(std::max(0.0, variance)); }

/// Mean of each cell (item, operator), and the sum of squares within cells.
struct Cells {
  Eigen::MatrixXd means;
  Eigen::MatrixXd counts;
  double within = 0;
};

Cells fill_cells(std::span<const GaugeReading> readings) {
  Eigen::Index items = 0;
  Eigen::Index people = 0;
  for (const GaugeReading& reading : readings) {
    items = std::max<Eigen::Index>(items, reading.item + 1);
    people = std::max<Eigen::Index>(people, reading.person + 1);
  }
  Cells cells{Eigen::MatrixXd::Zero(items, people), Eigen::MatrixXd::Zero(items, people)};
  for (const GaugeReading& reading : readings) {
    double& count = cells.counts(reading.item, reading.person);
    double& mean = cells.means(reading.item, reading.person);
    count += 1;
    mean += (reading.value - mean) / count;
  }
  for (const GaugeReading& reading : readings)
    cells.within += std::pow(reading.value - cells.means(reading.item, reading.person), 2);
  return cells;
}

void analyse(Gauge& gauge, const Cells& cells) {
  const double trials = static_cast<double>(gauge.trials);
  const double people = static_cast<double>(gauge.people);
  const double items = static_cast<double>(gauge.items);
  const Eigen::ArrayXXd centred = cells.means.array() - cells.means.mean();
  const Eigen::ArrayXd of_items = centred.rowwise().mean();
  const Eigen::ArrayXd of_people = centred.colwise().mean().transpose();
  const Eigen::ArrayXXd rest = (centred.colwise() - of_items).rowwise() - of_people.transpose();
  gauge.item = {trials * people * of_items.square().sum(), gauge.items - 1};
  gauge.person = {trials * items * of_people.square().sum(), gauge.people - 1};
  gauge.interaction = {trials * rest.square().sum(), (gauge.items - 1) * (gauge.people - 1)};
  gauge.error = {cells.within, gauge.items * gauge.people * (gauge.trials - 1)};
}

/// A mean square times its coefficient in the estimate of a variance, which is the sum of such terms.
struct Term {
  Term(double coefficient, const GaugeSource& source)
      : part(coefficient * source.mean_square()), freedom(static_cast<double>(source.freedom)) {}
  double part;
  double freedom;
};

using ChiSquared = boost::math::chi_squared_distribution<double, InDouble>;
using FisherF = boost::math::fisher_f_distribution<double, InDouble>;

// Relative distance of the lower (G) and upper (H) confidence limit of a single mean square from it.
double below(double freedom) { return 1 - freedom / quantile(ChiSquared(freedom), 1 - k_tail); }
double above(double freedom) { return freedom / quantile(ChiSquared(freedom), k_tail) - 1; }

// What two terms of opposite sign contribute together, so that the limit is exact for their difference. `f`: quantile of the F
// distribution; `own` and `other`: relative distances of the positive and the negative term.
double joint(double f, double own, double other) { return ((1 - f) * (1 - f) - own * own * f * f - other * other) / f; }

// Modified large-sample confidence limits of a sum of terms (Ting et al. 1990; for positive terms alone, Graybill and Wang 1980).
// None for a difference of two mean squares with one degree of freedom each: their limits hold less often than they say.
GaugeDeviation with_limits(double value, std::span<const Term> terms) {
  double sum = 0;
  double lower = 0;
  double upper = 0;
  for (const Term& term : terms) {
    const bool positive = term.part > 0;
    sum += term.part;
    lower += std::pow((positive ? below(term.freedom) : above(term.freedom)) * term.part, 2);
    upper += std::pow((positive ? above(term.freedom) : below(term.freedom)) * term.part, 2);
    for (const Term& other : terms) {
      if (!positive || other.part >= 0) continue;
      if (term.freedom == 1 && other.freedom == 1) return {value};
      const FisherF f(term.freedom, other.freedom);
      const double product = term.part * -other.part;
      lower += joint(quantile(f, 1 - k_tail), below(term.freedom), above(other.freedom)) * product;
      upper += joint(quantile(f, k_tail), above(term.freedom), below(other.freedom)) * product;
    }
  }
  const double least = deviation(sum - deviation(lower));
  const double most = deviation(sum + deviation(upper));
  return {value, std::min(least, value), most > 0 ? std::max(most, value) : 0};
}

// An operator's mean lies off the mean of all by what readings of the same apertures differ in: interaction and trials.
void estimate_biases(Gauge& gauge, const Cells& cells) {
  const double people = static_cast<double>(gauge.people);
  const double readings = static_cast<double>(gauge.items * gauge.trials);
  const boost::math::students_t_distribution<double, InDouble> t(static_cast<double>(gauge.interaction.freedom));
  const double noise = std::max(gauge.interaction.mean_square(), gauge.error.mean_square());
  const double half_width = quantile(t, 1 - k_tail) * std::sqrt((1 - 1 / people) * noise / readings);
  for (const double mean : cells.means.colwise().mean()) gauge.biases.push_back({mean - cells.means.mean(), half_width});
}

void estimate(Gauge& gauge) {
  const double trials = static_cast<double>(gauge.trials);
  const double people = static_cast<double>(gauge.people);
  const double items = static_cast<double>(gauge.items);
  const FisherF f(static_cast<double>(gauge.interaction.freedom), static_cast<double>(gauge.error.freedom));
  gauge.interaction_p = cdf(complement(f, gauge.interaction.mean_square() / gauge.error.mean_square()));
  gauge.pooled = gauge.interaction_p > k_pool_above;
  const double pooled =
      (gauge.interaction.square + gauge.error.square) / static_cast<double>(gauge.interaction.freedom + gauge.error.freedom);
  const double noise = gauge.pooled ? pooled : gauge.error.mean_square();
  const double beneath = gauge.pooled ? pooled : gauge.interaction.mean_square();  // reference for items and operators
  const double interaction = gauge.pooled ? 0 : deviation((beneath - noise) / trials);
  const double reproducibility = deviation((gauge.person.mean_square() - beneath) / (items * trials));
  const double between_items = deviation((gauge.item.mean_square() - beneath) / (people * trials));
  const double combined = std::hypot(std::sqrt(noise), reproducibility, interaction);
  const double each = items * people * trials;
  using Terms = std::array<Term, 2>;
  gauge.repeatability = with_limits(std::sqrt(noise), std::array{Term(1, gauge.error)});
  gauge.interaction_deviation =
      with_limits(interaction, Terms{Term(1 / trials, gauge.interaction), Term(-1 / trials, gauge.error)});
  gauge.reproducibility =
      with_limits(reproducibility, Terms{Term(people / each, gauge.person), Term(-people / each, gauge.interaction)});
  gauge.between_items = with_limits(between_items, Terms{Term(items / each, gauge.item), Term(-items / each, gauge.interaction)});
  gauge.combined =
      with_limits(combined, std::array{Term(people / each, gauge.person), Term(people * (items - 1) / each, gauge.interaction),
                                       Term((trials - 1) / trials, gauge.error)});
  gauge.total =
      with_limits(std::hypot(combined, between_items), std::array{Term(items / each, gauge.item), Term(people / each, gauge.person),
                                                                  Term((items * people - items - people) / each, gauge.interaction),
                                                                  Term((trials - 1) / trials, gauge.error)});
  gauge.percent_of_total = 100 * combined / gauge.total.value;
  gauge.categories = 1.41 * between_items / combined;
}

GaugeFitness class_of(double deviation, double width) noexcept {
  const double percent = 600 * deviation / width;
  return 2 * (2 * deviation) >= width ? GaugeFitness::cannot
         : percent > 30               ? GaugeFitness::unfit
         : percent > 10               ? GaugeFitness::marginal
                                      : GaugeFitness::fit;
}

}  // namespace

Result<Gauge> study_gauge(std::span<const GaugeReading> readings) {
  if (readings.empty()) return unbalanced("the study has no reading", "apertures read by several people, several times each");
  const Cells cells = fill_cells(readings);
  Gauge gauge{.items = cells.means.rows(), .people = cells.means.cols(), .trials = static_cast<std::int64_t>(cells.counts(0, 0))};
  if (gauge.items < 2 || gauge.people < 2 || cells.counts.maxCoeff() < 2) {
    return unbalanced("too little for a study", "at least two apertures, two people, and two readings of each aperture by each");
  }
  if (cells.counts.minCoeff() != cells.counts.maxCoeff()) {
    return unbalanced("not everybody read every aperture equally often",
                      "the same number of readings of each aperture by each person");
  }
  if (!(cells.within > 0)) {
    return unbalanced("the readings of each person repeat exactly: the instrument's step hides its repeatability",
                      "a finer resolution");
  }
  analyse(gauge, cells);
  estimate(gauge);
  estimate_biases(gauge, cells);
  return gauge;
}

GaugeDeviation deviation_of_mean(const Gauge& gauge, std::int64_t n) {
  const double count = static_cast<double>(n);
  const double trials = static_cast<double>(gauge.trials);
  const double items = static_cast<double>(gauge.items);
  const double of_readings = std::hypot(gauge.repeatability.value, gauge.interaction_deviation.value) / std::sqrt(count);
  return with_limits(std::hypot(gauge.reproducibility.value, of_readings),
                     std::array{Term(1 / (items * trials), gauge.person), Term((1 / count - 1 / items) / trials, gauge.interaction),
                                Term((trials - 1) / (trials * count), gauge.error)});
}

GaugeVerdict judge_gauge(const GaugeDeviation& deviation, double width) noexcept {
  GaugeVerdict verdict{.percent = 600 * deviation.value / width,
                       .lower = 600 * deviation.lower / width,
                       .upper = 600 * deviation.upper / width,
                       .best = class_of(deviation.lower, width),
                       .worst = deviation.bounded() ? class_of(deviation.upper, width) : GaugeFitness::cannot};
  verdict.fitness = verdict.best == verdict.worst ? verdict.best : GaugeFitness::undecided;
  return verdict;
}

}  // namespace sievecloth
