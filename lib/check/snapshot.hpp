// The bytes of a snapshot: little-endian, at fixed places, with a checksum at the end. docs/c-abi.md describes them.
#pragma once

#include "sievecloth/inspector.hpp"

namespace sievecloth {

/// What a snapshot holds.
struct SnapshotContent {
  std::uint64_t fingerprint = 0;            ///< of the specification
  std::optional<std::uint64_t> conditions;  ///< their fingerprint; none in format 1
  std::optional<PerDirection<std::int64_t>> planned;
  std::optional<bool> viewing_passed;
  Sample sample;
};

/// The same for equal specifications, another one for any other number, name, provenance or table set.
std::uint64_t fingerprint(const Specification& specification) noexcept;
/// The same of conditions, but for the plan and the viewing tests, which a snapshot holds, and rules that inspectors do not have.
std::uint64_t fingerprint(const Conditions& conditions) noexcept;

Snapshot write_snapshot(const SnapshotContent& content) noexcept;

/// The fingerprint that snapshots of format 1 bear for a specification of an edition that is built in; none for others.
std::optional<std::uint64_t> first_format_fingerprint(const Specification& specification) noexcept;

/// Errors: snapshot_damaged, snapshot_version, snapshot_mismatch (the fingerprint of another specification).
Result<SnapshotContent> read_snapshot(std::span<const std::byte> bytes, const Specification& specification);

}  // namespace sievecloth
