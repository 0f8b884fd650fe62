#include "diagnosis/gap_finder.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

namespace sievecloth {
namespace {

constexpr double k_widest_turn = 0.1;  // tangent: nearly 6 degrees
constexpr int k_rounds = 4;

double extent(std::span<const Place> places, double Place::*coordinate) {
  const auto less = [&](const Place& a, const Place& b) { return a.*coordinate < b.*coordinate; };
  const auto [low, high] = std::minmax_element(places.begin(), places.end(), less);
  return places.empty() ? 0 : (*high).*coordinate - (*low).*coordinate;
}

/// Counts how many stripes of half a pitch hold a place, for many slopes.
class Stripes {
 public:
  Stripes(std::span<const Place> places, double half_pitch) : places_(places), half_pitch_(half_pitch) {
    for (const Place& place : places) lowest_ = std::min(lowest_, place.across - k_widest_turn * std::fabs(place.along));
    double highest = lowest_;
    for (const Place& place : places) highest = std::max(highest, place.across + k_widest_turn * std::fabs(place.along));
    seen_.resize(static_cast<std::size_t>(std::min(k_most_stripes, (highest - lowest_) / half_pitch) + 2));
  }

  std::size_t count(double slope) {
    ++turn_;
    std::size_t count = 0;
    for (const Place& place : places_) {
      const auto stripe = static_cast<std::size_t>((place.across - slope * place.along - lowest_) / half_pitch_) % seen_.size();
      count += seen_[stripe] != turn_ ? 1u : 0u;
      seen_[stripe] = turn_;
    }
    return count;
  }

 private:
  static constexpr double k_most_stripes = 1e6;
  std::span<const Place> places_;
  double half_pitch_;
  double lowest_ = 0;
  std::vector<int> seen_;  // the last turn in which a place was there
  int turn_ = 0;
};

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

// The slope at which the places lie in the fewest stripes; of equal ones the smallest. Two places in different gaps share a stripe
// by chance at many slopes, but only the true one brings all readings of every gap together: a quarter fewer stripes than usual.
double rough_slope(std::span<const Place> places, double half_pitch) {
  constexpr double k_few = 0.75;
  constexpr int k_parts = 4;  // of half a pitch, by which the furthest place moves from one slope to the next
  const double along = extent(places, &Place::along);
  if (places.size() < 4 || !(along > 0)) return 0;
  const auto steps = static_cast<int>(std::min(20'000.0, std::ceil(k_parts * k_widest_turn * along / half_pitch)));
  Stripes stripes(places, half_pitch);
  std::vector<double> counts;
  double best = 0;
  double fewest = static_cast<double>(stripes.count(0));
  for (int step = 1; step <= steps; ++step) {
    for (const double sign : {1.0, -1.0}) {
      const double slope = sign * k_widest_turn * step / steps;
      counts.push_back(static_cast<double>(stripes.count(slope)));
      if (counts.back() >= fewest) continue;
      fewest = counts.back();
      best = slope;
    }
  }
  if (counts.empty()) return 0;
  const auto middle = counts.begin() + static_cast<std::ptrdiff_t>(counts.size() / 2);
  std::nth_element(counts.begin(), middle, counts.end());
  return fewest <= k_few * *middle ? best : 0;
}

}  // namespace

GapFinder::GapFinder(double pitch_um, std::span<const Place> first) : half_pitch_(pitch_um / 2) {
  if (first.empty()) return;
  // In order of place, from the middle: the result does not depend on the order of the rows.
  std::vector<Place> places(first.begin(), first.end());
  std::sort(places.begin(), places.end(),
            [](const Place& a, const Place& b) { return a.along != b.along ? a.along < b.along : a.across < b.across; });
  const Place middle = places[places.size() / 2];
  for (Place& place : places) {
    place.across -= middle.across;
    place.along -= middle.along;
  }
  slope_ = rough_slope(places, half_pitch_);
  if (slope_ == 0) return;
  // Readings within a gap that was cut in two at the rough slope come together, little by little.
  for (int round = 0; round < k_rounds; ++round) slope_ = refined(places, slope_, pitch_um);
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
