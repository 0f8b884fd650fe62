// Readings as whole numbers in binary, for rigs that measure millions of them. docs/binary-readings.md describes the format.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "sievecloth/readings_csv.hpp"
#include "sievecloth/sample.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// The first bytes of a file of binary readings.
inline constexpr std::string_view k_binary_magic{"\x89SVCR\r\n\x1A", 8};
/// Maximum number of readings in a run.
inline constexpr std::size_t k_longest_run = 65'536;

/// What the readings of a run measure; the values are those in the file.
enum class RunQuantity : std::uint8_t { aperture = 1, suspect = 2, wire = 3 };

/// Consecutive readings of one kind in one direction, as multiples of the file's quantum.
struct Run {
  Direction direction = Direction::warp;         ///< of all readings
  RunQuantity quantity = RunQuantity::aperture;  ///< of all readings
  std::span<const std::int32_t> values;          ///< in quanta
};

/// Adds the readings of a run. Errors, leaving the sample unchanged: those of Summary::add_quanta.
Result<void> add(Sample& sample, const Run& run, Length quantum) noexcept;

/// Reads binary readings from `source`. `file` is its name in error messages; `take` is called for each run, in order, once its
/// checksum is verified and each of its readings is known to be above 0 and at most 100 m. Memory: two runs.
/// Returns the number of readings, at least 1. Errors: malformed_binary (not this format, truncated, or followed by more data),
/// checksum, not_positive, too_large, no_readings, too_many_readings, and those of `source`.
Result<std::int64_t> read_binary(const ByteSource& source, const std::string& file,
                                 const std::function<void(const Run&, Length quantum)>& take);

/// Writes the format run by run. Not thread-safe.
class BinaryWriter {
 public:
  /// Receives the bytes of the file in their order.
  using Sink = std::function<void(std::string_view)>;

  /// Writes the header to `sink`. Requires 0 < quantum <= k_coarsest_quantum; otherwise nothing is written and no run is accepted.
  BinaryWriter(Length quantum, Sink sink);

  /// Writes 1 to k_longest_run readings, each above 0. Errors, with nothing written: wrong_argument (no or too many readings, or an
  /// invalid quantum), not_positive.
  Result<void> write(const Run& run);
  /// Writes the end of the file; a file without it counts as truncated.
  void finish();

 private:
  void write_checked(std::vector<char> bytes);

  Sink sink_;
  Length quantum_;
  std::int64_t count_ = 0;
};

}  // namespace sievecloth
