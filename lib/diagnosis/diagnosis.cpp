#include "sievecloth/diagnosis.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include <boost/math/distributions/normal.hpp>

#include "base/in_double.hpp"
#include "diagnosis/gaps.hpp"
#include "diagnosis/shape.hpp"
#include "judgement/factor.hpp"
#include "judgement/grid.hpp"

namespace sievecloth {
namespace {

constexpr double k_fewest_for_model = 20;
constexpr std::int64_t k_most_needed = 1'000'000;
constexpr std::int64_t k_largest_lot = std::numeric_limits<std::int32_t>::max();

Length pitch_of(const Row& row) { return row.nominal + row.wire.preferred.value; }

std::optional<std::int64_t> full_apertures(const Row& row, const Piece& piece) {
  const std::int64_t count = piece.frame || piece.roll ? count_apertures(row, piece) : 0;
  return count > 0 ? std::optional(count) : std::nullopt;
}

// True if the readings at hand are all those of the sample.
bool complete(const Sample& sample, std::span<const Reading> readings) {
  std::int64_t count = 0;
  for (const Reading& reading : readings) count += (reading.aperture ? 1 : 0) + (reading.wire ? 1 : 0);
  return count > 0 && count == sample.count();
}

std::span<const Reading> usable(std::span<const Reading> readings, const Diagnosis& diagnosis) {
  return diagnosis.readings_complete ? readings : std::span<const Reading>();
}

class DirectionDiagnosis {
 public:
  DirectionDiagnosis(const Assessment& assessment, const Diagnosis& diagnosis, const DiagnosisSettings& settings,
                     std::span<const Reading> readings, Direction direction)
      : direction_(direction),
        assessment_(assessment),
        diagnosis_(diagnosis),
        settings_(settings),
        row_(*assessment.specification.row),
        side_(assessment.sample[direction]),
        readings_(readings),
        gathered_(gather(usable(readings, diagnosis), direction, ClothQuantity::aperture, pitch_of(row_))) {}

  DirectionConfidence make() {
    confidence_.n = side_.aperture.count();
    if (confidence_.n == 0) return confidence_;
    find_dependence();
    find_intervals();
    find_tail();
    find_needed();
    find_uncertainty();
    return confidence_;
  }

 private:
  void find_dependence() {
    const auto has_place = [](const Reading& reading) { return reading.x.has_value() || !reading.field.empty(); };
    if (!diagnosis_.readings_complete && std::any_of(readings_.begin(), readings_.end(), has_place)) {
      confidence_.dependence = Dependence::not_kept;
      confidence_.effective_n = 1;
      return;
    }
    confidence_.effective_n = static_cast<double>(confidence_.n);
    if (gathered_.grouping == Grouping::none) return;
    const bool gaps = gathered_.grouping == Grouping::gap;
    if (*std::max_element(gathered_.group.begin(), gathered_.group.end()) == 0) {
      confidence_.dependence = gaps ? Dependence::one_gap : Dependence::one_field;
      confidence_.effective_n = 1;
      return;
    }
    confidence_.dependence = gaps ? Dependence::by_gap : Dependence::by_field;
    confidence_.groups = clustering(gathered_.values, gathered_.group);
    if (confidence_.groups) confidence_.effective_n = confidence_.groups->effective_n;
  }

  // True if there is sampling uncertainty, and the sample is large and varied enough to estimate it.
  bool has_interval() const {
    constexpr std::array worth_one{Dependence::one_gap, Dependence::one_field, Dependence::not_kept};
    const bool one = std::find(worth_one.begin(), worth_one.end(), confidence_.dependence) != worth_one.end();
    return confidence_.n >= 3 && *side_.aperture.standard_deviation_um() > 0 && (!one || assessment_.all_measured);
  }

  // Finite population factor of the mean's standard error, if a sizeable part of the piece was chosen at random.
  double finite_factor() {
    const std::optional<std::int64_t>& total = diagnosis_.apertures_in_piece;
    if (assessment_.all_measured) return 0;
    if (!total || confidence_.n >= *total || settings_.contiguous) return 1;
    const double share = static_cast<double>(confidence_.n) / static_cast<double>(*total);
    confidence_.finite = share >= k_finite_share;
    return confidence_.finite ? std::sqrt(1 - share) : 1;
  }

  void find_intervals() {
    if (!has_interval()) return;
    const std::optional<double> s = side_.aperture.standard_deviation_um();
    const double mean = *side_.aperture.mean_um();
    const double n = static_cast<double>(confidence_.n);
    const double factor = finite_factor();
    standard_error_ = factor * (confidence_.groups ? confidence_.groups->mean_standard_error : *s / std::sqrt(n));
    confidence_.mean_um =
        mean_interval(mean, standard_error_, confidence_.groups ? confidence_.groups->mean_freedom : n - 1, k_confidence);
    if (assessment_.all_measured) return;  // s is then that of the whole piece
    confidence_.standard_deviation_um = confidence_.groups
                                            ? standard_deviation_interval(confidence_.groups->standard_deviation,
                                                                          confidence_.groups->deviation_freedom, k_confidence)
                                            : standard_deviation_interval(*s, n - 1, k_confidence);
  }

  void find_tail() {
    confidence_.above_largest = side_.aperture.count_above_largest();
    const std::optional<std::int64_t>& total = diagnosis_.apertures_in_piece;
    const double n = static_cast<double>(confidence_.n);
    if (assessment_.all_measured) {
      confidence_.share_above_bound = static_cast<double>(confidence_.above_largest) / n;
      confidence_.expected_number = confidence_.number_above_bound = static_cast<double>(confidence_.above_largest);
      return;
    }
    // Dependent readings count as fewer; those above the limit are scaled alike and rounded up.
    const auto worth = std::max<std::int64_t>(1, static_cast<std::int64_t>(confidence_.effective_n));
    const auto above =
        static_cast<std::int64_t>(std::ceil(static_cast<double>(confidence_.above_largest) * static_cast<double>(worth) / n));
    const bool finite =
        total && *total <= k_largest_lot && confidence_.n <= *total && n / static_cast<double>(*total) >= k_finite_share;
    if (finite && !settings_.contiguous && worth == confidence_.n) {
      confidence_.number_above_bound = static_cast<double>(number_upper_bound(above, worth, *total, k_confidence));
      confidence_.share_above_bound = *confidence_.number_above_bound / static_cast<double>(*total);
    } else {
      confidence_.share_above_bound = share_upper_bound(above, worth, k_confidence);
      if (total) confidence_.number_above_bound = *confidence_.share_above_bound * static_cast<double>(*total);
    }
    if (total) confidence_.expected_number = static_cast<double>(confidence_.above_largest) / n * static_cast<double>(*total);
    find_model_tail();
  }

  // A passed normality test does not support the tail beyond the data; a failed one rules it out.
  void find_model_tail() {
    const std::optional<double> s = side_.aperture.standard_deviation_um();
    if (confidence_.effective_n < k_fewest_for_model) {
      confidence_.no_model = NoModel::too_few;
    } else if (!(*s > 0)) {
      confidence_.no_model = NoModel::no_spread;
    } else if (settings_.suspects_found || !side_.suspect.empty()) {
      confidence_.no_model = NoModel::sorted_out;
    } else if (diagnosis_.readings_complete && !looks_normal()) {
      confidence_.no_model = NoModel::not_normal;
    } else {
      const double deviation = confidence_.groups ? confidence_.groups->standard_deviation : *s;
      confidence_.model_share_bound = normal_share_upper_bound(*side_.aperture.mean_um(), deviation, confidence_.effective_n,
                                                               row_.largest_aperture().um(), k_confidence);
    }
  }

  // Similar readings of a gap or field are averaged first: counting each of them would overstate the evidence.
  bool looks_normal() const {
    constexpr double k_level = 0.05;
    constexpr std::size_t k_fewest_units = 8;
    const Units units = units_of(gathered_, direction_, pitch_of(row_), settings_.contiguous);
    const bool apart = units.values.size() < k_fewest_units;
    const std::vector<double>& all = gathered_.values;
    const std::optional<Normality> tested =
        normality(apart ? all : units.values, apart ? all : units.first, gathered_.step.um(), k_level);
    return tested && tested->test.p_value > k_level;
  }

  // Below the required count nothing is decided, whatever the intervals say.
  std::int64_t at_least_required(double needed) const {
    const std::optional<RequiredCount>& required = assessment_.required;
    const std::int64_t least = required && !required->all ? required->count : 3;
    return std::max(least, static_cast<std::int64_t>(needed));
  }

  // For an infinite piece; a finite one needs fewer, since n of N scale the interval by sqrt(1 - n / N).
  void find_needed() {
    if (assessment_.all_measured || !has_interval()) return;
    const double s = *side_.aperture.standard_deviation_um();
    const double mean = *side_.aperture.mean_um();
    const double margin = std::min(std::fabs(mean - row_.smallest_mean().um()), std::fabs(mean - row_.largest_mean().um()));
    const double design = confidence_.groups ? confidence_.groups->design_effect : 1;
    const double z = quantile(boost::math::normal_distribution<double, InDouble>(), 1 - (1 - k_confidence) / 2);
    double needed = design * std::pow(z * s / margin, 2);
    if (diagnosis_.apertures_in_piece && !settings_.contiguous)
      needed /= 1 + needed / static_cast<double>(*diagnosis_.apertures_in_piece);
    if (needed <= static_cast<double>(k_most_needed)) confidence_.needed_for_mean = at_least_required(std::ceil(needed));
    find_needed_for_spread(s);
  }

  void find_needed_for_spread(double s) {
    const Specification& specification = assessment_.specification;
    const SpreadRule& rule = specification.edition->rules.spread;
    const Grade grade = specification.lookup_grade();
    const std::optional<Limit>& limit = row_.standard_deviation_limit[grade];
    if (!limit || s > limit->value.um()) return;
    const auto passes = [&](std::int64_t n) {
      return !rule.factor || standard_deviation_factor(n, rule.tail_millionths[grade]) * s <= limit->value.um();
    };
    if (!passes(k_most_needed)) return;
    std::int64_t low = 1;
    std::int64_t high = k_most_needed;
    while (high - low > 1) {
      const std::int64_t middle = low + (high - low) / 2;
      (passes(middle) ? high : low) = middle;
    }
    confidence_.needed_for_spread = at_least_required(static_cast<double>(high));
  }

  void find_uncertainty() {
    const UncertaintySources& sources = settings_.uncertainty;
    if (!diagnosis_.uncertainty_known) return;
    const double mean = *side_.aperture.mean_um();
    const std::optional<double> s = side_.aperture.standard_deviation_um();
    confidence_.mean_uncertainty = mean_uncertainty(sources, mean, s, confidence_.n);
    confidence_.reading_uncertainty = reading_uncertainty(sources, side_.aperture.maximum().um());
    if (s) {
      confidence_.deviation_uncertainty = deviation_uncertainty(sources, *s, confidence_.n);
      confidence_.corrected_deviation_um = corrected_deviation_um(sources, *s);
    }
    if (!sources.complete()) return;
    confidence_.largest_conformity =
        conformity_of(*confidence_.reading_uncertainty, side_.aperture.maximum().um(), row_.largest_aperture());
    const std::optional<Limit>& limit = row_.standard_deviation_limit[assessment_.specification.lookup_grade()];
    if (limit && s) confidence_.deviation_conformity = conformity_of(*confidence_.deviation_uncertainty, *s, limit->value);
    if (!confidence_.mean_um) return;
    const double u = std::hypot(confidence_.mean_uncertainty->combined_um, standard_error_);
    const double lower = row_.smallest_mean().um();
    const double upper = row_.largest_mean().um();
    if (!(u > 0)) return;
    confidence_.mean_conformity = conformity_probability(mean, u, lower, upper);
    if (settings_.process) confidence_.risks = global_risks(*settings_.process, u, lower, upper, guard_um());
  }

  static std::optional<double> conformity_of(const Uncertainty& uncertainty, double value_um, Length limit) {
    if (!(uncertainty.combined_um > 0)) return std::nullopt;
    return conformity_probability(value_um, uncertainty.combined_um, std::nullopt, limit.um());
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
  const std::span<const Reading> readings_;
  const Gathered gathered_;
  double standard_error_ = 0;
  DirectionConfidence confidence_;
};

WeaveConditions weave_conditions(const Row& row, bool contiguous) {
  const Length range = row.wire.maximum.value - row.wire.minimum.value;
  return {pitch_of(row), row.average_tolerance.value, Length::from_pm(range.pm() / 2), contiguous};
}

}  // namespace

Diagnosis diagnose(const Assessment& assessment, std::span<const Reading> readings, const DiagnosisSettings& settings) {
  const Row& row = *assessment.specification.row;
  const Piece& piece = assessment.conditions.piece;
  Diagnosis diagnosis;
  diagnosis.apertures_stated = piece.apertures_in_piece.has_value();
  diagnosis.apertures_in_piece = piece.apertures_in_piece ? piece.apertures_in_piece : full_apertures(row, piece);
  diagnosis.readings_complete = complete(assessment.sample, readings);
  const UncertaintySources& sources = settings.uncertainty;
  diagnosis.uncertainty_known = sources.resolution || sources.scale_factor || sources.scale_offset || sources.repeatability;
  diagnosis.uncertainty_complete = sources.complete();
  diagnosis.contiguous = settings.contiguous;
  for (const Direction direction : k_directions) {
    diagnosis.confidence[direction] = DirectionDiagnosis(assessment, diagnosis, settings, readings, direction).make();
  }
  if (diagnosis.readings_complete) diagnosis.weave = find_signs(readings, weave_conditions(row, settings.contiguous));
  return diagnosis;
}

}  // namespace sievecloth
