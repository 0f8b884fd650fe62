// Gauge R&R study: several operators read the same apertures several times each.
#pragma once

#include <cstdint>
#include <optional>
#include <span>

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

/// Standard deviations are in the unit of the values. A negative variance estimate counts as 0.
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

  double repeatability = 0;          ///< one operator, one aperture, repeated trials
  double reproducibility = 0;        ///< between operators
  double interaction_deviation = 0;  ///< 0 if pooled
  double combined = 0;               ///< total gauge R&R: repeatability and reproducibility, the interaction included
  double between_items = 0;          ///< between apertures
  double total = 0;                  ///< total variation
  double percent_of_total = 0;       ///< 100 combined / total
  double categories = 0;             ///< 1.41 between_items / combined, not rounded

  /// Number of distinct categories: classes of apertures that the instrument can distinguish.
  std::int64_t whole_categories() const noexcept { return static_cast<std::int64_t>(categories); }
};

/// Two-factor crossed analysis of variance. Source: the usual gauge study of measurement systems analysis (AIAG, 4th edition).
/// Errors: study_unbalanced (fewer than two items, operators or trials; operators did not read every item equally often; no
/// variation between trials).
Result<Gauge> study_gauge(std::span<const GaugeReading> readings);

/// Whether an instrument can decide a tolerance from one reading of one aperture.
enum class GaugeFitness : std::uint8_t {
  fit,       ///< 6 standard deviations are at most 10 % of the tolerance's width (common practice)
  marginal,  ///< at most 30 %
  unfit,     ///< more
  cannot,    ///< 2 U reaches the width: no verdict can rest on one reading
};
/// `fit`, `marginal`, `unfit`, `cannot-decide`.
std::string_view to_text(GaugeFitness fitness) noexcept;
/// Suitability of an instrument for a tolerance.
struct GaugeVerdict {
  double percent = 0;                        ///< 600 combined / width
  GaugeFitness fitness = GaugeFitness::fit;  ///< the classification
};
/// `width`: full width of the tolerance, both sides together; U = 2 combined. Requires width > 0.
GaugeVerdict judge_gauge(const Gauge& gauge, double width) noexcept;

}  // namespace sievecloth
