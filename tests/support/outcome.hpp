// What a call answered, as tests compare it.
#pragma once

#include <cstddef>
#include <optional>

#include "sievecloth/result.hpp"

namespace sievecloth::test {

/// Nothing, or why it was refused.
inline std::optional<ErrorCode> code_of(const Result<void>& outcome) {
  return outcome.ok() ? std::nullopt : std::optional(outcome.error().code);
}

/// Nothing, or the index of the reading for which a whole span was refused.
inline std::optional<std::size_t> refused_at(const Result<void>& outcome) {
  return outcome.ok() ? std::nullopt : std::optional(static_cast<std::size_t>(outcome.error().where.line - 1));
}

}  // namespace sievecloth::test
