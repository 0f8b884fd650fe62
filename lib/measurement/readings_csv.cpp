#include "sievecloth/readings_csv.hpp"

#include <algorithm>
#include <unordered_map>

#include <fmt/format.h>

#include "base/text.hpp"
#include "measurement/csv_header.hpp"

namespace sievecloth {
namespace {

constexpr std::string_view k_byte_order_mark = "\xEF\xBB\xBF";

Result<Direction> parse_direction(std::string_view text) {
  if (text == "warp") return Direction::warp;
  if (text == "weft" || text == "shute" || text == "shoot") return Direction::weft;
  return Error{ErrorCode::unknown_direction,
               text.empty() ? "the direction is missing" : "unknown direction",
               printable(text),
               "warp or weft (shute and shoot are read as weft)",
               {}};
}

Result<Role> parse_role(std::string_view text) {
  if (text.empty() || text == "sample") return Role::sample;
  if (text == "suspect") return Role::suspect;
  return Error{ErrorCode::unknown_role, "unknown role", printable(text), "sample or suspect", {}};
}

bool is_utf16(std::string_view text) {
  return text.starts_with("\xFF\xFE") || text.starts_with("\xFE\xFF") || (text.size() > 1 && (text[0] == '\0' || text[1] == '\0'));
}

struct Position {
  Length x;
  Length y;
  Direction direction;
  bool operator==(const Position&) const = default;
};

struct PositionHash {
  std::size_t operator()(const Position& position) const noexcept {
    const auto mix = [](std::uint64_t value) { return (value ^ (value >> 29)) * 0x9E3779B97F4A7C15u; };
    return mix(mix(static_cast<std::uint64_t>(position.x.pm())) + static_cast<std::uint64_t>(position.y.pm())) +
           static_cast<std::size_t>(position.direction);
  }
};

/// Cuts a line into cells. Quoted cells stay within their line; a doubled quote stands for one.
class Cutter {
 public:
  /// Result: false after a complaint, which is appended with its column.
  bool cut(std::string_view line, char separator, std::vector<Cell>& cells, Errors& complaints) {
    cells.clear();
    unquoted_.clear();
    unquoted_.reserve(line.size());  // views into it must stay where they are
    std::size_t begin = 0;
    while (true) {
      const std::size_t at = skip_blanks(line, begin, separator);
      const std::int64_t column = static_cast<std::int64_t>(character_count(line.substr(0, at))) + 1;
      std::size_t end = at;
      if (at < line.size() && line[at] == '"') {
        if (!unquote(line, separator, column, end, cells, complaints)) return false;
      } else {
        end = std::min(line.find(separator, at), line.size());
        cells.push_back({trimmed(line.substr(at, end - at)), column});
      }
      if (end == line.size()) return true;
      begin = end + 1;
    }
  }

 private:
  static std::size_t skip_blanks(std::string_view line, std::size_t from, char separator) {
    while (from < line.size() && is_blank(line[from]) && line[from] != separator) ++from;
    return from;
  }

  bool unquote(std::string_view line, char separator, std::int64_t column, std::size_t& end, std::vector<Cell>& cells,
               Errors& complaints) {
    const std::size_t start = unquoted_.size();
    std::size_t i = end + 1;
    for (;; ++i) {
      if (i >= line.size()) {
        complaints.push_back({ErrorCode::unterminated_quote,
                              "a quoted cell does not end on its line",
                              printable(line.substr(end)),
                              "a closing \"",
                              {{}, 0, column}});
        return false;
      }
      if (line[i] == '"') {
        if (i + 1 >= line.size() || line[i + 1] != '"') break;
        ++i;
      }
      unquoted_ += line[i];
    }
    const std::size_t after = skip_blanks(line, i + 1, separator);
    if (after < line.size() && line[after] != separator) {
      complaints.push_back({ErrorCode::malformed_quote,
                            "text after the closing quote",
                            printable(line.substr(after)),
                            "a separator or the end of the line",
                            {{}, 0, column}});
      return false;
    }
    end = after;
    cells.push_back({trimmed(std::string_view(unquoted_).substr(start)), column});
    return true;
  }

  std::string unquoted_;
};

}  // namespace

class CsvReader::State {
 public:
  State(CsvOptions options, Sink sink)
      : options_(std::move(options)), sink_(std::move(sink)), line_number_(options_.first_line - 1) {}

  bool feed(std::string_view bytes) {
    while (!bytes.empty() && !full()) {
      const std::size_t end = bytes.find('\n');
      if (end == std::string_view::npos) {
        hold(bytes);
        break;
      }
      if (pending_.empty()) {
        take_line(bytes.substr(0, end));
      } else {
        hold(bytes.substr(0, end));
        if (!full()) take_line(pending_);
        pending_.clear();
      }
      bytes.remove_prefix(end + 1);
    }
    return !full();
  }

  Result<std::int64_t> finish() {
    if (!pending_.empty() && !full()) take_line(pending_);
    pending_.clear();
    ++line_number_;  // what is missing at the end is missing on the line after the last one
    if (complaints_.empty() && columns_.empty()) {
      line_number_ = std::max(line_number_, options_.first_line);  // an empty text has a first line too
      complain(ErrorCode::header_missing, 1, "the file has no header", "", "a line such as direction,aperture_um,wire_um");
    }
    if (complaints_.empty() && rows_with_reading_ == 0) {
      complain(ErrorCode::no_readings, 1, "the file has no reading", "", "one row for each reading");
    }
    if (!complaints_.empty()) return std::move(complaints_);
    return rows_with_reading_;
  }

 private:
  bool full() const { return complaints_.size() >= k_most_complaints || unreadable_; }

  // Keeps the beginning of a line whose end has not come yet.
  void hold(std::string_view bytes) {
    if (pending_.size() + bytes.size() <= k_longest_line) {
      pending_ += bytes;
      return;
    }
    ++line_number_;
    unreadable_ = true;
    complain(ErrorCode::line_too_long, 1, "the line is too long", "", fmt::format("at most {} bytes", k_longest_line));
  }

  void complain(ErrorCode code, std::int64_t column, std::string message, std::string found, std::string expected) {
    if (complaints_.size() >= k_most_complaints) return;
    complaints_.push_back({code,
                           std::move(message),
                           std::move(found),
                           std::move(expected),
                           {options_.file, line_number_, column + options_.indentation}});
  }

  void complain(Error error, std::int64_t column) {
    complain(error.code, column, std::move(error.message), std::move(error.found), std::move(error.expected));
  }

  // Gives complaints that know their column alone their file and line.
  void complain_all(Errors& errors) {
    for (Error& error : errors) {
      const std::int64_t column = error.where.column;
      complain(std::move(error), column);
    }
    errors.clear();
  }

  void take_line(std::string_view line) {
    ++line_number_;
    if (line_number_ == options_.first_line) {
      if (is_utf16(line)) return give_up("the text is UTF-16", "UTF-8; save the file as UTF-8");
      if (line.starts_with(k_byte_order_mark)) line.remove_prefix(k_byte_order_mark.size());
    }
    if (line.size() > k_longest_line) {
      unreadable_ = true;
      return complain(ErrorCode::line_too_long, 1, "the line is too long", "", fmt::format("at most {} bytes", k_longest_line));
    }
    if (line.ends_with('\r')) line.remove_suffix(1);
    if (const std::size_t nul = line.find('\0'); nul != std::string_view::npos)
      return give_up("the text holds a NUL byte", "plain text", nul);
    if (line.starts_with('#')) return;
    if (trimmed(line).empty()) {
      if (empty_line_ == 0) empty_line_ = line_number_;
      return;
    }
    if (const std::size_t cr = line.find('\r'); cr != std::string_view::npos) {
      unreadable_ = true;
      return complain(ErrorCode::line_ending, static_cast<std::int64_t>(cr) + 1, "a carriage return inside a line", "",
                      "lines that end with LF or CRLF");
    }
    complain_about_gap();
    if (columns_.empty()) return take_header(line);
    take_row(line);
  }

  void give_up(std::string message, std::string expected, std::size_t at = 0) {
    unreadable_ = true;
    complain(ErrorCode::not_text, static_cast<std::int64_t>(at) + 1, std::move(message), "", std::move(expected));
  }

  // Empty lines may end a file; between rows one could hide a lost reading.
  void complain_about_gap() {
    if (empty_line_ == 0 || columns_.empty()) {
      empty_line_ = 0;
      return;
    }
    const std::int64_t here = std::exchange(line_number_, empty_line_);
    complain(ErrorCode::empty_line, 1, "an empty line between rows", "", "a row, or a comment that begins with #");
    line_number_ = here;
    empty_line_ = 0;
  }

  void take_header(std::string_view line) {
    separator_ = line.find('\t') != std::string_view::npos ? '\t' : line.find(';') != std::string_view::npos ? ';' : ',';
    Errors found;
    if (cutter_.cut(line, separator_, cells_, found)) columns_ = read_header(cells_, options_, found);
    unreadable_ = !found.empty();  // without its header no row can be understood
    complain_all(found);
  }

  void take_row(std::string_view line) {
    Errors found;
    if (!cutter_.cut(line, separator_, cells_, found)) return complain_all(found);
    if (cells_.size() != columns_.size()) {
      return complain(ErrorCode::cell_count, 1, "the row has not as many cells as the header",
                      fmt::format("{} cell{}", cells_.size(), cells_.size() == 1 ? "" : "s"),
                      fmt::format("{}{}", columns_.size(), separator_ == ',' ? "; a decimal comma needs semicolons or tabs" : ""));
    }
    const std::size_t before = complaints_.size();
    read_cells();
    if (complaints_.size() == before) check_row();
    if (complaints_.size() != before || !(reading_.aperture || reading_.wire)) return;
    if (++rows_with_reading_ > k_most_readings) {
      unreadable_ = true;
      return complain(ErrorCode::too_many_readings, 1, "too many readings for one piece", "",
                      fmt::format("at most {}", k_most_readings));
    }
    sink_(reading_);
  }

  void read_cells() {
    reading_.aperture = reading_.wire = reading_.x = reading_.y = std::nullopt;
    reading_.role = Role::sample;
    reading_.field.clear();
    reading_.line = line_number_;
    for (std::size_t i = 0; i < cells_.size(); ++i) read_cell(cells_[i], columns_[i]);
  }

  void read_cell(const Cell& cell, const Column& column) {
    switch (column.field) {
      case Field::direction: return keep(parse_direction(cell.text), cell, reading_.direction);
      case Field::role: return keep(parse_role(cell.text), cell, reading_.role);
      case Field::aperture: return read_length(cell, column.unit, reading_.aperture);
      case Field::wire: return read_length(cell, column.unit, reading_.wire);
      case Field::x: return read_number(cell, column.unit, reading_.x);
      case Field::y: return read_number(cell, column.unit, reading_.y);
      case Field::field: return read_field(cell);
      case Field::ignored: return;
    }
  }

  template <class Value, class Target>
  void keep(Result<Value> value, const Cell& cell, Target& target) {
    if (value.ok()) {
      target = *value;
    } else {
      complain(value.error(), cell.column);
    }
  }

  void read_field(const Cell& cell) {
    for (std::string_view rest = cell.text; !rest.empty();) {
      const std::size_t length = utf8_length(rest);
      if (length == 0) return complain(ErrorCode::not_text, cell.column, "not UTF-8", printable(cell.text), "UTF-8 text");
      rest.remove_prefix(length);
    }
    reading_.field = cell.text;
  }

  void read_length(const Cell& cell, Unit unit, std::optional<Length>& target) {
    read_number(cell, unit, target);
    if (!target) return;
    if (*target <= Length()) {
      complain(ErrorCode::not_positive, cell.column, "a length must be above 0", printable(cell.text),
               "a measured length, or an empty cell");
    } else if (*target > k_longest_reading) {
      complain(ErrorCode::too_large, cell.column, "longer than 100 m", printable(cell.text),
               "a length in the unit that the column names");
    }
  }

  void read_number(const Cell& cell, Unit unit, std::optional<Length>& target) {
    if (cell.text.empty()) return;
    const bool comma = cell.text.find(',') != std::string_view::npos;
    const bool point = cell.text.find('.') != std::string_view::npos;
    if (comma != point && !check_mark(cell, comma ? DecimalMark::comma : DecimalMark::point)) return;
    keep(parse_length(cell.text, unit, comma && !point ? DecimalMark::comma : DecimalMark::point), cell, target);
  }

  // One decimal mark per file: with two of them a thousands separator could pass for a decimal mark.
  bool check_mark(const Cell& cell, DecimalMark mark) {
    if (mark == DecimalMark::comma && separator_ == ',') {
      complain(ErrorCode::decimal_mark, cell.column, "a decimal comma where commas separate the cells", printable(cell.text),
               "a decimal point, or semicolons or tabs between the cells");
      return false;
    }
    if (mark_line_ == 0) {
      mark_ = mark;
      mark_line_ = line_number_;
    }
    if (mark == mark_) return true;
    complain(ErrorCode::decimal_mark, cell.column, "a second decimal mark in one file", printable(cell.text),
             fmt::format("a decimal {} as on line {}", mark_ == DecimalMark::comma ? "comma" : "point", mark_line_));
    return false;
  }

  // What only the cells of a row together can tell.
  void check_row() {
    if (reading_.role == Role::suspect && reading_.wire) {
      complain(ErrorCode::suspect_wire, 1, "a suspect is an aperture; this row has a wire too", "", "the wire in a row of its own");
    }
    if (reading_.x.has_value() != reading_.y.has_value()) {
      complain(ErrorCode::incomplete_position, 1, "half a position", "", "both x_mm and y_mm, or neither");
    }
    if (reading_.x && reading_.y && positions_.size() < k_most_positions) check_position();
  }

  void check_position() {
    const auto [first, is_new] = positions_.try_emplace(Position{*reading_.x, *reading_.y, reading_.direction}, line_number_);
    if (is_new) return;
    complain(ErrorCode::repeated_position, 1, "the same position and direction a second time",
             fmt::format("x_mm {}, y_mm {}, {}", to_text(*reading_.x, Unit::millimetre), to_text(*reading_.y, Unit::millimetre),
                         to_text(reading_.direction)),
             fmt::format("each aperture once; it stands on line {} too", first->second));
  }

  CsvOptions options_;
  Sink sink_;
  std::int64_t line_number_;
  std::string pending_;
  std::vector<Column> columns_;
  char separator_ = ',';
  DecimalMark mark_ = DecimalMark::point;
  std::int64_t mark_line_ = 0;   // where the file's decimal mark was first seen
  std::int64_t empty_line_ = 0;  // the first empty line since the last row
  std::int64_t rows_with_reading_ = 0;
  bool unreadable_ = false;  // what follows cannot be understood any more
  std::unordered_map<Position, std::int64_t, PositionHash> positions_;
  Errors complaints_;
  Cutter cutter_;
  std::vector<Cell> cells_;
  Reading reading_;
};

CsvReader::CsvReader(CsvOptions options, Sink sink) : state_(std::make_unique<State>(std::move(options), std::move(sink))) {}
CsvReader::~CsvReader() = default;
CsvReader::CsvReader(CsvReader&&) noexcept = default;
CsvReader& CsvReader::operator=(CsvReader&&) noexcept = default;

bool CsvReader::feed(std::string_view bytes) { return state_->feed(bytes); }
Result<std::int64_t> CsvReader::finish() { return state_->finish(); }

}  // namespace sievecloth
