#include "diagnosis/tally.hpp"

#include <algorithm>
#include <utility>

namespace sievecloth {

void Tally::coarsen() {
  constexpr std::int64_t k_coarser = 10;
  NumberMap<std::int64_t> coarser;
  counts_.for_each([&](std::int64_t key, std::int64_t count) { coarser[in_steps(key, k_coarser)] += count; });
  counts_ = std::move(coarser);
  step_pm_ *= k_coarser;
  if (counts_.size() > k_most_values) coarsen();
}

std::vector<Counted> Tally::sorted() const {
  std::vector<std::pair<std::int64_t, std::int64_t>> present;
  present.reserve(counts_.size());
  counts_.for_each([&](std::int64_t key, std::int64_t count) { present.emplace_back(key, count); });
  std::sort(present.begin(), present.end());
  std::vector<Counted> values;
  values.reserve(present.size());
  for (const auto& [key, count] : present) values.push_back({Length::from_pm(key * step_pm_).um(), count});
  return values;
}

}  // namespace sievecloth
