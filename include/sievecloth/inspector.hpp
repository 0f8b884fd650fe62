// The check during measurement: readings are added one by one, and the verdict so far is available at any time.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

#include "sievecloth/assessment.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// What a reading measures. A suspect is an aperture that is compared with w + X only.
enum class Quantity : std::uint8_t { aperture, wire, suspect };

/// The verdict so far. There is none to accept: checking often and stopping once a sample passes is not a verdict.
struct Standing {
  bool rejected = false;                         ///< `finish` will return does_not_conform whatever readings follow
  CriterionId criterion = CriterionId::viewing;  ///< which criterion rejects, the first in their order; only if rejected
  std::optional<Direction> direction;            ///< in which direction; empty for viewing

  /// Equal in every member.
  bool operator==(const Standing&) const = default;
};

/// Size of a snapshot [bytes]; docs/c-abi.md describes its contents.
inline constexpr std::size_t k_snapshot_size = 648;
/// Written by `Inspector::save`, read by `Inspector::restore`.
using Snapshot = std::array<std::byte, k_snapshot_size>;

/// Accumulates the readings of one piece as they arrive.
///
/// An inspector is a value of fixed size: adding, merging, querying the standing and saving neither allocate nor throw.
/// Threads: one inspector each, merged afterwards; several threads may read one that no thread changes. The result is bit-identical
/// whatever the order, splitting and merging. The edition must outlive the inspector.
///
/// An invalid reading (NaN, infinite, zero, negative, above 100 m, or more than 10^10) is refused: it is counted in `sample()` but
/// not used, and `finish` returns undecided where it would otherwise accept.
///
/// With `Conditions::planned`, apertures of a direction beyond the plan are compared with w + X only and cannot bring a mean back:
/// those from w up are added as suspects, smaller ones are discarded. Each thread's inspector has its own share of the plan;
/// merging adds the shares.
class Inspector {
 public:
  /// Creates the inspector of a piece. Errors: piece_contradicted, as in `assess`; option_value (a negative plan, or one above
  /// 10^10 or above the apertures in the piece); option_conflict (a decision rule other than simple acceptance, whose limits depend
  /// on the sample). If memory runs out, this, `restore` and `finish` throw std::bad_alloc and leave nothing behind.
  static Result<Inspector> create(const Specification& specification, const Conditions& conditions);

  /// Adds one reading, or refuses and counts it. Errors: not_positive, too_large, too_many_readings; wrong_argument (quantity or
  /// direction is not a named enumerator; nothing is counted).
  Result<void> add(Quantity quantity, Direction direction, Length reading) noexcept;
  /// The same for a double, rounded once to the nearest picometre, ties to even. Errors: also malformed_number (not finite).
  Result<void> add(Quantity quantity, Direction direction, double reading, Unit unit) noexcept;

  /// Adds all readings of one quantity and direction, except those refused, which are counted. Errors: that of the first refused.
  Result<void> add(Quantity quantity, Direction direction, std::span<const Length> readings) noexcept;
  /// The same for doubles.
  Result<void> add(Quantity quantity, Direction direction, std::span<const double> readings, Unit unit) noexcept;

  /// Adds the readings of `other`, which must be of the same piece. A visual examination failed on either side stays failed.
  /// Readings carry no identity: one that is in both, as in a copy or a snapshot restored twice, counts twice, so the caller must
  /// merge each part exactly once.
  /// Errors, with nothing merged: inspectors_differ (different specification or conditions, a plan on one side only, or `other` is
  /// this one), too_many_readings.
  Result<void> merge(const Inspector& other) noexcept;

  /// Records the visual examination. A failed one stays failed.
  void record_viewing(bool passed) noexcept;
  /// Sets the number of distinct named suspects, which is compared with `Conditions::suspects_recorded`.
  void set_named_suspects(std::int64_t count) noexcept { evidence_.sample.set_named_suspects(count); }
  /// Sets the number of different wires measured in a direction, where the caller knows that readings along one gap crossed the same
  /// wire; otherwise each reading counts as a wire of its own. Neither merged nor saved: set it again, at the latest before `finish`.
  void set_different_wires(Direction direction, std::int64_t count) noexcept { evidence_.different_wires[direction] = count; }
  /// Records that readings of the piece were lost: from now on `finish` returns undecided where it would otherwise accept.
  void record_lost_readings() noexcept { evidence_.sample.set_readings_lost(); }

  /// Returns whether the piece is rejected: a failed visual examination; an aperture above w + X; with a plan that reaches the
  /// required count also a mean, s or share that no further readings up to w + X can bring back within its limits. Exact for each
  /// of them by itself; a mean that can recover only together with an s that cannot is detected later. Where the edition requires a
  /// resolution, nothing is claimed that coarse steps of the readings could still leave undecided.
  Standing standing() const noexcept;

  const Specification& specification() const noexcept { return specification_; }  ///< as given
  const Conditions& conditions() const noexcept { return conditions_; }           ///< as given, with merged plan shares and viewing
  const Sample& sample() const noexcept { return evidence_.sample; }              ///< the readings so far

  /// Returns exactly what `assess` returns for `sample()` and `conditions()`. Allocates. Errors: piece_contradicted.
  Result<Assessment> finish() const;

  /// Everything taken so far, whether readings were lost, the conditions, the plan and the viewing tests.
  Snapshot save() const noexcept;
  /// Restores the inspector of a snapshot; specification and conditions must be those it was created with. A snapshot of format 1
  /// records neither lost readings nor conditions: its piece is never accepted.
  /// Errors: those of `create`; snapshot_damaged (incomplete or altered), snapshot_version (of a later format), snapshot_mismatch
  /// (different specification, table set, plan or conditions, the visual examination excepted).
  static Result<Inspector> restore(const Specification& specification, const Conditions& conditions,
                                   std::span<const std::byte> bytes);

 private:
  Inspector(const Specification& specification, const Conditions& conditions);
  Result<void> refuse(Quantity quantity, Direction direction, Result<void> reason) noexcept;
  bool is_planned_out(Direction direction) const noexcept;
  bool is_full(Direction direction) const noexcept;  // as many as the piece has
  Summary& target(Quantity quantity, Direction direction) noexcept;

  Specification specification_;
  Conditions conditions_;
  std::optional<RequiredCount> required_;
  bool table_is_doubted_;      // then no limit of the table rejects
  std::uint64_t fingerprint_;  // of the specification: must agree in snapshots and merges
  Evidence evidence_;
};

}  // namespace sievecloth
