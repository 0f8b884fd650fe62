// Random specifications, conditions and readings for the property tests, the same in every run.
#pragma once

#include <algorithm>
#include <random>
#include <vector>

#include "sievecloth/inspector.hpp"

namespace sievecloth::test {

/// One reading on its way into an inspector.
struct Push {
  Quantity quantity = Quantity::aperture;
  Direction direction = Direction::warp;
  Length reading;
};

class RandomPiece {
 public:
  explicit RandomPiece(std::uint64_t seed) : random_(seed) {}

  std::uint64_t below(std::uint64_t bound) { return random_() % bound; }
  bool chance(int percent) { return below(100) < static_cast<std::uint64_t>(percent); }

  Specification specification() {
    const auto editions = built_in_editions();
    const Edition& edition = *editions[below(editions.size())];
    Specification specification{&edition, &edition.rows[below(edition.rows.size())], std::nullopt};
    if (edition.rules.graded) specification.grade = k_grades[below(k_grades.size())];
    return specification;
  }

  Conditions conditions() {
    Conditions conditions;
    if (chance(60)) conditions.viewing_passed = !chance(10);
    conditions.measured_only = chance(20);
    conditions.apertures_only = chance(40);
    conditions.only_seen = chance(15);
    if (chance(30)) conditions.resolution = Length::of(static_cast<std::int64_t>(1 + below(5)), Unit::micrometre);
    if (chance(20)) conditions.piece.frame = Frame{FrameShape::round, Length::of(200, Unit::millimetre)};
    return conditions;
  }

  /// Readings around the nominal size, good or bad cloth, fine or coarse steps.
  std::vector<Push> readings(const Specification& specification, std::size_t count) {
    const Row& row = *specification.row;
    const std::int64_t step = std::array<std::int64_t, 4>{1, 1'000, 1'000'000, 5'000'000}[below(4)];
    const std::int64_t shift = static_cast<std::int64_t>(below(7)) - 3;
    std::vector<Push> pushes(count);
    for (Push& push : pushes) {
      push.quantity = chance(75) ? Quantity::aperture : chance(80) ? Quantity::wire : Quantity::suspect;
      push.direction = chance(50) ? Direction::warp : Direction::weft;
      const bool wire = push.quantity == Quantity::wire;
      const std::int64_t middle = (wire ? row.wire.preferred.value : row.nominal).pm();
      const std::int64_t spread = std::max<std::int64_t>(2, row.average_tolerance.value.pm());
      const std::int64_t offset =
          shift * spread / 2 + static_cast<std::int64_t>(below(static_cast<std::uint64_t>(2 * spread))) - spread;
      const std::int64_t reading = std::max(step, (middle + offset) / step * step);
      push.reading = chance(1) ? row.largest_aperture() + Length::from_pm(step) : Length::from_pm(reading);
    }
    return pushes;
  }

  template <class Container>
  void shuffle(Container& container) {
    std::shuffle(container.begin(), container.end(), random_);
  }

 private:
  std::mt19937_64 random_;
};

inline void add(Sample& sample, const Push& push) {
  DirectionSample& side = sample[push.direction];
  (push.quantity == Quantity::aperture ? side.aperture
   : push.quantity == Quantity::wire   ? side.wire
                                       : side.suspect)
      .add(push.reading)
      .value();
}

}  // namespace sievecloth::test
