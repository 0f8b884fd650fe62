#include "diagnosis/independence.hpp"

#include <algorithm>
#include <cmath>

namespace sievecloth {
namespace {

// An estimate from n values is too small by about (1 + 3 r) / n. Within three of its standard errors, up to a quarter of one is
// left to chance.
double careful_correlation(double r, double n) {
  const double error = 1 / std::sqrt(n);
  const double chance = 0.25 * error * std::max(0.0, 1 - r / (3 * error));
  const double bias = r > 3 * error ? (1 + 3 * r) / n : 0;
  return std::clamp(r + bias - chance, 0.0, k_most_correlation);
}

}  // namespace

bool are_neighbours(const SeriesObservations& series, double pitch_um) {
  constexpr std::size_t k_fewest = 3;
  const double next = series.gaps_by_position ? 1.5 * pitch_um : 1;
  const auto apart = [&](const GroupSums& gap, const GroupSums& after) { return after.place - gap.place > next; };
  return series.gaps.size() >= k_fewest && std::adjacent_find(series.gaps.begin(), series.gaps.end(), apart) == series.gaps.end();
}

Independence independence_of(const SeriesObservations& series, const Surroundings& surroundings) {
  constexpr double k_nearly_all = 0.9;
  Independence result{.units = series.n, .contiguous = surroundings.contiguous};
  if (!series.fields.empty()) {
    result.dependence = Dependence::by_field;
    result.groups = series.fields;
  } else if (!series.gaps.empty()) {
    result.dependence = Dependence::by_gap;
    result.groups = series.gaps;
  }
  if (!result.groups.empty()) result.units = static_cast<std::int64_t>(result.groups.size());
  if (result.units == series.n) result.groups = {};
  if (result.groups.empty()) result.correlation = series.lag1_correlation.value_or(0);
  const bool across_the_piece =
      surroundings.gaps_in_piece && static_cast<double>(series.gaps.size()) >= k_nearly_all * *surroundings.gaps_in_piece;
  if (are_neighbours(series, surroundings.pitch_um) && !across_the_piece) result.contiguous = true;
  return result;
}

std::optional<MeanEstimate> mean_of(const SeriesObservations& series, const Independence& independence, double resolution_um) {
  constexpr std::int64_t k_fewest = 3;
  if (series.n < k_fewest || independence.units < 2 || series.values.size() < 2) return std::nullopt;
  if (!independence.groups.empty()) {
    std::optional<MeanEstimate> of_groups = mean_of_groups(independence.groups, series.reference_um);
    // Rounding makes means of few, small groups equal by chance: at least what rounding alone leaves open.
    const double step = std::max(series.step_um, resolution_um);
    of_groups->standard_error = std::max(of_groups->standard_error, step / std::sqrt(12 * static_cast<double>(series.n)));
    return of_groups;
  }
  std::optional<MeanEstimate> estimate = mean_of(moments(series.values));
  const double r = careful_correlation(independence.correlation, static_cast<double>(series.n)), inflation = (1 + r) / (1 - r);
  estimate->standard_error *= std::sqrt(inflation);
  estimate->freedom = std::max(1.0, estimate->freedom / inflation);
  return estimate;
}

}  // namespace sievecloth
