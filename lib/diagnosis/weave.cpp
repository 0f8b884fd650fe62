#include "sievecloth/weave.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>

#include "base/in_double.hpp"
#include "diagnosis/independence.hpp"
#include "diagnosis/order.hpp"
#include "diagnosis/piece_series.hpp"
#include "diagnosis/shape.hpp"
#include "sievecloth/sampling.hpp"

namespace sievecloth {
namespace {

constexpr double k_family_level = 0.05;
constexpr std::size_t k_most_outliers = 10;
constexpr std::int64_t k_fewest_in_steps = 20;  // fewer cannot fill the bins of the normality test

// Minimum relevant effects other than a quarter of the tolerance.
constexpr double k_separation = 2;          // [deviations within each]: two equal halves then show two peaks
constexpr double k_normal_distance = 0.05;  // a twentieth of the readings away from where a normal distribution puts them
constexpr double k_excess_share = 0.1;
constexpr double k_coarse_step = 1;
constexpr double k_spread_ratio = 1.25;

/// One quantity in one direction, as independent values: readings, or the means of the gaps or fields they lie in.
struct Series {
  ClothQuantity quantity;
  Direction direction;
  const SeriesObservations& seen;
  Independence independence;
  std::vector<Counted> values;
  std::vector<Counted> first;              // first reading of each: unlike a mean it is a multiple of the step
  std::vector<Extreme> smallest, largest;  // of the values
  std::vector<double> in_order;            // the values one by one, if their order or their places are known
  std::vector<double> x, y;                // places of those; empty without positions
  Moments known;
  double worth_um = 0;              // minimum relevant effect, from the smallest to the largest; of a wave the amplitude is half
  bool neighbours = false;          // in_order follow each other on the cloth
  std::optional<OrderTests> order;  // at the level of the tests, if they can be made

  bool measured() const { return seen.n > 0; }
  bool spread() const { return known.standard_deviation.value_or(0) > 0; }
  bool grouped() const { return !independence.groups.empty(); }
  double step_um() const { return seen.step_um; }
  double correlation() const { return order ? order->noise.r : independence.correlation; }
  double slow_variance() const { return order ? order->noise.slow_variance() : 1; }
  /// Tests the order at `level`, if it is known.
  void test_order(double level);
  bool has_displaced_wire(double level) const {
    return order && order->displaced.p_value <= level && order->displaced_by >= worth_um;
  }
};

Sign sign_of(const Series& series, SignKind kind) {
  return {.kind = kind, .quantity = series.quantity, .direction = series.direction, .n = series.known.n};
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
  if (series.seen.incomplete) return NotTested::incomplete;
  return series.known.n > 1 && !series.spread() ? NotTested::no_spread : NotTested::too_few;
}

// Reasons that rule out every test but that of the step and, of the second one, of the means.
std::optional<NotTested> ruled_out(const Series& series) {
  if (series.seen.incomplete) return NotTested::incomplete;
  if (!series.grouped()) return std::nullopt;
  constexpr double k_most_unequal = 1.2;  // mean size times mean of 1 / size: 1 if all are equal
  double sizes = 0;
  double reciprocals = 0;
  for (const GroupSums& group : series.independence.groups) {
    sizes += static_cast<double>(group.n);
    reciprocals += 1 / static_cast<double>(group.n);
  }
  const double groups = static_cast<double>(series.independence.groups.size());
  return sizes * reciprocals > k_most_unequal * groups * groups ? std::optional(NotTested::unequal_groups) : std::nullopt;
}

void Series::test_order(double level) {
  if (neighbours && !ruled_out(*this)) order = order_tests(in_order, level);
}

std::vector<Sign> order_signs(const Series& series) {
  Sign alternation = sign_of(series, SignKind::alternation), periodic = sign_of(series, SignKind::periodic);
  Sign slow = sign_of(series, SignKind::slow_wave), displaced = sign_of(series, SignKind::displaced_wire);
  const std::optional<OrderTests>& tests = series.order;
  if (!tests) {
    const NotTested reason = !series.measured()
                                 ? NotTested::not_measured
                                 : ruled_out(series).value_or(series.neighbours ? why_not(series) : NotTested::not_in_order);
    return {not_tested(alternation, reason), not_tested(periodic, reason), not_tested(slow, reason), not_tested(displaced, reason)};
  }
  alternation = tested(alternation, tests->alternation, tests->alternation_amplitude, series.worth_um / 2);
  alternation.correlation = tests->lag1_correlation;
  alternation.model_correlation = tests->noise.r;
  periodic = tested(periodic, tests->periodic, tests->periodic_amplitude, series.worth_um / 2);
  periodic.period = tests->period;
  constexpr std::size_t k_fewest_for_slow_waves = 80;  // fewer do not tell them from correlated neighbours
  slow = series.in_order.size() < k_fewest_for_slow_waves ? not_tested(slow, NotTested::too_few)
         : tests->noise.is_strong()                       ? not_tested(slow, NotTested::correlated)
                                    : tested(slow, tests->slow_wave, tests->slow_amplitude, series.worth_um / 2);
  displaced = tested(displaced, tests->displaced, tests->displaced_by, series.worth_um);
  displaced.values_um = {series.in_order[tests->displaced_at], series.in_order[tests->displaced_at + 1]};
  return {alternation, periodic, slow, displaced};
}

Sign trend_sign(const Series& series, double level, SignKind kind) {
  Sign sign = sign_of(series, kind);
  if (!series.measured()) return not_tested(sign, NotTested::not_measured);
  if (const std::optional<NotTested> reason = ruled_out(series)) return not_tested(sign, *reason);
  if (series.x.empty()) {
    if (kind == SignKind::curvature) return not_tested(sign, NotTested::no_positions);
    if (!series.neighbours) return not_tested(sign, NotTested::not_in_order);
  }
  if (series.order && series.order->noise.is_strong()) return not_tested(sign, NotTested::correlated);
  std::vector<double> places = series.x;
  for (std::size_t i = 0; series.x.empty() && i < series.in_order.size(); ++i) places.push_back(static_cast<double>(i));
  const auto test = kind == SignKind::drift ? drift : curvature;
  const std::optional<Trend> found = test(series.in_order, places, series.y, level, series.slow_variance());
  if (!found) return not_tested(sign, why_not(series));
  return tested(sign, found->test, found->range, series.worth_um);
}

Sign populations_sign(const Series& series, double level) {
  Sign sign = sign_of(series, SignKind::two_populations);
  if (const std::optional<NotTested> reason = ruled_out(series)) return not_tested(sign, *reason);
  if (series.spread() && !series.grouped() && series.step_um() > *series.known.standard_deviation)
    return not_tested(sign, NotTested::too_few_values);  // each step would be a population
  const std::optional<TwoPopulations> found = two_populations(series.values, level);
  if (!found) return not_tested(sign, why_not(series));
  const double separation = (found->upper_mean - found->lower_mean) / found->deviation;
  const bool both_there = std::min(found->upper_share, 1 - found->upper_share) >= 0.05;  // smaller groups are outliers
  sign = tested(sign, found->test, both_there ? separation : 0, k_separation);
  sign.values_um = {found->lower_mean, found->upper_mean};
  return sign;
}

// Values that stand apart, with their lines as far as known.
void name_outliers(Sign& sign, const Series& series, std::span<const ExtremeDeviates::Step> steps) {
  std::size_t low = 0, high = 0;
  for (const ExtremeDeviates::Step& step : steps) {
    const Extreme& extreme = step.low ? series.smallest[low++] : series.largest[high++];
    sign.values_um.push_back(extreme.value_um);
    if (extreme.line > 0) sign.lines.push_back(extreme.line);
  }
}

// Outliers that also stand apart from the rest by more than its tails suggest.
ExtremeDeviates outliers_of(const Series& series, std::size_t most, double level) {
  constexpr std::int64_t k_fewest_for_tails = 50;  // fewer do not show what their tails are like
  constexpr double k_spacing_level = 0.012;        // halved for each further outlier, so that all numbers of them together keep it
  ExtremeDeviates found = extreme_deviates(series.values, most, level);
  if (series.known.n < k_fewest_for_tails) return found;
  const auto end = found.steps.begin() + static_cast<std::ptrdiff_t>(found.outliers);
  for (const bool low : {true, false}) {
    const auto of_side = [&](const ExtremeDeviates::Step& step) { return step.low == low; };
    const auto count = static_cast<std::size_t>(std::count_if(found.steps.begin(), end, of_side));
    const double level_of_count = std::ldexp(k_spacing_level, -static_cast<int>(count));
    if (count > 0 && spacing_probability(series.values, count, low) > level_of_count) found.outliers = 0;
  }
  return found;
}

std::size_t most_outliers(const Series& series) { return std::min(k_most_outliers, static_cast<std::size_t>(series.known.n) / 10); }

Sign outliers_sign(const Series& series, double level) {
  Sign sign = sign_of(series, SignKind::outliers);
  if (const std::optional<NotTested> reason = ruled_out(series)) return not_tested(sign, *reason);
  const std::size_t most = most_outliers(series);
  if (most == 0 || !series.spread()) return not_tested(sign, why_not(series));
  const ExtremeDeviates found = outliers_of(series, most, level);
  const ExtremeDeviates::Step& decisive = found.steps[found.outliers > 0 ? found.outliers - 1 : 0];
  const double off = std::fabs(decisive.value - *series.known.mean);
  sign = tested(sign, {decisive.statistic, decisive.critical, found.outliers > 0 ? level : 1}, off, series.worth_um);
  name_outliers(sign, series, std::span(found.steps).first(found.outliers));
  return sign;
}

void remove_value(std::vector<Counted>& values, double value) {
  const auto at = std::find_if(values.begin(), values.end(), [&](const Counted& counted) { return counted.value_um == value; });
  if (at != values.end() && --at->count == 0) values.erase(at);
}

// Outliers and the openings beside a displaced wire have signs of their own.
std::vector<Counted> without_outliers(const Series& series, std::vector<Counted> values, double level) {
  if (series.has_displaced_wire(level)) {
    const std::size_t at = series.order->displaced_at;
    for (const double value : {series.in_order[at], series.in_order[at + 1]}) remove_value(values, value);
    return values;
  }
  const std::size_t most = most_outliers(series);
  if (most == 0) return values;
  const ExtremeDeviates found = outliers_of(series, most, level);
  for (std::size_t i = 0; i < found.outliers; ++i) remove_value(values, found.steps[i].value);
  return values;
}

Sign normality_sign(const Series& series, double level) {
  Sign sign = sign_of(series, SignKind::not_normal);
  if (const std::optional<NotTested> reason = ruled_out(series)) return not_tested(sign, *reason);
  if (!series.spread()) return not_tested(sign, why_not(series));
  const std::vector<Counted> values = without_outliers(series, series.values, level);
  const std::vector<Counted> first = series.grouped() ? series.first : without_outliers(series, series.first, level);
  const std::optional<Normality> found = normality(values, first, series.step_um(), level);
  if (!found) return not_tested(sign, sign.n < k_fewest_in_steps ? NotTested::too_few : NotTested::too_few_values);
  return tested(sign, found->test, found->distance, k_normal_distance);
}

// One reading of each gap or field: within one, the cloth repeats a value, not the operator.
Sign one_value_sign(const Series& series, double level) {
  Sign sign = sign_of(series, SignKind::one_value);
  if (const std::optional<NotTested> reason = ruled_out(series)) return not_tested(sign, *reason);
  if (!series.spread()) return not_tested(sign, why_not(series));
  const std::optional<FrequentValue> found = frequent_value(series.first, series.step_um(), level);
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
  const Moments known = moments(series.seen.values);
  sign.n = known.n;
  if (known.n < 10 || !(known.standard_deviation.value_or(0) > 0)) return not_tested(sign, why_not(series));
  const double steps = series.step_um() / *known.standard_deviation;
  return tested(sign, {steps, k_coarse_step, steps >= k_coarse_step ? 0.0 : 1.0}, series.step_um(), series.worth_um);
}

Sign between(const Series& warp, const Series& weft, SignKind kind) {
  Sign sign{.kind = kind, .quantity = warp.quantity, .n = warp.known.n + weft.known.n};
  if (!warp.measured() && !weft.measured()) return not_tested(sign, NotTested::not_measured);
  if (!warp.measured() || !weft.measured()) return not_tested(sign, NotTested::other_direction_missing);
  if (warp.seen.incomplete || weft.seen.incomplete) return not_tested(sign, NotTested::incomplete);
  return sign;
}

double squared(double value) { return value * value; }

// Welch's test.
Sign difference_sign(const Series& warp, const Series& weft, double level) {
  Sign sign = between(warp, weft, SignKind::direction_difference);
  if (sign.not_tested) return sign;
  const std::optional<MeanEstimate> a = mean_of(warp.seen, warp.independence), b = mean_of(weft.seen, weft.independence);
  if (!a || !b) return not_tested(sign, why_not(a ? weft : warp));
  if (!(a->standard_error + b->standard_error > 0)) return not_tested(sign, NotTested::no_spread);  // equal means of groups
  const double a_square = squared(a->standard_error) * warp.slow_variance();
  const double b_square = squared(b->standard_error) * weft.slow_variance();
  const double freedom = squared(a_square + b_square) / (squared(a_square) / a->freedom + squared(b_square) / b->freedom);
  const boost::math::students_t_distribution<double, InDouble> t(freedom);
  TestResult test{.statistic = std::fabs(a->mean - b->mean) / std::sqrt(a_square + b_square)};
  test.critical = quantile(complement(t, level / 2));
  test.p_value = 2 * cdf(complement(t, test.statistic));
  sign = tested(sign, test, std::fabs(a->mean - b->mean), warp.worth_um);
  sign.values_um = {a->mean, b->mean};
  return sign;
}

// Variance of log s^2, with the kurtosis of the values and the correlation of neighbours.
double variance_of_log_variance(const Series& series) {
  const double n = static_cast<double>(series.known.n);
  double fourth = 0;
  for (const Counted& value : series.values)
    fourth += static_cast<double>(value.count) * squared(squared(value.value_um - *series.known.mean));
  const double kurtosis = n * fourth / squared((n - 1) * squared(*series.known.standard_deviation));
  return std::max(kurtosis - (n - 3) / n, 2 * (n - 1) / n) / (n - 1) * variance_inflation(series.correlation());
}

// The logarithm of the ratio of the variances (Layard, Journal of the American Statistical Association 68 (1973)).
Sign spread_sign(const Series& warp, const Series& weft, double level) {
  constexpr std::int64_t k_fewest = 20;
  Sign sign = between(warp, weft, SignKind::spread_difference);
  if (sign.not_tested) return sign;
  for (const Series* series : {&warp, &weft}) {
    if (const std::optional<NotTested> reason = ruled_out(*series)) return not_tested(sign, *reason);
    if (series->known.n < k_fewest) return not_tested(sign, NotTested::too_few);
    if (!series->spread()) return not_tested(sign, NotTested::no_spread);
  }
  const double a = *warp.known.standard_deviation, b = *weft.known.standard_deviation;
  const boost::math::normal_distribution<double, InDouble> normal;
  TestResult test{.statistic =
                      2 * std::fabs(std::log(a / b)) / std::sqrt(variance_of_log_variance(warp) + variance_of_log_variance(weft))};
  test.critical = quantile(complement(normal, level / 2));
  test.p_value = 2 * cdf(complement(normal, test.statistic));
  sign = tested(sign, test, std::max(a, b) / std::min(a, b), k_spread_ratio);
  sign.values_um = {a, b};
  return sign;
}

void take_readings(Series& series) {
  series.values = series.first = series.seen.values;
  series.smallest = series.seen.smallest;
  series.largest = series.seen.largest;
  series.in_order = series.seen.in_order;
}

// The ends of a list of values with their lines, the extreme one first.
std::vector<Extreme> extremes(std::vector<Extreme> all, bool smallest) {
  const auto further = [&](const Extreme& a, const Extreme& b) {
    return smallest ? a.value_um < b.value_um : a.value_um > b.value_um;
  };
  std::stable_sort(all.begin(), all.end(), further);
  all.resize(std::min(all.size(), k_most_outliers));
  return all;
}

// Means of gaps or fields, with their places.
void take_groups(Series& series, std::span<const GroupSums> groups) {
  std::vector<double> means, first;
  std::vector<Extreme> with_lines;
  for (const GroupSums& group : groups) {
    const double n = static_cast<double>(group.n);
    means.push_back(series.seen.reference_um + group.sum_um / n);
    first.push_back(group.first_um);
    with_lines.push_back({means.back(), group.first_line});
    if (!series.seen.gaps_by_position) continue;
    series.x.push_back(group.x_um / n);
    series.y.push_back(group.y_um / n);
  }
  series.values = counted(means);
  series.first = counted(first);
  series.smallest = extremes(with_lines, true);
  series.largest = extremes(with_lines, false);
  series.in_order = std::move(means);
}

Series make_series(const PieceSeries& piece, ClothQuantity quantity, Direction direction, const WeaveConditions& conditions) {
  Series series{.quantity = quantity, .direction = direction, .seen = piece.of(quantity, direction)};
  series.independence = independence_of(series.seen, {conditions.pitch.um(), conditions.contiguous, {}});
  const bool by_field = series.independence.dependence == Dependence::by_field;
  if (by_field && series.grouped()) {
    take_groups(series, series.seen.fields);
  } else if (!series.seen.gaps.empty()) {
    take_groups(series, series.seen.gaps);
    series.neighbours = are_neighbours(series.seen, conditions.pitch.um());
  } else {
    take_readings(series);
    series.neighbours = !series.in_order.empty();
  }
  series.known = moments(series.values);
  series.worth_um = (quantity == ClothQuantity::aperture ? conditions.average_tolerance : conditions.wire_tolerance).um() / 4;
  return series;
}

std::vector<Sign> signs_of(std::vector<Series>& all, double level) {
  for (Series& series : all) series.test_order(level);
  std::vector<Sign> signs;
  for (std::size_t i = 0; i < all.size(); ++i) {
    const Series& series = all[i];
    for (Sign& sign : order_signs(series)) signs.push_back(std::move(sign));
    for (const SignKind kind : {SignKind::drift, SignKind::curvature}) signs.push_back(trend_sign(series, level, kind));
    for (const auto& test : {populations_sign, outliers_sign, normality_sign, one_value_sign}) signs.push_back(test(series, level));
    signs.push_back(step_sign(series));
    if (i % 2 == 0) continue;
    signs.push_back(difference_sign(all[i - 1], series, level));
    signs.push_back(spread_sign(all[i - 1], series, level));
  }
  return signs;
}

// Tests that are made if nothing stands in the way.
std::int64_t tests_expected(const std::vector<Series>& all) {
  std::int64_t tests = 0;
  for (std::size_t i = 0; i < all.size(); ++i) {
    const Series& series = all[i];
    if (!series.measured()) continue;
    tests += 4 + (series.neighbours ? 4 : 0) + (series.neighbours || !series.x.empty() ? 1 : 0) + (series.x.empty() ? 0 : 1);
    if (i % 2 == 1 && all[i - 1].measured()) tests += 2;
  }
  return tests;
}

// Shares the level among the tests that are made. At another level one test more or less may be made, so that after the second pass
// their number only grows: more tests than are made flag less, not more.
Weave tested_together(std::vector<Series>& all) {
  std::int64_t tests = std::max<std::int64_t>(1, tests_expected(all));
  for (bool first = true;; first = false) {
    const double level = k_family_level / static_cast<double>(tests);
    Weave weave{.level = level, .signs = signs_of(all, level)};
    const auto made = std::count_if(weave.signs.begin(), weave.signs.end(),
                                    [](const Sign& sign) { return !sign.not_tested && sign.kind != SignKind::coarse_step; });
    if (made == tests || made == 0 || (!first && made < tests)) return weave;
    tests = made;
  }
}

// True if what `sign` shows follows from `fault`, found in the same quantity and direction: the openings beside a displaced wire
// are outliers, a slow wave is higher at one end than at the other.
bool follows_in_series(const Sign& sign, const Sign& fault) {
  if (sign.direction != fault.direction) return false;
  if (fault.kind == SignKind::slow_wave) return sign.kind == SignKind::drift;
  if (fault.kind == SignKind::two_populations) return sign.kind == SignKind::not_normal;
  if (fault.kind != SignKind::displaced_wire || sign.kind != SignKind::outliers) return false;
  return std::all_of(sign.values_um.begin(), sign.values_um.end(),
                     [&](double value) { return value == fault.values_um[0] || value == fault.values_um[1]; });
}

// Whatever changes along one direction spreads its values too.
bool spreads(SignKind fault) {
  switch (fault) {
    case SignKind::alternation:
    case SignKind::periodic:
    case SignKind::slow_wave:
    case SignKind::displaced_wire:
    case SignKind::drift:
    case SignKind::curvature:
    case SignKind::two_populations:
    case SignKind::outliers: return true;
    case SignKind::direction_difference:
    case SignKind::spread_difference:
    case SignKind::not_normal:
    case SignKind::one_value:
    case SignKind::coarse_step: return false;
  }
  return false;
}

// One fault is named once.
void withdraw_consequences(Weave& weave, const Sign& fault) {
  for (Sign& sign : weave.signs) {
    if (sign.quantity != fault.quantity) continue;
    if (!follows_in_series(sign, fault) && !(sign.kind == SignKind::spread_difference && spreads(fault.kind))) continue;
    sign.explained = sign.explained || sign.flagged;
    sign.flagged = false;
  }
}

}  // namespace

Weave find_signs(const Observations& observations, const WeaveConditions& conditions) {
  return find_signs(PieceSeries(observations), conditions);
}

Weave find_signs(const PieceSeries& piece, const WeaveConditions& conditions) {
  std::vector<Series> all;
  for (const ClothQuantity quantity : k_quantities) {
    for (const Direction direction : k_directions) all.push_back(make_series(piece, quantity, direction, conditions));
  }
  Weave weave = tested_together(all);
  for (Sign& sign : weave.signs) {
    sign.flagged = !sign.not_tested && sign.p_value <= weave.level && sign.effect >= sign.effect_limit;
  }
  for (const Sign& sign : weave.signs) {
    if (sign.flagged) withdraw_consequences(weave, sign);
  }
  return weave;
}

}  // namespace sievecloth
