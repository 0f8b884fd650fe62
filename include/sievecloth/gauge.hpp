// A gauge study: several operators read the same apertures several times each.
#pragma once

#include <cstdint>
#include <optional>
#include <span>

#include "sievecloth/result.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// One reading of a study.
struct GaugeReading {
  std::int32_t item = 0;    ///< which aperture, from 0
  std::int32_t person = 0;  ///< who read it, from 0
  double value = 0;         ///< what was read
};

/// One line of the analysis of variance.
struct GaugeSource {
  double square = 0;         ///< sum of squares
  std::int64_t freedom = 0;  ///< degrees of freedom
  /// Sum of squares over degrees of freedom.
  double mean_square() const noexcept { return square / static_cast<double>(freedom); }
};

/// Standard deviations are in the unit of the values. One that the data put below 0 is 0.
struct Gauge {
  std::int64_t items = 0;    ///< apertures
  std::int64_t people = 0;   ///< who read them
  std::int64_t trials = 0;   ///< of each person on each item
  GaugeSource item;          ///< from aperture to aperture
  GaugeSource person;        ///< from person to person
  GaugeSource interaction;   ///< of people and apertures
  GaugeSource error;         ///< from trial to trial
  double interaction_p = 1;  ///< that people differ in the same way on every item
  bool pooled = false;       ///< interaction_p above 0.25: interaction and error are taken together

  double repeatability = 0;          ///< one person, one aperture, again and again
  double reproducibility = 0;        ///< from person to person
  double interaction_deviation = 0;  ///< 0 where pooled
  double combined = 0;               ///< repeatability and reproducibility together, the interaction included
  double between_items = 0;          ///< from aperture to aperture
  double total = 0;                  ///< everything together
  double percent_of_total = 0;       ///< 100 combined / total
  double categories = 0;             ///< 1.41 between items / combined; whole ones count

  /// Classes of apertures that the instrument tells apart.
  std::int64_t whole_categories() const noexcept { return static_cast<std::int64_t>(categories); }
};

/// Analysis of variance, two factors crossed. Source: the usual gauge study of measurement systems analysis (AIAG, 4th edition).
/// Errors: study_unbalanced (fewer than two items, people or trials; not every person read every item equally often; no error
/// left).
Result<Gauge> study_gauge(std::span<const GaugeReading> readings);

/// Whether an instrument can decide a tolerance, from one reading of one aperture.
enum class GaugeFitness : std::uint8_t {
  fit,       ///< 6 deviations take at most 10 % of the tolerance's width (common practice)
  marginal,  ///< at most 30 %
  unfit,     ///< more
  cannot,    ///< 2 U reaches the width: no verdict can rest on one reading
};
/// `fit`, `marginal`, `unfit`, `cannot-decide`.
std::string_view to_text(GaugeFitness fitness) noexcept;
/// What an instrument is good for.
struct GaugeVerdict {
  double percent = 0;                        ///< 600 combined / width
  GaugeFitness fitness = GaugeFitness::fit;  ///< what follows from it
};
/// `width` of the tolerance, both sides together; U = 2 combined. width > 0.
GaugeVerdict judge_gauge(const Gauge& gauge, double width) noexcept;

}  // namespace sievecloth
