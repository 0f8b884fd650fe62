// Readings as whole numbers in binary, for rigs that take millions of them. docs/binary-readings.md describes the format.
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

/// What a file of binary readings begins with.
inline constexpr std::string_view k_binary_magic{"\x89SVCR\r\n\x1A", 8};
/// So many readings a run holds at most.
inline constexpr std::size_t k_longest_run = 65'536;

/// What the readings of a run are of; the numbers stand in the file.
enum class RunQuantity : std::uint8_t { aperture = 1, suspect = 2, wire = 3 };

/// Readings of one kind in one direction, one after the other, as whole numbers of the file's quantum.
struct Run {
  Direction direction = Direction::warp;         ///< of all readings
  RunQuantity quantity = RunQuantity::aperture;  ///< of all readings
  std::span<const std::int32_t> values;          ///< quanta
};

/// Adds the readings of a run. Errors, with nothing taken: those of Summary::add_quanta.
Result<void> add(Sample& sample, const Run& run, Length quantum) noexcept;

/// Reads what `source` gives. `file` is its name in complaints; `take` is called for each run, in order, after its checksum was
/// found right and each of its readings above 0 and at most 100 m. Memory: two runs.
/// Result: the number of readings, at least 1. Errors: malformed_binary (not this format, cut short, or more behind its end),
/// checksum, not_positive, too_large, no_readings, too_many_readings, and those of `source`.
Result<std::int64_t> read_binary(const ByteSource& source, const std::string& file,
                                 const std::function<void(const Run&, Length quantum)>& take);

/// Writes the format run by run. Not for several threads at a time.
class BinaryWriter {
 public:
  /// Takes the bytes of the file in their order.
  using Sink = std::function<void(std::string_view)>;

  /// Hands the header to `sink`. 0 < quantum <= k_coarsest_quantum, otherwise nothing is written and no run is taken.
  BinaryWriter(Length quantum, Sink sink);

  /// Hands over 1 to k_longest_run readings, each above 0. Errors, with nothing written: wrong_argument (none, too many, or the
  /// quantum), not_positive.
  Result<void> write(const Run& run);
  /// Hands over the end; a file without it is taken to be cut short.
  void finish();

 private:
  void write_checked(std::vector<char> bytes);

  Sink sink_;
  Length quantum_;
  std::int64_t count_ = 0;
};

}  // namespace sievecloth
