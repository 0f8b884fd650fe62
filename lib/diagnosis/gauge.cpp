#include "sievecloth/gauge.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <Eigen/Dense>
#include <boost/math/distributions/fisher_f.hpp>

#include "base/in_double.hpp"

namespace sievecloth {
namespace {

constexpr double k_pool_above = 0.25;

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

void estimate(Gauge& gauge) {
  const double trials = static_cast<double>(gauge.trials);
  const double people = static_cast<double>(gauge.people);
  const double items = static_cast<double>(gauge.items);
  const boost::math::fisher_f_distribution<double, InDouble> f(static_cast<double>(gauge.interaction.freedom),
                                                               static_cast<double>(gauge.error.freedom));
  gauge.interaction_p = cdf(complement(f, gauge.interaction.mean_square() / gauge.error.mean_square()));
  gauge.pooled = gauge.interaction_p > k_pool_above;
  const double pooled =
      (gauge.interaction.square + gauge.error.square) / static_cast<double>(gauge.interaction.freedom + gauge.error.freedom);
  const double noise = gauge.pooled ? pooled : gauge.error.mean_square();
  const double beneath = gauge.pooled ? pooled : gauge.interaction.mean_square();  // reference for items and operators
  gauge.repeatability = deviation(noise);
  gauge.interaction_deviation = gauge.pooled ? 0 : deviation((beneath - noise) / trials);
  gauge.reproducibility = deviation((gauge.person.mean_square() - beneath) / (items * trials));
  gauge.between_items = deviation((gauge.item.mean_square() - beneath) / (people * trials));
  gauge.combined = std::hypot(gauge.repeatability, gauge.reproducibility, gauge.interaction_deviation);
  gauge.total = std::hypot(gauge.combined, gauge.between_items);
  gauge.percent_of_total = 100 * gauge.combined / gauge.total;
  gauge.categories = 1.41 * gauge.between_items / gauge.combined;
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
  return gauge;
}

GaugeVerdict judge_gauge(const Gauge& gauge, double width) noexcept {
  GaugeVerdict verdict{.percent = 600 * gauge.combined / width};
  verdict.fitness = 2 * (2 * gauge.combined) >= width ? GaugeFitness::cannot
                    : verdict.percent > 30            ? GaugeFitness::unfit
                    : verdict.percent > 10            ? GaugeFitness::marginal
                                                      : GaugeFitness::fit;
  return verdict;
}

}  // namespace sievecloth
