#include "sievecloth/inspector.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "base/refusal.hpp"
#include "check/snapshot.hpp"
#include "judgement/conditions.hpp"
#include "judgement/criteria.hpp"

namespace sievecloth {
namespace {

Error plan_error(std::int64_t planned, std::int64_t most) {
  return {ErrorCode::option_value,
          "a planned number of readings that cannot be",
          std::to_string(planned),
          fmt::format("0 to {} in a direction", most),
          {}};
}

Result<void> check_plan(const Conditions& conditions) {
  if (!conditions.planned) return {};
  const std::int64_t most = std::min(k_most_readings, conditions.piece.apertures_in_piece.value_or(k_most_readings));
  for (const Direction direction : k_directions) {
    const std::int64_t planned = (*conditions.planned)[direction];
    if (planned < 0 || planned > most) return plan_error(planned, most);
  }
  return {};
}

// Failed on either side means failed; otherwise recorded on either side means recorded.
std::optional<bool> combined_viewing(const std::optional<bool>& a, const std::optional<bool>& b) noexcept {
  if (a == false || b == false) return false;
  return a ? a : b;
}

// What two inspectors of one piece must agree on; plan shares and viewing may differ.
bool agree(Conditions a, const Conditions& b) noexcept {
  if (a.planned.has_value() != b.planned.has_value()) return false;
  a.planned = b.planned;
  a.viewing_passed = b.viewing_passed;
  return a == b;
}

// A caller may have cast an invalid number to Quantity or Direction.
bool is_named(Quantity quantity, Direction direction) noexcept {
  return quantity <= Quantity::suspect && direction <= Direction::weft;
}

}  // namespace

Inspector::Inspector(const Specification& specification, const Conditions& conditions)
    : specification_(specification),
      conditions_(conditions),
      required_(required_count(specification, conditions.piece, conditions.agreed_count)),
      table_is_doubted_(!specification.edition->implausible_values_of(*specification.row).empty()),
      fingerprint_(fingerprint(specification)),
      evidence_(make_sample(specification)) {}

Result<Inspector> Inspector::create(const Specification& specification, const Conditions& conditions) {
  if (const Result<void> whole = check_specification(specification); !whole) return whole.errors();
  if (const Result<void> plan = check_plan(conditions); !plan) return plan.errors();
  if (conditions.decision != DecisionRule::simple) {
    return Error{ErrorCode::option_conflict,
                 "an inspector judges by simple acceptance",
                 std::string(to_text(conditions.decision)),
                 "simple-acceptance; assess takes the other rules once everything is measured",
                 {}};
  }
  const Inspector inspector(specification, conditions);
  const Result<Assessment> nothing_yet = inspector.finish();  // detects errors in the piece before anything is measured
  if (!nothing_yet.ok()) return nothing_yet.errors();
  return inspector;
}

Result<void> Inspector::refuse(Quantity quantity, Direction direction, Result<void> reason) noexcept {
  DirectionSample& side = evidence_.sample[direction];
  ++(quantity == Quantity::wire ? side.refused_wires : side.refused_apertures);
  return reason;
}

// Apertures beyond the plan are compared with w + X, like suspects.
Summary& Inspector::target(Quantity quantity, Direction direction) noexcept {
  DirectionSample& side = evidence_.sample[direction];
  if (quantity == Quantity::wire) return side.wire;
  return quantity == Quantity::suspect || is_planned_out(direction) ? side.suspect : side.aperture;
}

bool Inspector::is_planned_out(Direction direction) const noexcept {
  return conditions_.planned && evidence_.sample[direction].aperture.count() >= (*conditions_.planned)[direction];
}

bool Inspector::is_full(Direction direction) const noexcept {
  const std::optional<std::int64_t>& in_piece = conditions_.piece.apertures_in_piece;
  return in_piece && evidence_.sample[direction].aperture.count() >= *in_piece;
}

Result<void> Inspector::add(Quantity quantity, Direction direction, Length reading) noexcept {
  if (!is_named(quantity, direction)) return refusal(ErrorCode::wrong_argument, "no quantity");
  if (quantity == Quantity::aperture && is_planned_out(direction) && is_full(direction))
    return refuse(quantity, direction, refusal(ErrorCode::piece_contradicted, "piece is full"));
  // Small apertures beyond the plan carry no information; among the suspects they would look misread.
  if (quantity == Quantity::aperture && is_planned_out(direction) && Length() < reading && reading < specification_.row->nominal)
    return {};
  Result<void> taken = target(quantity, direction).add(reading);
  return taken ? Result<void>() : refuse(quantity, direction, std::move(taken));
}

Result<void> Inspector::add(Quantity quantity, Direction direction, double reading, Unit unit) noexcept {
  if (!is_named(quantity, direction)) return refusal(ErrorCode::wrong_argument, "no quantity");
  if (!std::isfinite(reading)) return refuse(quantity, direction, refusal(ErrorCode::malformed_number, "not finite"));
  if (reading <= 0) return refuse(quantity, direction, refusal(ErrorCode::not_positive, "not above 0"));
  if (reading > 2 * static_cast<double>(k_longest_reading.pm()) / static_cast<double>(picometres(unit)))
    return refuse(quantity, direction, refusal(ErrorCode::too_large, "above 100 m"));
  return add(quantity, direction, *round_to_length(reading, unit));
}

Result<void> Inspector::add(Quantity quantity, Direction direction, std::span<const Length> readings) noexcept {
  Result<void> all;
  for (const Length reading : readings) {
    Result<void> taken = add(quantity, direction, reading);
    if (!taken && all) all = std::move(taken);
  }
  return all;
}

Result<void> Inspector::add(Quantity quantity, Direction direction, std::span<const double> readings, Unit unit) noexcept {
  if (!is_named(quantity, direction)) return refusal(ErrorCode::wrong_argument, "no quantity");
  // Blocks of valid readings that do not exceed the plan are added at once; everything else one by one, with the same bits.
  const bool planned = quantity == Quantity::aperture && conditions_.planned;
  const std::int64_t most = planned ? (*conditions_.planned)[direction] : k_most_readings;
  const std::int64_t before = planned ? evidence_.sample[direction].aperture.count() : target(quantity, direction).count();
  const bool fits = before + static_cast<std::int64_t>(readings.size()) <= most;
  if (unit == Unit::micrometre && fits && target(quantity, direction).add_um(readings)) return {};
  Result<void> all;
  for (const double reading : readings) {
    Result<void> taken = add(quantity, direction, reading, unit);
    if (!taken && all) all = std::move(taken);
  }
  return all;
}

Result<void> Inspector::merge(const Inspector& other) noexcept {
  if (&other == this || other.fingerprint_ != fingerprint_ || !agree(conditions_, other.conditions_))
    return refusal(ErrorCode::inspectors_differ, "another piece");
  Conditions conditions = conditions_;
  if (conditions.planned) {
    for (const Direction direction : k_directions) {
      std::int64_t& planned = (*conditions.planned)[direction];
      planned += (*other.conditions_.planned)[direction];
      if (planned > k_most_readings) return refusal(ErrorCode::too_many_readings, "above 10^10");
    }
  }
  conditions.viewing_passed = combined_viewing(conditions_.viewing_passed, other.conditions_.viewing_passed);
  Result<void> merged = evidence_.sample.merge(other.evidence_.sample);
  if (merged) conditions_ = conditions;
  return merged;
}

void Inspector::record_viewing(bool passed) noexcept {
  conditions_.viewing_passed = combined_viewing(conditions_.viewing_passed, passed);
}

Standing Inspector::standing() const noexcept {
  if (conditions_.viewing_passed == false) return {true, CriterionId::viewing, std::nullopt};
  if (table_is_doubted_) return {};
  const Case the_case{specification_, conditions_, evidence_, required_, false};
  for (const CatalogueEntry& entry : catalogue()) {
    for (const Direction direction : k_directions) {
      if (entry.is_rejected != nullptr && entry.is_rejected(the_case, direction)) return {true, entry.id, direction};
    }
  }
  return {};
}

Result<Assessment> Inspector::finish() const { return assess(specification_, evidence_, conditions_); }

Snapshot Inspector::save() const noexcept {
  return write_snapshot(
      {fingerprint_, fingerprint(conditions_), conditions_.planned, conditions_.viewing_passed, evidence_.sample});
}

Result<Inspector> Inspector::restore(const Specification& specification, const Conditions& conditions,
                                     std::span<const std::byte> bytes) {
  Result<Inspector> inspector = create(specification, conditions);
  if (!inspector.ok()) return inspector;
  const Result<SnapshotContent> content = read_snapshot(bytes, specification);
  if (!content.ok()) return content.errors();
  if (content->planned != conditions.planned)
    return Error{ErrorCode::snapshot_mismatch, "the snapshot was taken with another plan", "", "the plan it was made with", {}};
  if (content->conditions && *content->conditions != fingerprint(conditions))
    return Error{ErrorCode::snapshot_mismatch,
                 "the snapshot was taken under other conditions",
                 "",
                 "frame or roll, resolution, agreed count and what was left out as they were then",
                 {}};
  inspector->conditions_.viewing_passed = combined_viewing(conditions.viewing_passed, content->viewing_passed);
  inspector->evidence_.sample = content->sample;
  return inspector;
}

}  // namespace sievecloth
