// The exact reader of readings as separated text: line by line, with every complaint.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "measurement/csv_cells.hpp"
#include "measurement/csv_header.hpp"
#include "measurement/row_shapes.hpp"
#include "measurement/suspect_names.hpp"
#include "sievecloth/readings_csv.hpp"

namespace sievecloth {

/// What a plain block of whole lines adds to the file that it stands in.
struct BlockCounts {
  std::int64_t lines = 0;
  std::int64_t rows = 0;
  std::int64_t rows_with_reading = 0;
  SuspectNames suspects;
};

/// Reads a file from its beginning; or blocks out of its middle, on behalf of the reader that began at the beginning.
class CsvRows {
 public:
  /// Every reading goes to `sink`, in order.
  CsvRows(CsvOptions options, CsvReader::Sink sink);
  /// Every reading goes to `sample`, which must outlive this; rows of known shape take the short way.
  CsvRows(CsvOptions options, Sample& sample);

  bool feed(std::string_view bytes);
  Result<std::int64_t> finish();

  bool has_complaints() const noexcept { return !complaints_.empty(); }
  /// Whether it reads no further.
  bool full() const noexcept { return complaints_.size() >= k_most_complaints || unreadable_; }
  /// The columns that were ignored, as the header names them.
  const std::vector<std::string>& ignored_columns() const noexcept { return ignored_columns_; }
  /// Suspects with a name, each aperture once; counted only where readings go to a sample.
  std::int64_t named_suspects() const noexcept { return suspects_.count(); }
  /// Whether it has read the header, so that rows can be understood.
  bool has_header() const noexcept { return !columns_.empty() && !full(); }

  /// A reader of blocks of this file, whose readings go to `sample`. Only after has_header().
  CsvRows reader_of_blocks(Sample& sample) const;
  /// What a reader of blocks must know of the file before it reads its next block.
  void begin_block(const CsvRows& file);
  /// Reads a block of whole lines by itself. Result: what to `skip_block` in the file's reader; or nothing where the block says
  /// more than plain rows do: then it must be fed to the file's reader in its turn, and `sample` holds a part of it.
  std::optional<BlockCounts> read_block(std::string_view text);
  /// Takes the place of feeding a block that was found plain.
  void skip_block(const BlockCounts& block);

 private:
  struct Position {
    Length x;
    Length y;
    Direction direction = Direction::warp;
    bool operator==(const Position&) const = default;
  };
  struct PositionHash {
    std::size_t operator()(const Position& position) const noexcept;
  };

  std::size_t take_short_way(std::string_view text, std::size_t at);
  void hold(std::string_view bytes);
  void complain(ErrorCode code, std::int64_t column, std::string message, std::string found, std::string expected);
  void complain(Error error, std::int64_t column);
  void complain_all(Errors& errors);
  void take_line(std::string_view line);
  void take_last_line();
  void take_comment(std::string_view line);
  void give_up(ErrorCode code, std::string_view before, std::string message, std::string expected);
  void complain_about_length();
  void complain_about_gap();
  void take_header(std::string_view line);
  bool take_row(std::string_view line);
  void learn(std::string_view line);
  void read_cells();
  void read_cell(const Cell& cell, const Column& column);
  template <class Value, class Target>
  void keep(Result<Value> value, const Cell& cell, Target& target);
  void read_length(const Cell& cell, Unit unit, std::optional<Length>& target);
  void read_number(const Cell& cell, Unit unit, std::optional<Length>& target);
  bool check_mark(const Cell& cell, DecimalMark mark);
  void check_row();
  void check_position();

  CsvOptions options_;
  CsvReader::Sink sink_;
  std::unique_ptr<RowShapes> shapes_;  // none where order matters
  bool reads_blocks_ = false;          // on behalf of another reader
  bool at_beginning_ = true;
  std::int64_t line_number_;
  std::string pending_;
  std::vector<Column> columns_;
  std::vector<std::string> ignored_columns_;
  char separator_ = ',';
  DecimalMark mark_ = DecimalMark::point;
  std::int64_t mark_line_ = 0;        // where the file's decimal mark was first seen
  std::int64_t known_mark_line_ = 0;  // the same, as the file's reader knew it before a block
  std::int64_t empty_line_ = 0;       // the first empty line since the last row
  std::int64_t rows_ = 0;
  std::int64_t rows_with_reading_ = 0;
  bool unreadable_ = false;  // what follows cannot be understood any more
  std::unordered_map<Position, std::int64_t, PositionHash> positions_;
  bool positions_full_ = false;
  SuspectNames suspects_;
  Errors complaints_;
  Cutter cutter_;
  std::vector<Cell> cells_;
  Reading reading_;
};

}  // namespace sievecloth
