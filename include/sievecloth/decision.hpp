// Decision rules: how measurement uncertainty enters a verdict.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

#include "sievecloth/sample.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// When a value is accepted.
enum class DecisionRule : std::uint8_t {
  simple,         ///< a value within its limits is accepted, as in the standards; uncertainty does not enter
  guarded,        ///< accepted only within limits tightened by the guard band, else rejected
  four_outcomes,  ///< pass and fail beyond the guard band, conditional pass and fail within it; both conditional ones are undecided
};
/// `simple-acceptance`, `guarded-acceptance`, `four-outcomes`. Source of the last: ILAC-G8:09/2019, 4.2.3.
std::string_view to_text(DecisionRule rule) noexcept;
/// Errors: option_value.
Result<DecisionRule> parse_decision_rule(std::string_view text);

/// Coverage probability of an expanded uncertainty: k = 2 with many degrees of freedom.
inline constexpr double k_coverage = 0.9545;

/// Measurement uncertainty [um] of one figure of the measured apertures; sampling uncertainty is not included.
struct Uncertainty {
  double systematic_um = 0;                  ///< the same in every reading
  double random_um = 0;                      ///< independent in every reading
  double combined_um = 0;                    ///< standard uncertainty u
  std::optional<double> freedom;             ///< effective degrees of freedom (Welch-Satterthwaite); empty: unlimited
  double coverage_factor = 0;                ///< k, from Student's t, or as stated
  double coverage_probability = k_coverage;  ///< of U
  double expanded_um = 0;                    ///< U = k u
  bool complete = true;                      ///< false: some sources are unknown, so that it is a lower bound
  bool from_budget = false;                  ///< as the laboratory's budget states it
  bool budget_is_smaller = false;            ///< the budget states less than follows from the other sources
};

/// The one uncertainty of each figure of a direction; empty where nothing is known of it.
using FigureUncertainties = PerFigure<std::optional<Uncertainty>>;

/// Guard band of one criterion in one direction. Exact: rounded once, upwards, when it is computed.
struct Guard {
  Length band;      ///< w: how far the limit moves
  Length expanded;  ///< U: if 2 U reaches the width of the tolerance, the instrument cannot decide

  /// Equal in every member.
  bool operator==(const Guard&) const = default;
};

/// Guard bands of one direction; empty where the uncertainty is unknown.
struct Guards {
  std::optional<Guard> average;             ///< of the mean aperture
  std::optional<Guard> reading;             ///< of a single reading: for the maximum and the intermediate limit
  std::optional<Guard> standard_deviation;  ///< of s, from measurement uncertainty alone
  std::optional<Guard> wire;                ///< of the mean wire

  /// Equal in every member.
  bool operator==(const Guards&) const = default;
};

/// Numbers of apertures of one direction above the intermediate limit lowered and raised by the guard band of a reading.
struct GuardedCounts {
  std::int64_t above_lowered = 0;  ///< above the lowered limit
  std::int64_t above_raised = 0;   ///< above the raised limit

  /// Equal in every member.
  bool operator==(const GuardedCounts&) const = default;
};

}  // namespace sievecloth
