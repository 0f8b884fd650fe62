// Counts how often each length occurs.
#pragma once

#include <cstdint>
#include <vector>

#include "diagnosis/number_map.hpp"
#include "sievecloth/observations.hpp"

namespace sievecloth {

/// Readings are decimals, so that a few thousand different values hold millions of them.
class Tally {
 public:
  /// `length` above 0.
  void add(Length length) {
    std::int64_t key = length.pm();
    if (step_pm_ > 1) key = in_steps(key, step_pm_);
    ++counts_[key];
    if (counts_.size() > k_most_values) coarsen();
  }

  /// Returns the values, ascending.
  std::vector<Counted> sorted() const;
  bool coarsened() const noexcept { return step_pm_ > 1; }

 private:
  static std::int64_t in_steps(std::int64_t value, std::int64_t step) noexcept { return (value + step / 2) / step; }
  void coarsen();

  NumberMap<std::int64_t> counts_;
  std::int64_t step_pm_ = 1;
};

}  // namespace sievecloth
