// How many different wires were measured, as far as column `gap` tells.
#pragma once

#include <cstdint>
#include <optional>
#include <set>

#include "sievecloth/sample.hpp"

namespace sievecloth {

/// Counts the wires of one direction. Readings along one gap cross the same wire; one without a gap is a wire of its own.
class DifferentWires {
 public:
  /// Nobody needs to know of more.
  static constexpr std::int64_t k_enough = 1000;

  void add(std::int32_t gap) {
    if (gap == k_no_gap) {
      ++without_gap_;
    } else if (static_cast<std::int64_t>(gaps_.size()) < k_enough) {
      gaps_.insert(gap);
    }
  }

  /// Empty where no wire has a gap.
  std::optional<std::int64_t> count() const {
    return gaps_.empty() ? std::nullopt : std::optional(without_gap_ + static_cast<std::int64_t>(gaps_.size()));
  }

 private:
  std::set<std::int32_t> gaps_;
  std::int64_t without_gap_ = 0;
};

}  // namespace sievecloth
