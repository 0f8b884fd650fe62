// Short ways to build samples and to look into assessments.
#pragma once

#include <algorithm>
#include <stdexcept>
#include <string>
#include <string_view>

#include "sievecloth/assessment.hpp"

namespace sievecloth::test {

inline constexpr Length k_pm = Length::from_pm(1);

constexpr Length um(std::int64_t count) { return Length::of(count, Unit::micrometre); }

inline Specification specification(std::string_view edition, std::string_view size, std::optional<Grade> grade = std::nullopt) {
  return specify(*find_edition(edition).value(), size, grade).value();
}

/// Adds `n` equal readings.
inline void add(Sample& sample, Direction direction, std::int64_t n, std::optional<Length> aperture,
                std::optional<Length> wire = std::nullopt) {
  Reading reading;
  reading.direction = direction;
  reading.aperture = aperture;
  reading.wire = wire;
  for (std::int64_t i = 0; i < n; ++i) sample.add(reading);
}

inline void add_suspect(Sample& sample, Direction direction, Length aperture) {
  Reading reading;
  reading.direction = direction;
  reading.role = Role::suspect;
  reading.aperture = aperture;
  sample.add(reading);
}

/// `n` apertures on the nominal size and ten preferred wires, in both directions.
inline Sample perfect(const Specification& specification, std::int64_t n) {
  Sample sample = make_sample(specification);
  for (const Direction direction : k_directions) {
    add(sample, direction, n, specification.row->nominal);
    add(sample, direction, 10, std::nullopt, specification.row->wire.preferred.value);
  }
  return sample;
}

inline Conditions viewed() { return {.viewing_passed = true}; }

inline const Criterion& criterion(const Assessment& assessment, CriterionId id, std::optional<Direction> direction = std::nullopt) {
  const auto found = std::find_if(assessment.criteria.begin(), assessment.criteria.end(),
                                  [&](const Criterion& c) { return c.id == id && c.direction == direction; });
  if (found == assessment.criteria.end()) throw std::runtime_error("no such criterion");
  return *found;
}

inline Outcome outcome(const Assessment& assessment, CriterionId id, Direction direction = Direction::warp) {
  return criterion(assessment, id, direction).outcome;
}

}  // namespace sievecloth::test
