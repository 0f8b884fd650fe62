#include "sievecloth/weave.hpp"

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

#include <boost/math/distributions/students_t.hpp>

#include "base/in_double.hpp"
#include "diagnosis/gaps.hpp"
#include "diagnosis/order.hpp"
#include "diagnosis/shape.hpp"
#include "sievecloth/sampling.hpp"

namespace sievecloth {
namespace {

constexpr double k_family_level = 0.05;
constexpr std::size_t k_most_outliers = 10;
constexpr std::int64_t k_fewest_in_steps = 20;  // fewer cannot fill the bins of the normality test

// Minimum relevant effects other than a quarter of the tolerance.
constexpr double k_separation = 2;         // [deviations within each]: two equal halves then show two peaks
constexpr double k_normal_distance = 0.1;  // a tenth of the readings away from where a normal distribution puts them
constexpr double k_excess_share = 0.1;
constexpr double k_coarse_step = 1;

/// One quantity in one direction.
struct Series {
  ClothQuantity quantity;
  Direction direction;
  Gathered gathered;
  Units units;
  Moments known;
  double worth_um;  // minimum relevant effect
  bool in_order;

  bool measured() const { return !gathered.values.empty(); }
  bool spread() const { return known.standard_deviation.value_or(0) > 0; }
  double step_um() const { return gathered.step.um(); }
  bool drifts_can_show() const { return !units.x.empty() || in_order; }
};

Sign sign_of(const Series& series, SignKind kind) {
  return {.kind = kind,
          .quantity = series.quantity,
          .direction = series.direction,
          .n = static_cast<std::int64_t>(series.units.values.size())};
}

Sign not_tested(Sign sign, NotTested reason) {
  sign.not_tested = reason;
  return sign;
}

Sign tested(Sign sign, const TestResult& test, double effect, double effect_limit) {
  sign.statistic = test.statistic;
  sign.critical = test.critical;
  sign.p_value = test.p_value;
  sign.effect = effect;
  sign.effect_limit = effect_limit;
  return sign;
}

NotTested why_not(const Series& series) {
  if (!series.measured()) return NotTested::not_measured;
  return series.units.values.size() > 1 && !series.spread() ? NotTested::no_spread : NotTested::too_few;
}

std::vector<Sign> order_signs(const Series& series, double level) {
  Sign alternation = sign_of(series, SignKind::alternation);
  Sign periodic = sign_of(series, SignKind::periodic);
  if (series.measured() && !series.in_order)
    return {not_tested(alternation, NotTested::not_in_order), not_tested(periodic, NotTested::not_in_order)};
  const std::optional<OrderTests> tests = order_tests(series.units.values, level);
  if (!tests) return {not_tested(alternation, why_not(series)), not_tested(periodic, why_not(series))};
  alternation = tested(alternation, tests->alternation, tests->alternation_amplitude, series.worth_um);
  alternation.correlation = tests->lag1_correlation;
  alternation.model_correlation = tests->model_correlation;
  periodic = tested(periodic, tests->periodic, tests->periodic_amplitude, series.worth_um);
  periodic.period = tests->period;
  return {alternation, periodic};
}

Sign drift_sign(const Series& series, double level) {
  Sign sign = sign_of(series, SignKind::drift);
  if (series.measured() && !series.drifts_can_show()) return not_tested(sign, NotTested::not_in_order);
  std::vector<double> places = series.units.x;
  if (places.empty()) {
    for (std::size_t i = 0; i < series.units.values.size(); ++i) places.push_back(static_cast<double>(i));
  }
  const std::optional<Drift> found = drift(series.units.values, places, series.units.y, level);
  if (!found) return not_tested(sign, why_not(series));
  return tested(sign, found->test, found->range, series.worth_um);
}

Sign populations_sign(const Series& series, double level) {
  Sign sign = sign_of(series, SignKind::two_populations);
  const std::optional<TwoPopulations> found = two_populations(series.units.values, level);
  if (!found) return not_tested(sign, why_not(series));
  const double separation = (found->upper_mean - found->lower_mean) / found->deviation;
  const bool both_there = std::min(found->upper_share, 1 - found->upper_share) >= 0.05;  // smaller groups are outliers
  sign = tested(sign, found->test, both_there ? separation : 0, k_separation);
  sign.values_um = {found->lower_mean, found->upper_mean};
  return sign;
}

Sign outliers_sign(const Series& series, double level) {
  Sign sign = sign_of(series, SignKind::outliers);
  const std::vector<double>& values = series.units.values;
  const std::size_t most = std::min(k_most_outliers, values.size() / 10);
  if (most == 0 || !series.spread()) return not_tested(sign, why_not(series));
  const ExtremeDeviates found = extreme_deviates(values, most, level);
  const ExtremeDeviates::Step& decisive = found.steps[found.outliers > 0 ? found.outliers - 1 : 0];
  const double off = std::fabs(values[decisive.index] - *series.known.mean);
  sign = tested(sign, {decisive.statistic, decisive.critical, found.outliers > 0 ? level : 1}, off, series.worth_um);
  for (std::size_t i = 0; i < found.outliers; ++i) {
    sign.values_um.push_back(values[found.steps[i].index]);
    const std::int64_t line = series.units.lines[found.steps[i].index];
    if (line > 0) sign.lines.push_back(line);
  }
  return sign;
}

Sign normality_sign(const Series& series, double level) {
  Sign sign = sign_of(series, SignKind::not_normal);
  if (!series.spread()) return not_tested(sign, why_not(series));
  const std::optional<Normality> found = normality(series.units.values, series.units.first, series.step_um(), level);
  if (!found) return not_tested(sign, sign.n < k_fewest_in_steps ? NotTested::too_few : NotTested::too_few_values);
  return tested(sign, found->test, found->distance, k_normal_distance);
}

// The readings, but each value once per gap or field whose readings are averaged: there the cloth repeats it, not the operator.
std::vector<double> noted_values(const Series& series) {
  if (series.units.values.size() == series.gathered.values.size()) return series.gathered.values;
  std::set<std::pair<std::int32_t, double>> noted;
  for (std::size_t i = 0; i < series.gathered.values.size(); ++i)
    noted.emplace(series.gathered.group[i], series.gathered.values[i]);
  std::vector<double> values;
  values.reserve(noted.size());
  for (const auto& [group, value] : noted) values.push_back(value);
  return values;
}

Sign one_value_sign(const Series& series, double level) {
  Sign sign = sign_of(series, SignKind::one_value);
  if (!series.spread()) return not_tested(sign, why_not(series));
  const std::vector<double> values = noted_values(series);
  sign.n = static_cast<std::int64_t>(values.size());
  const std::optional<FrequentValue> found = frequent_value(values, series.step_um(), level);
  if (!found) return not_tested(sign, NotTested::too_few_values);
  const double excess = (static_cast<double>(found->count) - found->expected) / static_cast<double>(sign.n);
  sign = tested(sign, found->test, excess, k_excess_share);
  sign.values_um = {found->value};
  return sign;
}

// Not a statistical test: a step as wide as the spread hides the cloth, whatever the readings are. A step within the tolerance is
// not a fault.
Sign step_sign(const Series& series) {
  Sign sign = sign_of(series, SignKind::coarse_step);
  const Moments known = moments(series.gathered.values);
  if (known.n < 10 || !(known.standard_deviation.value_or(0) > 0)) return not_tested(sign, why_not(series));
  const double steps = series.step_um() / *known.standard_deviation;
  return tested(sign, {steps, k_coarse_step, steps >= k_coarse_step ? 0.0 : 1.0}, series.step_um(), series.worth_um);
}

/// Mean with its standard error: grouped by gap or field if possible, else as if all readings were independent.
struct MeanWithError {
  double mean, error, freedom;
};

std::optional<MeanWithError> mean_of(const Series& series) {
  const Moments known = moments(series.gathered.values);
  if (known.n < 3 || !(known.standard_deviation.value_or(0) > 0)) return std::nullopt;
  const double n = static_cast<double>(known.n);
  if (series.gathered.grouping != Grouping::none) {
    const std::optional<Clustering> groups = clustering(series.gathered.values, series.gathered.group);
    if (!groups) return std::nullopt;
    return MeanWithError{*known.mean, groups->mean_standard_error, groups->mean_freedom};
  }
  return MeanWithError{*known.mean, *known.standard_deviation / std::sqrt(n), n - 1};
}

// Welch's test.
Sign difference_sign(const Series& warp, const Series& weft, double level) {
  Sign sign{.kind = SignKind::direction_difference, .quantity = warp.quantity};
  sign.n = static_cast<std::int64_t>(warp.units.values.size() + weft.units.values.size());
  if (!warp.measured() && !weft.measured()) return not_tested(sign, NotTested::not_measured);
  if (!warp.measured() || !weft.measured()) return not_tested(sign, NotTested::other_direction_missing);
  const std::optional<MeanWithError> a = mean_of(warp);
  const std::optional<MeanWithError> b = mean_of(weft);
  if (!a || !b) return not_tested(sign, why_not(a ? weft : warp));
  const double a_square = a->error * a->error;
  const double b_square = b->error * b->error;
  const double freedom =
      (a_square + b_square) * (a_square + b_square) / (a_square * a_square / a->freedom + b_square * b_square / b->freedom);
  const boost::math::students_t_distribution<double, InDouble> t(freedom);
  TestResult test{.statistic = std::fabs(a->mean - b->mean) / std::sqrt(a_square + b_square)};
  test.critical = quantile(complement(t, level / 2));
  test.p_value = 2 * cdf(complement(t, test.statistic));
  sign = tested(sign, test, std::fabs(a->mean - b->mean), warp.worth_um);
  sign.values_um = {a->mean, b->mean};
  return sign;
}

Series make_series(std::span<const Reading> readings, ClothQuantity quantity, Direction direction,
                   const WeaveConditions& conditions) {
  Series series{quantity, direction, gather(readings, direction, quantity, conditions.pitch), {}, {}, 0, false};
  series.units = units_of(series.gathered, direction, conditions.pitch, conditions.contiguous);
  series.known = moments(series.units.values);
  series.worth_um = (quantity == ClothQuantity::aperture ? conditions.average_tolerance : conditions.wire_tolerance).um() / 4;
  series.in_order = series.gathered.grouping == Grouping::gap ? series.units.neighbours : conditions.contiguous;
  return series;
}

std::vector<Sign> signs_of(const std::vector<Series>& all, double level) {
  std::vector<Sign> signs;
  for (std::size_t i = 0; i < all.size(); ++i) {
    const Series& series = all[i];
    for (Sign& sign : order_signs(series, level)) signs.push_back(std::move(sign));
    for (const auto& test : {drift_sign, populations_sign, outliers_sign, normality_sign, one_value_sign})
      signs.push_back(test(series, level));
    signs.push_back(step_sign(series));
    if (i % 2 == 1) signs.push_back(difference_sign(all[i - 1], series, level));
  }
  return signs;
}

}  // namespace

Weave find_signs(std::span<const Reading> readings, const WeaveConditions& conditions) {
  std::vector<Series> all;
  for (const ClothQuantity quantity : k_quantities) {
    for (const Direction direction : k_directions) {
      Series series = make_series(readings, quantity, direction, conditions);
      all.push_back(std::move(series));
    }
  }
  // Which tests can be made does not depend on the level, so a first pass counts them.
  Weave weave{.level = k_family_level, .signs = signs_of(all, k_family_level)};
  const auto made = std::count_if(weave.signs.begin(), weave.signs.end(),
                                  [](const Sign& sign) { return !sign.not_tested && sign.kind != SignKind::coarse_step; });
  if (made > 1) weave = {k_family_level / static_cast<double>(made), signs_of(all, k_family_level / static_cast<double>(made))};
  for (Sign& sign : weave.signs) {
    sign.flagged = !sign.not_tested && sign.p_value <= weave.level && sign.effect >= sign.effect_limit;
  }
  return weave;
}

}  // namespace sievecloth
