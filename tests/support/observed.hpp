// Gathers what statistics need of readings.
#pragma once

#include <map>
#include <span>
#include <vector>

#include "sievecloth/observations.hpp"

namespace sievecloth::test {

inline Observations observed(std::span<const Reading> readings, const ObservationSettings& settings) {
  Observations observations(settings);
  for (const Reading& reading : readings) observations.add(reading);
  return observations;
}

/// Sums of `values`, one for each number in `groups`, in ascending order of these.
template <class Number>
std::vector<GroupSums> sums_by_group(std::span<const double> values, std::span<const Number> groups, double reference = 0) {
  std::map<Number, GroupSums> sums;
  for (std::size_t i = 0; i < values.size(); ++i) {
    GroupSums& sum = sums[groups[i]];
    if (sum.n++ == 0) sum.first_um = values[i];
    sum.sum_um += values[i] - reference;
    sum.squares_um2 += (values[i] - reference) * (values[i] - reference);
  }
  std::vector<GroupSums> result;
  for (const auto& [number, sum] : sums) result.push_back(sum);
  return result;
}

}  // namespace sievecloth::test
