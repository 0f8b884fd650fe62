// Readings as comma, semicolon or tab separated text.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "sievecloth/sample.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// How a text of readings is to be taken.
struct CsvOptions {
  std::optional<Unit> unit;      ///< of columns that do not name theirs; an error where every column does
  bool ignore_columns = false;   ///< take other columns as notes instead of complaining
  bool last_line = false;        ///< the last line may lack its line end; without this it is taken to be cut
  std::string file = "-";        ///< name in complaints
  std::int64_t first_line = 1;   ///< number of the text's first line in that file
  std::int64_t indentation = 0;  ///< characters before each line of the text in that file
};

/// A longer line is an error [bytes].
inline constexpr std::size_t k_longest_line = 65'536;
/// Positions are compared with each other up to so many rows that have one.
inline constexpr std::size_t k_most_positions = 100'000;

/// Reads the text in pieces of any size, in constant memory.
///
/// A header names the columns: `direction`, `aperture_<unit>` and/or `wire_<unit>` (`um`, `mm`, `in`), optional `role`, `field`,
/// `x_mm`, `y_mm`. The unit may also stand in brackets or behind a comma: `Aperture (um)`, `wire, mm`. Names, and the words for
/// directions and roles, are compared without regard to case; a name that is nearly one of these is a complaint, also where other
/// columns are ignored. One reading per row; as many cells as the header; empty cells allowed. Blanks around a cell do not count.
/// `#` begins a comment line, but below the header not one that has as many cells as the header or names a direction behind its
/// first cell. LF or CRLF, UTF-8 with or without BOM, `"` quotes a cell within its line.
/// A decimal comma is read where cells are not separated by commas, one mark per file.
/// Numbers are exact: nothing is rounded, nothing depends on a locale.
class CsvReader {
 public:
  /// Called for each row that holds a reading, in order, after it was checked.
  using Sink = std::function<void(const Reading&)>;

  /// Nothing is read yet.
  CsvReader(CsvOptions options, Sink sink);
  ~CsvReader();
  /// Moves the reading under way.
  CsvReader(CsvReader&&) noexcept;
  /// Moves the reading under way.
  CsvReader& operator=(CsvReader&&) noexcept;

  /// Takes the next bytes. After `k_most_complaints` complaints it reads no further and answers false.
  bool feed(std::string_view bytes);
  /// Whether `finish` will complain, whatever follows.
  bool has_complaints() const noexcept;
  /// The columns that were ignored, as the header names them.
  const std::vector<std::string>& ignored_columns() const noexcept;

  /// Takes the end of the text. The result is the number of rows with a reading, at least 1, or every complaint (2xx).
  Result<std::int64_t> finish();

 private:
  class State;
  std::unique_ptr<State> state_;
};

/// What a text of readings held.
struct ReadRows {
  std::int64_t rows = 0;                     ///< with a reading, at least 1
  std::vector<std::string> ignored_columns;  ///< as the header names them
};

/// Fills the span with the next bytes of a text. Result: how many, 0 at its end; or what went wrong.
using ByteSource = std::function<Result<std::size_t>(std::span<char>)>;

/// Takes rows in the order of the file; rows without a reading may be among them. The columns are good until it returns.
using ColumnSink = std::function<void(const ReadingColumns&)>;

/// Reads the text that `source` gives: the same rows, the same complaints as by a CsvReader, at the speed of reading the file. The
/// result does not depend on `threads` (1 or more, of which 32 are used; others start only for a text longer than 512 KiB).
/// `source` and `sink` are called by one thread at a time. Memory: about 2 MiB with one thread, 8 MiB with two, 27 MiB with
/// 32, and up to 10 MiB more where rows have positions. Result: the rows; or every complaint (2xx), or the error of `source`: then
/// what `sink` has taken counts for nothing.
Result<ReadRows> read_readings(const ByteSource& source, const CsvOptions& options, const ColumnSink& sink, unsigned threads = 1);

/// The same, straight into `sample`, which has its thresholds already. After an error the sample is as it was.
Result<ReadRows> read_readings(const ByteSource& source, const CsvOptions& options, Sample& sample, unsigned threads = 1);

}  // namespace sievecloth
