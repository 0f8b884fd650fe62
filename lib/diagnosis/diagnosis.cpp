#include "sievecloth/diagnosis.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include <boost/math/distributions/chi_squared.hpp>

#include "base/in_double.hpp"
#include "diagnosis/independence.hpp"
#include "diagnosis/piece_series.hpp"
#include "judgement/factor.hpp"
#include "judgement/grid.hpp"

namespace sievecloth {
namespace {

constexpr double k_normal_freedom = 1e6;  // a normal distribution, as Student's t
constexpr std::int64_t k_most_needed = 1'000'000;
constexpr std::int64_t k_largest_lot = std::numeric_limits<std::int32_t>::max();

Length pitch_of(const Row& row) { return row.nominal + row.wire.preferred.value; }

std::optional<std::int64_t> full_apertures(const Row& row, const Piece& piece) {
  const std::int64_t count = piece.frame || piece.roll ? count_apertures(row, piece) : 0;
  return count > 0 ? std::optional(count) : std::nullopt;
}

// Gaps along the warp follow each other along the length, gaps along the weft across the width.
std::optional<double> gaps_in_piece(const Row& row, const Piece& piece, Direction direction) {
  std::optional<Length> extent;
  if (piece.frame) extent = piece.frame->size - k_frame_allowance;
  if (piece.roll) extent = direction == Direction::warp ? piece.roll->length : piece.roll->width;
  return extent ? std::optional(extent->um() / pitch_of(row).um()) : std::nullopt;
}

double as_double(std::int64_t n) { return static_cast<double>(n); }

/// The readings of one direction, and what of them is independent.
struct Measured {
  const SeriesObservations &apertures, &wires;
  Independence of_apertures, of_wires;

  Measured(const PieceSeries& piece, Direction direction, const Surroundings& surroundings)
      : apertures(piece.apertures[direction]),
        wires(piece.wires[direction]),
        of_apertures(independence_of(apertures, surroundings)),
        of_wires(independence_of(wires, surroundings)) {}
};

// Why nothing can be said of the piece. `widest_step` [standard deviations] still permits the figure.
std::optional<Withheld> why_withheld(const SeriesObservations& series, const Independence& independence, double widest_step) {
  constexpr std::int64_t k_fewest = 3;
  if (series.n < k_fewest) return Withheld::too_few;
  if (series.values.size() < 2) return Withheld::no_spread;
  if (series.incomplete) return Withheld::incomplete;
  if (independence.contiguous) return Withheld::contiguous;
  if (independence.units < 2) return Withheld::one_group;
  if (independence.correlation > k_most_correlation) return Withheld::correlated;
  if (series.step_um > widest_step * *moments(series.values).standard_deviation) return Withheld::coarse_step;
  return std::nullopt;
}

// A mean is biased by rounding only if the step is more than twice the spread, a standard deviation much sooner.
constexpr double k_widest_step_for_mean = 2, k_widest_step_for_deviation = 1;

class DirectionDiagnosis {
 public:
  DirectionDiagnosis(const Assessment& assessment, const Diagnosis& diagnosis, const DiagnosisSettings& settings,
                     const Measured& measured, Direction direction)
      : direction_(direction),
        assessment_(assessment),
        diagnosis_(diagnosis),
        settings_(settings),
        row_(*assessment.specification.row),
        side_(assessment.sample[direction]),
        series_(measured.apertures),
        independence_(measured.of_apertures),
        measured_(measured) {}

  DirectionConfidence make() {
    confidence_.n = side_.aperture.count();
    if (confidence_.n == 0) return confidence_;
    confidence_.dependence = independence_.dependence;
    confidence_.independent = independence_.units;
    confidence_.contiguous = independence_.contiguous;
    if (series_.gaps_by_position) confidence_.turn_degrees = series_.turn_degrees;
    find_mean();
    find_deviation();
    find_wire_mean();
    find_tail();
    find_needed_for_mean();
    find_needed_for_spread();
    find_uncertainty();
    return confidence_;
  }

  // Of the piece, from sampling alone; with the measured mean and no error if every aperture was measured.
  const std::optional<MeanEstimate>& mean() const { return mean_; }

 private:
  // True if n is a sizeable part of the piece, drawn at random.
  bool finite() const {
    const std::optional<std::int64_t>& total = diagnosis_.apertures_in_piece;
    return total && independence_.groups.empty() && !independence_.contiguous && confidence_.n <= *total &&
           *total <= k_largest_lot && as_double(confidence_.n) >= k_finite_share * as_double(*total);
  }

  double measured_share() const {
    if (assessment_.all_measured) return 1;
    return finite() ? as_double(confidence_.n) / as_double(*diagnosis_.apertures_in_piece) : 0;
  }

  void find_mean() {
    if (assessment_.all_measured) {
      mean_ = MeanEstimate{*side_.aperture.mean_um(), 0, as_double(std::max<std::int64_t>(1, confidence_.n - 1))};
      confidence_.mean_um = Interval{mean_->mean, mean_->mean};
      return;
    }
    if (const std::optional<Withheld> reason = why_withheld(series_, independence_, k_widest_step_for_mean)) {
      confidence_.mean_um = *reason;
      return;
    }
    mean_ = mean_of(series_, independence_, declared_step_um());
    confidence_.finite = finite();
    if (!(mean_->standard_error > 0)) {  // means of groups that are all equal
      mean_.reset();
      confidence_.mean_um = Withheld::no_spread;
      return;
    }
    mean_->standard_error *= std::sqrt(1 - measured_share());
    confidence_.mean_um = mean_interval(*mean_, k_confidence);
  }

  void find_deviation() {
    if (assessment_.all_measured) return;  // s is then that of the whole piece
    // The edition's own measure first, which does not depend on the readings; the spread only for cloth that is finer than that.
    const double widest_um = std::max(1.0, row_.average_tolerance.value.um() / 4);
    if (const std::optional<Withheld> reason = why_withheld(series_, independence_, k_widest_step_for_deviation)) {
      confidence_.standard_deviation_um = *reason;
    } else if (std::max(series_.step_um, declared_step_um()) > widest_um) {
      confidence_.standard_deviation_um = Withheld::coarse_step;
    } else if (!independence_.groups.empty()) {
      if (independence_.units < k_fewest_groups) {
        confidence_.standard_deviation_um = Withheld::few_groups;
      } else {
        confidence_.standard_deviation_um = deviation_interval(independence_.groups, series_.step_um, k_confidence);
      }
    } else if (confidence_.n < k_fewest_for_deviation) {
      confidence_.standard_deviation_um = Withheld::few_readings;
    } else {
      confidence_.standard_deviation_um =
          deviation_interval(series_.values, series_.step_um, independence_.correlation, k_confidence);
    }
  }

  double declared_step_um() const {
    const std::optional<Length>& resolution = settings_.uncertainty.resolution;
    return resolution ? resolution->um() : 0;
  }

  void find_wire_mean() {
    if (measured_.wires.n == 0) return;
    if (const std::optional<Withheld> reason = why_withheld(measured_.wires, measured_.of_wires, k_widest_step_for_mean)) {
      confidence_.wire_mean_um = *reason;
    } else {
      confidence_.wire_mean_um = mean_interval(*mean_of(measured_.wires, measured_.of_wires, declared_step_um()), k_confidence);
    }
  }

  // Readings that may be above the limit, as rounded to their step or to the instrument's resolution.
  std::int64_t may_be_above(Length limit) const {
    const double half_a_step = std::max(series_.step_um, declared_step_um()) / 2;
    std::int64_t count = 0;
    for (const Counted& value : series_.values) count += value.value_um + half_a_step > limit.um() ? value.count : 0;
    return count;
  }

  // Upper bound on the share of the piece that is above a limit.
  Held<double> share_bound(std::int64_t measured_above, Length limit, std::int64_t GroupSums::*above) const {
    if (assessment_.all_measured) return as_double(measured_above) / as_double(confidence_.n);
    if (series_.incomplete) return Withheld::incomplete;
    if (independence_.contiguous) return Withheld::contiguous;
    if (independence_.dependence != Dependence::assumed_independent && independence_.units < 2) return Withheld::one_group;
    if (independence_.correlation > k_most_correlation) return Withheld::correlated;
    if (confidence_.n > 1 && series_.values.size() == 1 && !(declared_step_um() > 0))
      return Withheld::no_spread;  // rounded to what?
    if (independence_.groups.empty()) {
      const std::int64_t count = may_be_above(limit);
      if (!finite()) return share_upper_bound(count, confidence_.n, k_confidence);
      const std::int64_t total = *diagnosis_.apertures_in_piece;
      return as_double(number_upper_bound(count, confidence_.n, total, k_confidence)) / as_double(total);
    }
    double sum = 0;
    for (const GroupSums& group : independence_.groups) sum += as_double(group.*above) / as_double(group.n);
    return share_upper_bound_of_groups(sum, independence_.units, k_confidence);
  }

  void find_tail() {
    confidence_.above_largest = side_.aperture.count_above_largest();
    confidence_.share_above_bound = share_bound(confidence_.above_largest, row_.largest_aperture(), &GroupSums::above_largest);
    if (independence_.groups.empty()) confidence_.may_be_above_largest = may_be_above(row_.largest_aperture());
    if (row_.intermediate_limit) {
      if (independence_.groups.empty()) confidence_.may_be_above_intermediate = may_be_above(row_.intermediate_limit->value);
      confidence_.above_intermediate = side_.aperture.count_above_intermediate();
      confidence_.share_above_intermediate_bound =
          share_bound(confidence_.above_intermediate, row_.intermediate_limit->value, &GroupSums::above_intermediate);
    }
    const std::optional<std::int64_t>& total = diagnosis_.apertures_in_piece;
    if (!total || !confidence_.share_above_bound) return;
    confidence_.number_above_bound = *confidence_.share_above_bound * as_double(*total);
    confidence_.expected_number = as_double(confidence_.above_largest) / as_double(confidence_.n) * as_double(*total);
  }

  // Below the required count nothing is decided, whatever the intervals say.
  std::int64_t at_least_required(std::int64_t needed) const {
    const std::optional<RequiredCount>& required = assessment_.required;
    return required && !required->all ? std::max(required->count, needed) : needed;
  }

  void find_needed_for_mean() {
    if (assessment_.all_measured || !mean_) return;
    const double lower = row_.smallest_mean().um(), upper = row_.largest_mean().um();
    const Interval& interval = *confidence_.mean_um;
    const auto beside = [&](double limit) { return interval.upper < limit || interval.lower > limit; };
    if (beside(lower) && beside(upper)) {
      confidence_.needed_for_mean = at_least_required(confidence_.n);
      return;
    }
    const double margin = std::min(std::fabs(mean_->mean - lower), std::fabs(mean_->mean - upper));
    const double units = as_double(independence_.units);
    // For a piece without end: of a finite one, fewer decide.
    const double deviation = mean_->standard_error / std::sqrt(1 - measured_share()) * std::sqrt(units);
    if (!(margin > 0) || !(deviation > 0)) return;
    const std::optional<std::int64_t> needed =
        units_to_clear(margin, deviation, independence_.units, k_confidence, k_assurance, k_most_needed);
    if (!needed) return;
    double readings = std::ceil(as_double(*needed) * as_double(confidence_.n) / units);
    if (finite()) readings = std::ceil(readings / (1 + readings / as_double(*diagnosis_.apertures_in_piece)));
    confidence_.needed_for_mean = at_least_required(std::max(confidence_.n + 1, static_cast<std::int64_t>(readings)));
  }

  void find_needed_for_spread() {
    const std::optional<double> measured = side_.aperture.standard_deviation_um();
    if (assessment_.all_measured || !measured || !confidence_.standard_deviation_um || !independence_.groups.empty()) return;
    const Specification& specification = assessment_.specification;
    const SpreadRule& rule = specification.edition->rules.spread;
    const Grade grade = specification.lookup_grade();
    const std::optional<Limit>& limit = row_.standard_deviation_limit[grade];
    if (!limit) return;
    const auto passes = [&](std::int64_t n, double s) {
      return (rule.factor ? standard_deviation_factor(n, rule.tail_millionths[grade]) : 1) * s <= limit->value.um();
    };
    if (passes(confidence_.n, *measured)) {
      confidence_.needed_for_spread = at_least_required(confidence_.n);
      return;
    }
    const auto assured = [&](std::int64_t n) {
      const boost::math::chi_squared_distribution<double, InDouble> chi_squared(as_double(n - 1));
      return passes(n, *measured * std::sqrt(quantile(chi_squared, k_assurance) / as_double(n - 1)));
    };
    if (!assured(k_most_needed)) return;
    std::int64_t low = confidence_.n;
    std::int64_t high = k_most_needed;
    while (high - low > 1) {
      const std::int64_t middle = low + (high - low) / 2;
      (assured(middle) ? high : low) = middle;
    }
    confidence_.needed_for_spread = at_least_required(high);
  }

  void find_uncertainty() {
    const UncertaintySources& sources = settings_.uncertainty;
    const FigureUncertainties known = figure_uncertainties(sources, side_, row_.largest_aperture());
    confidence_.mean_uncertainty = known.mean;
    confidence_.reading_uncertainty = known.largest;
    confidence_.deviation_uncertainty = known.standard_deviation;
    find_mean_conformity();
    const std::optional<double> s = side_.aperture.standard_deviation_um();
    if (s && (sources.repeatability || sources.resolution))
      confidence_.corrected_deviation_um = corrected_deviation_um(sources, *s);
    if (!sources.complete()) return;
    confidence_.largest_conformity = largest_conformity(sources, series_.values, row_.largest_aperture().um());
    const std::optional<Limit>& limit = row_.standard_deviation_limit[assessment_.specification.lookup_grade()];
    if (limit && s) confidence_.deviation_conformity = deviation_conformity(sources, *s, confidence_.n, limit->value.um());
  }

  // The random part of the measurement is in the spread of the readings, and so in the standard error already, except for the share
  // of the piece that was measured.
  void find_mean_conformity() {
    if (!mean_ || !confidence_.mean_uncertainty || !confidence_.mean_uncertainty->complete) return;
    const Uncertainty& measurement = *confidence_.mean_uncertainty;
    MeanEstimate whole = *mean_;
    whole.standard_error =
        std::hypot(mean_->standard_error, measurement.systematic_um, measurement.random_um * std::sqrt(measured_share()));
    if (assessment_.all_measured) whole.freedom = measurement.freedom.value_or(k_normal_freedom);
    if (!(whole.standard_error > 0)) return;
    const double lower = row_.smallest_mean().um(), upper = row_.largest_mean().um();
    confidence_.mean_conformity = probability_within(whole, lower, upper);
    if (settings_.process) {
      confidence_.risks =
          global_risks(*settings_.process, whole.standard_error, lower, upper, guard_um(), assessment_.conditions.decision);
    }
  }

  double guard_um() const {
    const std::optional<Guard>& guard = assessment_.guards[direction_].average;
    return guard ? guard->band.um() : 0;
  }

  const Direction direction_;
  const Assessment& assessment_;
  const Diagnosis& diagnosis_;
  const DiagnosisSettings& settings_;
  const Row& row_;
  const DirectionSample& side_;
  const SeriesObservations& series_;
  const Independence& independence_;
  const Measured& measured_;
  std::optional<MeanEstimate> mean_;
  DirectionConfidence confidence_;
};

// Withheld if either mean is.
Held<Interval> difference(const PerDirection<std::optional<MeanEstimate>>& means, const PerDirection<DirectionConfidence>& sides) {
  if (means.warp && means.weft) return mean_interval(difference_of(*means.warp, *means.weft), k_confidence);
  for (const Direction direction : k_directions) {
    if (const std::optional<Withheld> reason = sides[direction].mean_um.withheld()) return *reason;
  }
  return {};
}

WeaveConditions weave_conditions(const Row& row, bool contiguous) {
  const Length range = row.wire.maximum.value - row.wire.minimum.value;
  return {pitch_of(row), row.average_tolerance.value, Length::from_pm(range.pm() / 2), contiguous};
}

}  // namespace

ObservationSettings observation_settings(const Specification& specification, bool contiguous) {
  const Row& row = *specification.row;
  ObservationSettings settings{.pitch = pitch_of(row), .largest = row.largest_aperture(), .keep_order = contiguous};
  if (row.intermediate_limit) settings.intermediate = row.intermediate_limit->value;
  return settings;
}

Diagnosis diagnose(const Assessment& assessment, const Observations& observations, const DiagnosisSettings& settings) {
  const Row& row = *assessment.specification.row;
  const Piece& piece = assessment.conditions.piece;
  Diagnosis diagnosis;
  diagnosis.apertures_stated = piece.apertures_in_piece.has_value();
  diagnosis.apertures_in_piece = piece.apertures_in_piece ? piece.apertures_in_piece : full_apertures(row, piece);
  const UncertaintySources& sources = settings.uncertainty;
  const StatedUncertainties& budget = sources.budget;
  diagnosis.uncertainty_known = sources.any() || budget.mean || budget.largest || budget.standard_deviation;
  diagnosis.uncertainty_complete = sources.complete() || (budget.mean && budget.largest && budget.standard_deviation);
  const PieceSeries series(observations);
  PerDirection<std::optional<MeanEstimate>> means;
  for (const Direction direction : k_directions) {
    const Measured measured(series, direction, {pitch_of(row).um(), settings.contiguous, gaps_in_piece(row, piece, direction)});
    DirectionDiagnosis of_direction(assessment, diagnosis, settings, measured, direction);
    diagnosis.confidence[direction] = of_direction.make();
    means[direction] = of_direction.mean();
  }
  diagnosis.difference_um = difference(means, diagnosis.confidence);
  diagnosis.weave = find_signs(series, weave_conditions(row, settings.contiguous));
  return diagnosis;
}

}  // namespace sievecloth
