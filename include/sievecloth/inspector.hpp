// The check while the instrument still measures: readings go in one by one, the verdict so far comes out at any time.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

#include "sievecloth/assessment.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// What a reading is of. A suspect is an aperture that is compared with w + X alone.
enum class Quantity : std::uint8_t { aperture, wire, suspect };

/// The verdict so far. There is none to accept: looking often and stopping when a sample passes is not a verdict.
struct Standing {
  bool rejected = false;                         ///< whatever readings follow, `finish` will say does-not-conform
  CriterionId criterion = CriterionId::viewing;  ///< which criterion rejects, the first in their order; only where failed
  std::optional<Direction> direction;            ///< in which direction; empty for viewing

  /// Equal in every member.
  bool operator==(const Standing&) const = default;
};

/// A snapshot is so many bytes; docs/c-abi.md describes them.
inline constexpr std::size_t k_snapshot_size = 648;
/// What `Inspector::save` gives and `Inspector::restore` takes.
using Snapshot = std::array<std::byte, k_snapshot_size>;

/// Takes the readings of one piece as they come.
///
/// An inspector is a value of fixed size: adding, merging, asking for the standing and saving neither allocate nor throw.
/// Threads: one inspector each, merged afterwards; several threads may read one that nobody changes. Order, splitting and merging
/// leave the bits alone. The edition must outlive the inspector.
///
/// An invalid reading (NaN, infinite, zero, negative, above 100 m, or more than 10^10) is refused: it never enters, it is
/// counted in `sample()`, and `finish` leaves undecided what it would otherwise accept.
///
/// With `Conditions::planned`, apertures of a direction beyond the plan are compared with w + X alone and cannot bring a mean back:
/// those from w on are taken as suspects, smaller ones say nothing and leave no trace. Each thread's inspector has its own share of
/// the plan; merging adds the shares.
class Inspector {
 public:
  /// Errors: piece_contradicted, as in `assess`; option_value (a negative plan or one above 10^10, or above the apertures in the
  /// piece); option_conflict (a decision rule other than simple acceptance, whose limits move with the sample). Without memory
  /// this, `restore` and `finish` throw std::bad_alloc and leave nothing behind.
  static Result<Inspector> create(const Specification& specification, const Conditions& conditions);

  /// Takes one reading, or refuses it and counts it. Errors: not_positive, too_large, too_many_readings; wrong_argument, with
  /// nothing counted, where quantity or direction is none of the named ones.
  Result<void> add(Quantity quantity, Direction direction, Length reading) noexcept;
  /// The same for a double, rounded once to the nearest picometre, ties to even. Errors: also malformed_number (not finite).
  Result<void> add(Quantity quantity, Direction direction, double reading, Unit unit) noexcept;

  /// Takes all readings of one quantity and direction but for those refused, which are counted. Errors: that of the first refused.
  Result<void> add(Quantity quantity, Direction direction, std::span<const Length> readings) noexcept;
  /// The same for doubles.
  Result<void> add(Quantity quantity, Direction direction, std::span<const double> readings, Unit unit) noexcept;

  /// Takes what `other` took of the same piece. A visual examination failed on either side is failed. Errors, with nothing merged:
  /// inspectors_differ (another specification, other conditions, a plan on one side only, or `other` is this one),
  /// too_many_readings. Readings have no names: what is in both, as in a copy or a snapshot restored twice, counts twice, and it is
  /// the caller's task to merge each part once.
  Result<void> merge(const Inspector& other) noexcept;

  /// Records the viewing tests. A failed viewing stays failed.
  void record_viewing(bool passed) noexcept;
  /// Records how many of the suspects taken have a name, each aperture once; `Conditions::suspects_recorded` is compared with it.
  void set_named_suspects(std::int64_t count) noexcept { evidence_.sample.set_named_suspects(count); }
  /// Records that readings of the piece did not arrive: from now on `finish` leaves undecided what it would otherwise accept.
  void record_lost_readings() noexcept { evidence_.sample.set_readings_lost(); }

  /// Whether the piece is rejected: a failed viewing; an aperture above w + X; with a plan that reaches the required count
  /// also a mean, s or share that no further readings up to w + X can bring back. Exact for each of them by itself; that a mean can
  /// recover only with an s that cannot is noticed later. Where the edition asks for a resolution, nothing is claimed that a
  /// coarse step of the readings could still leave undecided.
  Standing standing() const noexcept;

  const Specification& specification() const noexcept { return specification_; }  ///< as given
  const Conditions& conditions() const noexcept { return conditions_; }  ///< as given, with merged shares and recorded viewing
  const Sample& sample() const noexcept { return evidence_.sample; }     ///< the readings so far

  /// Exactly what `assess` gives for `sample()` and `conditions()`. Allocates. Errors: piece_contradicted.
  Result<Assessment> finish() const;

  /// Everything taken so far, whether readings were lost, the conditions, the plan and the viewing tests.
  Snapshot save() const noexcept;
  /// The inspector of a snapshot, with the specification and conditions it was made with. A snapshot of format 1 does not say
  /// whether readings were lost or what the conditions were: its piece is never accepted.
  /// Errors: those of `create`; snapshot_damaged (not whole, or changed), snapshot_version (of a later format),
  /// snapshot_mismatch (another specification, table set or plan; other conditions, but for the viewing tests).
  static Result<Inspector> restore(const Specification& specification, const Conditions& conditions,
                                   std::span<const std::byte> bytes);

 private:
  Inspector(const Specification& specification, const Conditions& conditions);
  Result<void> refuse(Quantity quantity, Direction direction, Result<void> reason) noexcept;
  bool is_planned_out(Direction direction) const noexcept;
  Summary& target(Quantity quantity, Direction direction) noexcept;

  Specification specification_;
  Conditions conditions_;
  std::optional<RequiredCount> required_;
  bool table_is_doubted_;      // what the table says then rejects nothing
  std::uint64_t fingerprint_;  // of the specification: what a snapshot and a merge must agree on
  Evidence evidence_;
};

}  // namespace sievecloth
