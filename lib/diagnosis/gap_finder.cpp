#include "diagnosis/gap_finder.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

namespace sievecloth {
namespace {

constexpr double k_widest_turn = 0.1;       // tangent: nearly 6 degrees
constexpr std::size_t k_most_places = 120;  // for the rough estimate: more would only make it slower

double extent(std::span<const Place> places, double Place::*coordinate) {
  const auto less = [&](const Place& a, const Place& b) { return a.*coordinate < b.*coordinate; };
  const auto [low, high] = std::minmax_element(places.begin(), places.end(), less);
  return places.empty() ? 0 : (*high).*coordinate - (*low).*coordinate;
}

// Places across the wires, ascending.
std::vector<double> sorted_across(std::span<const Place> places, double slope) {
  std::vector<double> across;
  across.reserve(places.size());
  for (const Place& place : places) across.push_back(place.across - slope * place.along);
  std::sort(across.begin(), across.end());
  return across;
}

std::size_t count_gaps(std::span<const Place> places, double slope, double half_pitch) {
  std::size_t count = 0;
  double begin = 0;
  for (const double at : sorted_across(places, slope)) {
    if (count == 0 || at - begin > half_pitch) {
      ++count;
      begin = at;
    }
  }
  return count;
}

// Least squares within gaps: what a rough slope leaves of a trend along the wires.
double refined(std::span<const Place> places, double slope, double pitch_um) {
  GapFinder finder(pitch_um, {});
  struct Sums {
    double n = 0, along = 0, across = 0;
  };
  std::vector<Sums> sums;
  std::vector<std::int32_t> gaps;
  for (const Place& place : places) {
    const Place turned{place.across - slope * place.along, place.along};
    const std::int32_t gap = finder.gap_of(turned);
    if (static_cast<std::size_t>(gap) == sums.size()) sums.emplace_back();
    Sums& sum = sums[static_cast<std::size_t>(gap)];
    ++sum.n;
    sum.along += turned.along;
    sum.across += turned.across;
    gaps.push_back(gap);
  }
  double products = 0;
  double squares = 0;
  for (std::size_t i = 0; i < places.size(); ++i) {
    const Sums& sum = sums[static_cast<std::size_t>(gaps[i])];
    const double along = places[i].along - sum.along / sum.n;
    products += along * (places[i].across - slope * places[i].along - sum.across / sum.n);
    squares += along * along;
  }
  return squares > 0 ? slope + products / squares : slope;
}

// The slope at which the places lie in the fewest gaps; of equal ones the smallest. Two places in different gaps seem to share one
// at many slopes, but only the true one brings all of them together: it must join more than twice as many as are joined by chance.
double rough_slope(std::span<const Place> places, double half_pitch) {
  const double along = extent(places, &Place::along);
  if (places.size() < 4 || !(along > 0)) return 0;
  const auto steps = static_cast<int>(std::min(20'000.0, std::ceil(2 * k_widest_turn * along / half_pitch)));
  std::vector<std::size_t> joined;
  double best = 0;
  std::size_t most = places.size() - count_gaps(places, 0, half_pitch);
  for (int step = 1; step <= steps; ++step) {
    for (const double sign : {1.0, -1.0}) {
      const double slope = sign * k_widest_turn * step / steps;
      joined.push_back(places.size() - count_gaps(places, slope, half_pitch));
      if (joined.back() <= most) continue;
      most = joined.back();
      best = slope;
    }
  }
  if (joined.empty()) return 0;
  const auto middle = joined.begin() + static_cast<std::ptrdiff_t>(joined.size() / 2);
  std::nth_element(joined.begin(), middle, joined.end());
  const std::size_t by_chance = *middle;
  return most > 2 * by_chance + 3 ? best : 0;
}

}  // namespace

GapFinder::GapFinder(double pitch_um, std::span<const Place> first) : half_pitch_(pitch_um / 2) {
  if (first.empty()) return;
  const std::size_t few = std::min(first.size(), k_most_places);
  slope_ = rough_slope(first.first(few), half_pitch_);
  // Each time over twice the length: the error left by one estimate must stay within half a pitch for the next.
  for (std::size_t some = few; some < 2 * first.size(); some *= 2)
    slope_ = refined(first.first(std::min(some, first.size())), slope_, pitch_um);
}

double GapFinder::turn_degrees() const noexcept { return std::atan(slope_) * 180 / std::numbers::pi; }

std::int32_t GapFinder::gap_of(const Place& place) {
  const double at = across(place);
  if (last_.number >= 0 && std::fabs(at - last_.begin) <= half_pitch_) return last_.number;
  const auto bucket = static_cast<std::int64_t>(std::floor(at / half_pitch_));
  for (const std::int64_t near : {bucket, bucket - 1, bucket + 1}) {
    const Gap* const found = gaps_.find(near);
    if (found != nullptr && std::fabs(at - found->begin) <= half_pitch_) return (last_ = *found).number;
  }
  last_ = {at, static_cast<std::int32_t>(gaps_.size())};
  gaps_[bucket] = last_;
  return last_.number;
}

}  // namespace sievecloth
