// The byte format of a snapshot: little-endian, fixed offsets, a checksum at the end. docs/c-abi.md describes it.
#pragma once

#include "sievecloth/inspector.hpp"

namespace sievecloth {

/// What a snapshot holds.
struct SnapshotContent {
  std::uint64_t fingerprint = 0;            ///< of the specification
  std::optional<std::uint64_t> conditions;  ///< their fingerprint; empty in format 1
  std::optional<PerDirection<std::int64_t>> planned;
  std::optional<bool> viewing_passed;
  Sample sample;
};

/// Equal for equal specifications, different if any number, name, provenance or table set differs.
std::uint64_t fingerprint(const Specification& specification) noexcept;
/// The same for conditions, except the plan and the viewing, which a snapshot holds, and rules that inspectors do not support.
std::uint64_t fingerprint(const Conditions& conditions) noexcept;

Snapshot write_snapshot(const SnapshotContent& content) noexcept;

/// The fingerprint in snapshots of format 1 for a specification of a built-in edition; empty for others.
std::optional<std::uint64_t> first_format_fingerprint(const Specification& specification) noexcept;

/// Errors: snapshot_damaged, snapshot_version, snapshot_mismatch (fingerprint of a different specification).
Result<SnapshotContent> read_snapshot(std::span<const std::byte> bytes, const Specification& specification);

}  // namespace sievecloth
