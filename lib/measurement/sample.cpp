#include "sievecloth/sample.hpp"

namespace sievecloth {

std::string_view to_text(Direction direction) noexcept { return direction == Direction::warp ? "warp" : "weft"; }

Sample::Sample(const Thresholds& aperture, Length wire_nominal) noexcept {
  for (const Direction direction : k_directions) {
    directions_[direction] = {Summary(aperture), Summary(Thresholds{wire_nominal, {}, {}}), Summary(aperture), 0, 0};
  }
}

void Sample::add(const Reading& reading) noexcept {
  DirectionSample& side = directions_[reading.direction];
  if (reading.aperture) (reading.role == Role::sample ? side.aperture : side.suspect).add(*reading.aperture);
  if (reading.wire) side.wire.add(*reading.wire);
}

void Sample::merge(const Sample& other) noexcept {
  for (const Direction direction : k_directions) {
    directions_[direction].aperture.merge(other[direction].aperture);
    directions_[direction].wire.merge(other[direction].wire);
    directions_[direction].suspect.merge(other[direction].suspect);
    directions_[direction].refused_apertures += other[direction].refused_apertures;
    directions_[direction].refused_wires += other[direction].refused_wires;
  }
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
