// Rules of decision: how the uncertainty of measurement enters a verdict.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

#include "sievecloth/sample.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// When a value is accepted.
enum class DecisionRule : std::uint8_t {
  simple,         ///< a value within its limits is accepted, as the standards do; the uncertainty does not enter
  guarded,        ///< accepted only within limits that are moved inwards by the guard band, else rejected
  four_outcomes,  ///< pass and fail beyond the guard band, conditional pass and fail within it; both conditional ones are undecided
};
/// `simple-acceptance`, `guarded-acceptance`, `four-outcomes`. Source of the last: ILAC-G8:09/2019, 4.2.3.
std::string_view to_text(DecisionRule rule) noexcept;
/// Errors: option_value.
Result<DecisionRule> parse_decision_rule(std::string_view text);

/// What one criterion in one direction is guarded with. Exact: whoever computes it rounds once, upwards.
struct Guard {
  Length band;      ///< w: how far the limit moves
  Length expanded;  ///< U: where 2 U reaches the width of the tolerance, this instrument cannot decide

  /// Equal in every member.
  bool operator==(const Guard&) const = default;
};

/// Guards of one direction; empty where the uncertainty is not known.
struct Guards {
  std::optional<Guard> average;             ///< of the mean aperture
  std::optional<Guard> reading;             ///< of a single reading: for the maximum, and for the limit of the share
  std::optional<Guard> standard_deviation;  ///< of s, by measurement alone
  std::optional<Guard> wire;                ///< of the mean wire

  /// Equal in every member.
  bool operator==(const Guards&) const = default;
};

/// Apertures of one direction above the intermediate limit when that is moved by the guard band of a reading, downwards and
/// upwards.
struct GuardedCounts {
  std::int64_t above_lowered = 0;  ///< above the limit moved downwards
  std::int64_t above_raised = 0;   ///< above the limit moved upwards

  /// Equal in every member.
  bool operator==(const GuardedCounts&) const = default;
};

}  // namespace sievecloth
