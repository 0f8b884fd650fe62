// The bytes of a snapshot: little-endian, at fixed places, with a checksum at the end. docs/c-abi.md describes them.
#pragma once

#include "sievecloth/inspector.hpp"

namespace sievecloth {

/// What a snapshot holds.
struct SnapshotContent {
  std::uint64_t fingerprint = 0;
  std::optional<PerDirection<std::int64_t>> planned;
  std::optional<bool> viewing_passed;
  Sample sample;
};

/// The same for equal specifications, another one for any other number, name, provenance or table set.
std::uint64_t fingerprint(const Specification& specification) noexcept;

Snapshot write_snapshot(const SnapshotContent& content) noexcept;

/// `empty` is a sample with the thresholds to hold readings against.
/// Errors: snapshot_damaged, snapshot_version, snapshot_mismatch (a fingerprint other than `expected`).
Result<SnapshotContent> read_snapshot(std::span<const std::byte> bytes, std::uint64_t expected, const Sample& empty);

}  // namespace sievecloth
