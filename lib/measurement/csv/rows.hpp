// The exact reader: line by line, with all errors.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "measurement/csv/cells.hpp"
#include "measurement/csv/header.hpp"
#include "measurement/csv/positions.hpp"
#include "sievecloth/readings_csv.hpp"

namespace sievecloth {

/// Reads the lines of a file in order, from the first one.
class Rows {
 public:
  /// Passes every row that holds a reading to `sink`, in order; plain rows also without one.
  /// `positions`: those of the piece, in the files before this one too.
  Rows(CsvOptions options, ColumnSink sink, Positions& positions);

  /// Reads the next line, without its LF.
  void take_line(std::string_view line);
  /// The same for the last line of a text that ends without LF: it may be truncated and still look valid.
  void take_last_line(std::string_view line);
  /// Adds plain rows of the current layout, which are exactly `lines`.
  void take_plain(ReadingColumns rows, std::string_view lines);
  /// Ends the text. Returns the number of rows with a reading, at least 1, or all errors.
  Result<std::int64_t> finish();

  bool has_complaints() const noexcept { return !complaints_.empty(); }
  /// True if it reads no further.
  bool full() const noexcept { return complaints_.size() >= k_most_complaints || unreadable_; }
  /// False once there are more positions than are compared.
  bool compares_positions() const noexcept { return !positions_.full(); }
  /// Number of the last line read; after `finish` of one more.
  std::int64_t line_number() const noexcept { return line_number_; }
  /// The columns that were ignored, as the header names them.
  const std::vector<std::string>& ignored_columns() const noexcept { return ignored_columns_; }
  /// Layout of the next rows.
  const RowLayout& layout() const noexcept { return layout_; }

 private:
  bool holds_nothing(std::string_view line);
  void complain(ErrorCode code, std::int64_t column, std::string message, std::string found, std::string expected);
  void complain(Error error, std::int64_t column);
  void complain_all(Errors& errors);
  void take_comment(std::string_view line);
  void give_up(ErrorCode code, std::string_view before, std::string message, std::string expected);
  void complain_about_length();
  void complain_about_gap();
  void take_header(std::string_view line);
  void take_row(std::string_view line);
  void hand_on(const Reading& reading);
  std::size_t take_new_positions(const ReadingColumns& rows);
  void read_cells();
  void read_cell(const Cell& cell, const Column& column);
  void read_direction(const Cell& cell);
  template <class Value, class Target>
  void keep(Result<Value> value, const Cell& cell, Target& target);
  void read_name(const Cell& cell, std::string_view what, std::string& target);
  void read_gap(const Cell& cell, Reading& reading);
  void check_empty(const Cell& cell);
  void read_length(const Cell& cell, Unit unit, std::optional<Length>& target);
  void read_number(const Cell& cell, Unit unit, std::optional<Length>& target);
  bool check_mark(const Cell& cell, DecimalMark mark);
  std::span<const Reading> readings_of_row();
  void check(const Reading& reading);
  void complain_about_position(const Position& position);

  CsvOptions options_;
  ColumnSink sink_;
  bool at_beginning_ = true;
  std::int64_t line_number_;  // of the last line read
  RowLayout layout_;
  std::int64_t mark_line_ = 0;  // line of the file's first decimal mark
  std::vector<std::string> ignored_columns_;
  std::int64_t empty_line_ = 0;  // first empty line since the last row
  std::int64_t rows_with_reading_ = 0;
  bool unreadable_ = false;  // the rest cannot be interpreted
  Positions& positions_;
  Errors complaints_;
  CellSplitter splitter_;
  std::vector<Cell> cells_;
  Reading reading_;                  // what the row says of all its readings
  std::array<Reading, 2> directed_;  // what a row of a wide table says of one direction
};

}  // namespace sievecloth
