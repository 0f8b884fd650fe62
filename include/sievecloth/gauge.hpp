// Gauge R&R study: several operators read the same apertures several times each.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "sievecloth/result.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// One reading of a study.
struct GaugeReading {
  std::int32_t item = 0;    ///< which aperture, from 0
  std::int32_t person = 0;  ///< operator, from 0
  double value = 0;         ///< the reading
};

/// One line of the analysis of variance.
struct GaugeSource {
  double square = 0;         ///< sum of squares
  std::int64_t freedom = 0;  ///< degrees of freedom
  /// Sum of squares over degrees of freedom.
  double mean_square() const noexcept { return square / static_cast<double>(freedom); }
};

/// A standard deviation with its 95 % confidence interval, in the unit of the values. A negative variance estimate counts as 0, and
/// so does a negative lower limit. Both limits are 0 where not even the upper one is positive: the readings agree better than
/// chance lets expect, and no interval can be given.
struct GaugeDeviation {
  double value = 0;  ///< estimate
  double lower = 0;  ///< 0: the standard deviation may be anything up to `upper`
  double upper = 0;  ///< at least `value` where there is an interval

  /// Whether there is an interval.
  bool bounded() const noexcept { return upper > 0; }
};

/// By how much the mean of one operator's readings differs from that of all operators, with its 95 % confidence interval.
struct GaugeBias {
  double value = 0;       ///< the operator's mean less the mean of all
  double half_width = 0;  ///< of the confidence interval, which is centred on the value
};

/// The intervals treat operators and apertures as random samples of those that there are. Those of the standard deviations are
/// modified large-sample intervals (Burdick, Borror and Montgomery, Design and Analysis of Gauge R&R Studies, 2005; Ting et al.
/// 1990 for differences of mean squares); they leave the interaction unpooled.
struct Gauge {
  std::int64_t items = 0;    ///< apertures
  std::int64_t people = 0;   ///< operators
  std::int64_t trials = 0;   ///< readings of each operator on each item
  GaugeSource item;          ///< between apertures
  GaugeSource person;        ///< between operators
  GaugeSource interaction;   ///< of operators and apertures
  GaugeSource error;         ///< between trials
  double interaction_p = 1;  ///< p-value of the hypothesis that operators differ in the same way on every item
  bool pooled = false;       ///< interaction_p above 0.25: interaction and error are pooled

  GaugeDeviation repeatability;          ///< one operator, one aperture, repeated trials
  GaugeDeviation reproducibility;        ///< between operators
  GaugeDeviation interaction_deviation;  ///< estimated as 0 if pooled
  GaugeDeviation combined;               ///< total gauge R&R: repeatability and reproducibility, the interaction included
  GaugeDeviation between_items;          ///< between apertures
  GaugeDeviation total;                  ///< total variation
  std::vector<GaugeBias> biases;         ///< of each operator
  double percent_of_total = 0;           ///< 100 combined / total
  double categories = 0;                 ///< 1.41 between_items / combined, not rounded

  /// Number of distinct categories: classes of apertures that the instrument can distinguish.
  std::int64_t whole_categories() const noexcept { return static_cast<std::int64_t>(categories); }
};

/// Two-factor crossed analysis of variance. Source: the usual gauge study of measurement systems analysis (AIAG, 4th edition).
/// Errors: study_unbalanced (fewer than two items, operators or trials; operators did not read every item equally often; no
/// variation between trials).
Result<Gauge> study_gauge(std::span<const GaugeReading> readings);

/// The standard deviation of the mean of `n` apertures, each read once by the same operator: the operator's part stays, the rest is
/// averaged out. The apertures are taken as given: how they were sampled is no part of it. Requires n >= 1.
GaugeDeviation deviation_of_mean(const Gauge& gauge, std::int64_t n);

/// Whether an instrument can decide a tolerance. In order of decreasing fitness.
enum class GaugeFitness : std::uint8_t {
  fit,        ///< 6 standard deviations are at most 10 % of the tolerance's width (common practice)
  marginal,   ///< at most 30 %
  unfit,      ///< more
  cannot,     ///< 2 U reaches the width: no verdict can rest on it
  undecided,  ///< the study is too small: the confidence interval reaches into several classes
};
/// `fit`, `marginal`, `unfit`, `cannot-decide`, `undecided`.
std::string_view to_text(GaugeFitness fitness) noexcept;
/// Suitability of an instrument for a tolerance. Percentages are 600 standard deviations / width.
struct GaugeVerdict {
  double percent = 0;                        ///< by the estimate
  double lower = 0;                          ///< by the lower confidence limit
  double upper = 0;                          ///< by the upper confidence limit
  GaugeFitness best = GaugeFitness::fit;     ///< class of the lower confidence limit
  GaugeFitness worst = GaugeFitness::fit;    ///< class of the upper confidence limit
  GaugeFitness fitness = GaugeFitness::fit;  ///< both classes if they are the same, else undecided
};
/// `width`: full width of the tolerance, both sides together; U = 2 standard deviations. Undecided without an interval. Requires
/// width > 0.
GaugeVerdict judge_gauge(const GaugeDeviation& deviation, double width) noexcept;

}  // namespace sievecloth
