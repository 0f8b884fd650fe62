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

/// What a column holds, by its name in the header.
struct NamedColumn {
  std::string name;   ///< in the header, ignoring case; a unit behind it is the unit of the column, as in `Kette (um)`
  std::string holds;  ///< `direction`, `aperture`, `wire`, `role`, `field`, `gap`, `x`, `y` or `operator`
  std::optional<Direction> direction;  ///< of the readings in this column of a wide table; not of a direction, role or operator

  /// Equal in every member.
  bool operator==(const NamedColumn&) const = default;
};

/// How to read a text of readings.
struct CsvOptions {
  std::optional<Unit> unit;                 ///< of columns that do not name theirs; an error if every column does
  bool ignore_columns = false;              ///< ignore unknown columns instead of reporting an error
  bool last_line = false;                   ///< the last line may lack its line end; otherwise it counts as truncated
  std::string file = "-";                   ///< name in error messages
  std::int64_t first_line = 1;              ///< number of the text's first line in that file
  std::int64_t indentation = 0;             ///< characters before each line of the text in that file
  std::vector<NamedColumn> columns = {};    ///< columns with names of their own; all of them must be there
  std::optional<Direction> direction = {};  ///< of all readings: no column needs to state it, and one that does must agree
};

/// Maximum length of a line [bytes].
inline constexpr std::size_t k_longest_line = 65'536;
/// Maximum length of the name of a field [bytes].
inline constexpr std::size_t k_longest_field = 256;
/// Maximum number of rows whose positions are checked for repetition.
inline constexpr std::size_t k_most_positions = 100'000;

/// Reads a text incrementally, in pieces of any size and constant memory.
///
/// A header names the columns: `direction`, `aperture_<unit>` and/or `wire_<unit>` (`um`, `mm`, `in`), optional `role`, `field`,
/// `gap`, `x_mm`, `y_mm`, `operator`. The unit may also follow in brackets or after a comma, slash or blank: `Aperture (um)`,
/// `wire, mm`. Column names, directions and roles are case-insensitive; a name that nearly matches a column is an error, even if
/// other columns are ignored. One reading per row, or in a wide table one per direction; as many cells as the header; empty cells
/// allowed. Columns at the end whose name and cells are empty, and rows at the end that hold only separators, are ignored. Blanks
/// around a cell are ignored. `#` begins a comment line, but below the header not one that has as many cells as the header or names
/// a direction after its first cell. LF or CRLF; UTF-8 with or without BOM, or UTF-16 with BOM. `"` quotes a cell within its line.
/// A decimal comma is read if cells are not separated by commas, one mark per file. Numbers are exact: no rounding, no locale.
class CsvReader {
 public:
  /// Called for each row that holds a reading, in order, after validation.
  using Sink = std::function<void(const Reading&)>;

  /// Creates a reader that passes each row to `sink`.
  CsvReader(CsvOptions options, Sink sink);
  ~CsvReader();
  /// Moves a reader in progress.
  CsvReader(CsvReader&&) noexcept;
  /// Moves a reader in progress.
  CsvReader& operator=(CsvReader&&) noexcept;

  /// Reads the next bytes. After `k_most_complaints` errors it reads no further and returns false.
  bool feed(std::string_view bytes);
  /// True if `finish` will return errors, whatever follows.
  bool has_complaints() const noexcept;
  /// The columns that were ignored, as the header names them.
  const std::vector<std::string>& ignored_columns() const noexcept;
  /// False once there are more than k_most_positions; those beyond are not compared.
  bool compares_positions() const noexcept;

  /// Ends the text. Returns the number of rows with a reading, at least 1, or all errors (2xx).
  Result<std::int64_t> finish();

 private:
  class State;
  std::unique_ptr<State> state_;
};

/// The result of reading a text.
struct ReadRows {
  std::int64_t rows = 0;                     ///< rows with a reading, at least 1; in a wide table its readings
  std::int64_t last_line = 0;                ///< number of the last line
  std::vector<std::string> ignored_columns;  ///< as the header names them
  bool positions_compared = true;            ///< false: more than k_most_positions; those beyond were not compared
};

/// Fills the span with the next bytes of a text. Returns their number, 0 at the end, or an error.
using ByteSource = std::function<Result<std::size_t>(std::span<char>)>;

/// Receives rows in the order of the file, possibly including rows without a reading. The columns are valid until it returns.
using ColumnSink = std::function<void(const ReadingColumns&)>;

/// Reads the text from `source`: the same rows and errors as with a CsvReader, at the speed of reading the file. The result does
/// not depend on `threads` (1 or more, of which at most 32 are used; additional ones start only for a text longer than 512 KiB).
/// `source` and `sink` are called by one thread at a time.
/// Memory: about 2 MiB with one thread, 8 MiB with two, 27 MiB with 32, and up to 10 MiB more if rows have positions.
/// Returns the rows; or all errors (2xx), or the error of `source`, in which case whatever `sink` received must be discarded.
Result<ReadRows> read_readings(const ByteSource& source, const CsvOptions& options, const ColumnSink& sink, unsigned threads = 1);

/// The same, directly into `sample`, which must have its thresholds already. On error the sample is unchanged.
Result<ReadRows> read_readings(const ByteSource& source, const CsvOptions& options, Sample& sample, unsigned threads = 1);

}  // namespace sievecloth
