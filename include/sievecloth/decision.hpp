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
