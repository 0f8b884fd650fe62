#include "sievecloth/sample.hpp"

#include <algorithm>

#include "base/refusal.hpp"
#include "measurement/names.hpp"

namespace sievecloth {

std::string_view to_text(Direction value) noexcept { return word_of(value); }

Sample::Sample(const Thresholds& aperture, Length wire_nominal) noexcept {
  for (const Direction direction : k_directions) {
    directions_[direction] = {Summary(aperture), Summary(Thresholds{wire_nominal, {}, {}}), Summary(aperture), 0, 0};
  }
}

Result<void> Sample::add(const Reading& reading) noexcept {
  DirectionSample& side = directions_[reading.direction];
  Result<void> first;
  const auto take = [&](const std::optional<Length>& length, Summary& summary, std::int64_t& refused) {
    if (!length) return;
    Result<void> taken = summary.add(*length);
    if (taken.ok()) return;
    ++refused;
    if (first.ok()) first = std::move(taken);
  };
  take(reading.aperture, reading.role == Role::sample ? side.aperture : side.suspect, side.refused_apertures);
  if (reading.role == Role::sample) {
    take(reading.wire, side.wire, side.refused_wires);
  } else if (reading.wire) {
    ++side.refused_wires;
    if (first.ok()) first = refusal(ErrorCode::suspect_wire, "not an aperture");
  }
  return first;
}

Result<void> Sample::merge(const Sample& other) noexcept {
  if (&other == this) return refusal(ErrorCode::inspectors_differ, "merged twice");
  Sample merged = *this;
  for (const Direction direction : k_directions) {
    DirectionSample& side = merged[direction];
    const DirectionSample& more = other[direction];
    for (Summary DirectionSample::*summary : {&DirectionSample::aperture, &DirectionSample::wire, &DirectionSample::suspect}) {
      if (Result<void> taken = (side.*summary).merge(more.*summary); !taken.ok()) return taken;
    }
    side.refused_apertures += more.refused_apertures;
    side.refused_wires += more.refused_wires;
  }
  merged.readings_lost_ = readings_lost_ || other.readings_lost_;
  merged.named_suspects_ = std::max(named_suspects_, other.named_suspects_);
  *this = merged;
  return {};
}

std::int64_t Sample::count() const noexcept {
  std::int64_t count = 0;
  for (const Direction direction : k_directions) {
    const DirectionSample& side = directions_[direction];
    count += side.aperture.count() + side.wire.count() + side.suspect.count();
  }
  return count;
}

}  // namespace sievecloth
