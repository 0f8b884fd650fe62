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

/// A size as if two people had transcribed everything about it from the standard: no basis is weaker than seen.
class VerifiedSize {
 public:
  explicit VerifiedSize(const Specification& specification)
      : edition_(*specification.edition), row_(*specification.row), grade_(specification.grade) {
    for (Limit* limit :
         {&row_.average_tolerance, &row_.maximum_tolerance, &row_.wire.preferred, &row_.wire.minimum, &row_.wire.maximum})
      limit->basis = k_seen;
    if (row_.intermediate_limit) row_.intermediate_limit->basis = k_seen;
    for (const Grade grade : k_grades) {
      if (row_.standard_deviation_limit[grade]) row_.standard_deviation_limit[grade]->basis = k_seen;
      if (row_.counts[grade]) row_.counts[grade]->basis = k_seen;
    }
    Rules& rules = edition_.rules;
    rules.spread.basis = rules.counts.basis = rules.wire_count.basis = k_seen;
    if (rules.share) rules.share->basis = k_seen;
    if (rules.resolution) rules.resolution->basis = k_seen;
    edition_.rows = {&row_, 1};
  }
  VerifiedSize(const VerifiedSize&) = delete;
  VerifiedSize& operator=(const VerifiedSize&) = delete;

  Row& row() { return row_; }
  Rules& rules() { return edition_.rules; }
  /// Lives as long as this.
  Specification specification() const { return {&edition_, &row_, grade_}; }

 private:
  static constexpr Basis k_seen{Provenance::seen, 0};
  Edition edition_;
  Row row_;
  std::optional<Grade> grade_;
};

/// Adds `n` equal readings.
inline void add(Sample& sample, Direction direction, std::int64_t n, std::optional<Length> aperture,
                std::optional<Length> wire = std::nullopt) {
  Reading reading;
  reading.direction = direction;
  reading.aperture = aperture;
  reading.wire = wire;
  for (std::int64_t i = 0; i < n; ++i) sample.add(reading).value();
}

inline void add_suspect(Sample& sample, Direction direction, Length aperture) {
  Reading reading;
  reading.direction = direction;
  reading.role = Role::suspect;
  reading.aperture = aperture;
  sample.add(reading).value();
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
