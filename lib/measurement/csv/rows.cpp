#include "measurement/csv/rows.hpp"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "base/text.hpp"

namespace sievecloth {
namespace {

constexpr std::string_view k_byte_order_mark = "\xEF\xBB\xBF";

Result<Direction> parse_direction(std::string_view text) {
  if (same_word(text, "warp")) return Direction::warp;
  if (same_word(text, "weft") || same_word(text, "shute") || same_word(text, "shoot")) return Direction::weft;
  return Error{ErrorCode::unknown_direction,
               text.empty() ? "the direction is missing" : "unknown direction",
               printable(text),
               "warp or weft (shute and shoot are read as weft)",
               {}};
}

// True if a cell names a direction, whatever its quotes look like; the first one only directly behind the #, which is how a row is
// put out of use.
bool names_direction(std::string_view line, char separator) {
  const std::string_view first = line.substr(1, line.find(separator) - 1);
  if (line.find(separator) != std::string_view::npos && parse_direction(first).ok()) return true;
  for (std::size_t at; (at = line.find(separator)) != std::string_view::npos;) {
    line.remove_prefix(at + 1);
    std::string_view cell = trimmed(line.substr(0, line.find(separator)));
    while (cell.starts_with('"')) cell.remove_prefix(1);
    while (cell.ends_with('"')) cell.remove_suffix(1);
    if (parse_direction(cell).ok()) return true;
  }
  return false;
}

Result<Role> parse_role(std::string_view text) {
  if (text.empty() || same_word(text, "sample")) return Role::sample;
  if (same_word(text, "suspect")) return Role::suspect;
  return Error{ErrorCode::unknown_role, "unknown role", printable(text), "sample or suspect", {}};
}

// The micro sign of Windows-1252, 0xB5, before an m: in a unit no code page has another meaning for it.
std::string with_micro_signs(std::string_view line) {
  std::string text;
  while (!line.empty()) {
    const bool is_micro = utf8_length(line) == 0 && line.starts_with("\xB5m");
    const std::size_t length = std::max<std::size_t>(utf8_length(line), 1);
    text += is_micro ? std::string_view("\u00b5") : line.substr(0, length);
    line.remove_prefix(length);
  }
  return text;
}

// What begins with a byte order mark has been converted before.
// The first bytes of a ZIP archive, as newer spreadsheets write, and of the compound files of older ones.
bool is_spreadsheet_file(std::string_view text) { return text.starts_with("PK\x03\x04") || text.starts_with("\xD0\xCF\x11\xE0"); }

bool is_unmarked_utf16(std::string_view text) { return text.size() > 1 && (text[0] == '\0' || text[1] == '\0'); }

// Rows with an aperture or a wire.
std::int64_t readings_in(const ReadingColumns& rows) {
  const auto is_reading = [](Length length) { return length != Length(); };
  if (rows.wire.empty()) return std::count_if(rows.aperture.begin(), rows.aperture.end(), is_reading);
  if (rows.aperture.empty()) return std::count_if(rows.wire.begin(), rows.wire.end(), is_reading);
  std::int64_t count = 0;
  for (std::size_t row = 0; row < rows.size(); ++row) count += (rows.aperture[row].pm() | rows.wire[row].pm()) != 0 ? 1 : 0;
  return count;
}

}  // namespace

Rows::Rows(CsvOptions options, ColumnSink sink, Positions& positions)
    : options_(std::move(options)), sink_(std::move(sink)), line_number_(options_.first_line - 1), positions_(positions) {
  positions_.begin_file(options_.file);
}

Result<std::int64_t> Rows::finish() {
  ++line_number_;  // what is missing at the end is reported on the line after the last one
  if (complaints_.empty() && layout_.columns.empty()) {
    complain(ErrorCode::header_missing, 1, "the file has no header", "", "a line such as direction,aperture_um,wire_um");
  }
  if (complaints_.empty() && rows_with_reading_ == 0) {
    complain(ErrorCode::no_readings, 1, "the file has no reading", "", "one row for each reading");
  }
  if (!complaints_.empty()) return std::move(complaints_);
  return rows_with_reading_;
}

void Rows::complain(ErrorCode code, std::int64_t column, std::string message, std::string found, std::string expected) {
  if (complaints_.size() >= k_most_complaints) return;
  complaints_.push_back({code,
                         std::move(message),
                         std::move(found),
                         std::move(expected),
                         {options_.file, line_number_, column + options_.indentation}});
}

void Rows::complain(Error error, std::int64_t column) {
  complain(error.code, column, std::move(error.message), std::move(error.found), std::move(error.expected));
}

// Adds file and line to errors that have only a column.
void Rows::complain_all(Errors& errors) {
  for (Error& error : errors) {
    const std::int64_t column = error.where.column;
    complain(std::move(error), column);
  }
  errors.clear();
}

void Rows::take_line(std::string_view line) {
  ++line_number_;
  if (at_beginning_ && is_spreadsheet_file(line))
    return give_up(ErrorCode::not_text, {}, "a spreadsheet's own file, which is no text", "the table saved as \"CSV UTF-8\"");
  if (line.size() > k_longest_line) return complain_about_length();
  if (std::exchange(at_beginning_, false)) {
    if (is_unmarked_utf16(line))
      return give_up(ErrorCode::not_text, {}, "the text is UTF-16 or UTF-32 without a mark that says so",
                     "UTF-8; save the file as \"CSV UTF-8\"");
    if (line.starts_with(k_byte_order_mark)) line.remove_prefix(k_byte_order_mark.size());
  }
  if (line.ends_with('\r')) line.remove_suffix(1);
  if (const std::size_t nul = line.find('\0'); nul != std::string_view::npos)
    return give_up(ErrorCode::not_text, line.substr(0, nul), "the text holds a NUL byte", "plain text");
  const std::string header = layout_.columns.empty() && !line.starts_with('#') ? with_micro_signs(line) : std::string();
  if (!header.empty()) line = header;
  if (const std::size_t good = utf8_prefix(line); good < line.size()) {
    return give_up(ErrorCode::not_text, line.substr(0, good), "not UTF-8",
                   "text in UTF-8; in a spreadsheet, save as \"CSV UTF-8\", or as text CSV with the character set Unicode (UTF-8)");
  }
  if (const std::size_t cr = line.find('\r'); cr != std::string_view::npos)
    return give_up(ErrorCode::line_ending, line.substr(0, cr), "a carriage return inside a line", "lines that end with LF or CRLF");
  if (line.starts_with('#')) return take_comment(line);
  if (holds_nothing(line)) {
    if (empty_line_ == 0) empty_line_ = line_number_;
    return;
  }
  complain_about_gap();
  if (layout_.columns.empty()) return take_header(line);
  take_row(line);
}

// Blanks alone or, below the header, empty cells alone, quoted or not.
bool Rows::holds_nothing(std::string_view line) {
  const bool is_row = !layout_.columns.empty();
  const auto is_padding = [&](char c) { return is_blank(c) || (is_row && (c == layout_.separator || c == '"')); };
  if (!std::all_of(line.begin(), line.end(), is_padding)) return false;
  if (line.find('"') == std::string_view::npos) return true;
  Errors no_cells;
  const auto is_empty = [](const Cell& cell) { return trimmed(cell.text).empty(); };
  return splitter_.split(line, layout_.separator, cells_, no_cells) && std::all_of(cells_.begin(), cells_.end(), is_empty);
}

void Rows::take_last_line(std::string_view line) {
  const std::size_t before = complaints_.size();
  take_line(line);
  if (options_.last_line || unreadable_) return;
  complaints_.resize(before);  // these were caused by the truncation
  complain(ErrorCode::unfinished_line, static_cast<std::int64_t>(character_count(line)) + 1,
           "the last line does not end; it may have been cut", "",
           "a line end, or --last-line where the instrument never writes one");
}

// A row whose first cell begins with # must not pass for a comment. But spreadsheets pad every line with empty cells, and a row
// with only its first cell filled in holds no reading. If the first column is a text, "#7" may be a cell of it, and then the line
// counts as a row even if none of it is valid.
void Rows::take_comment(std::string_view line) {
  if (layout_.columns.empty()) return;
  const Field first = layout_.columns.front().field;
  const bool is_text =
      (first == Field::field || first == Field::operator_name || first == Field::ignored) && line.size() > 1 && !is_blank(line[1]);
  Errors no_cells;
  const bool as_many_cells = splitter_.split(line, layout_.separator, cells_, no_cells) && cells_.size() == layout_.columns.size();
  if (as_many_cells && std::all_of(cells_.begin() + 1, cells_.end(), [](const Cell& cell) { return trimmed(cell.text).empty(); }))
    return;
  if (!as_many_cells && !is_text && !names_direction(line, layout_.separator)) return;
  complain(ErrorCode::ambiguous_comment, 1, "a comment that may be a row", printable(line),
           fmt::format("a comment that begins \"# \" and has no '{}', or the row with its first cell in quotes",
                       printable({&layout_.separator, 1})));
}

// Stops reading: what follows `before` on the line cannot be interpreted.
void Rows::give_up(ErrorCode code, std::string_view before, std::string message, std::string expected) {
  unreadable_ = true;
  complain(code, static_cast<std::int64_t>(character_count(before)) + 1, std::move(message), "", std::move(expected));
}

void Rows::complain_about_length() {
  give_up(ErrorCode::line_too_long, {}, "the line is too long", fmt::format("at most {} bytes", k_longest_line));
}

// Empty lines may end a file; between rows one could hide a lost reading.
void Rows::complain_about_gap() {
  if (empty_line_ == 0 || layout_.columns.empty()) {
    empty_line_ = 0;
    return;
  }
  const std::int64_t here = std::exchange(line_number_, empty_line_);
  complain(ErrorCode::empty_line, 1, "an empty line between rows", "", "a row, or a comment that begins with #");
  line_number_ = here;
  empty_line_ = 0;
}

void Rows::take_header(std::string_view line) {
  layout_.separator = line.find('\t') != std::string_view::npos ? '\t' : line.find(';') != std::string_view::npos ? ';' : ',';
  Errors found;
  if (splitter_.split(line, layout_.separator, cells_, found)) layout_.columns = read_header(cells_, options_, found);
  for (std::size_t i = 0; i < layout_.columns.size(); ++i) {
    if (layout_.columns[i].field == Field::ignored) ignored_columns_.emplace_back(cells_[i].text);
  }
  const auto holds_direction = [](const Column& column) { return column.field == Field::direction; };
  if (std::none_of(layout_.columns.begin(), layout_.columns.end(), holds_direction)) layout_.direction = options_.direction;
  layout_.wide = is_wide(layout_.columns);
  ++layout_.version;
  unreadable_ = !found.empty();  // without the header no row can be interpreted
  complain_all(found);
}

void Rows::take_row(std::string_view line) {
  Errors found;
  if (!splitter_.split(line, layout_.separator, cells_, found)) return complain_all(found);
  if (cells_.size() != layout_.columns.size()) {
    return complain(
        ErrorCode::cell_count, 1, "the row has not as many cells as the header",
        fmt::format("{} cell{}", cells_.size(), cells_.size() == 1 ? "" : "s"),
        fmt::format("{}{}{}", layout_.columns.size(), layout_.separator == ',' ? "; a decimal comma needs semicolons or tabs" : "",
                    layout_.columns.size() == 1 ? ": keep a second column, such as direction" : ""));
  }
  const std::size_t before = complaints_.size();
  read_cells();
  if (complaints_.size() != before) return;
  const std::span<const Reading> readings = readings_of_row();
  for (const Reading& reading : readings) {
    if (!layout_.wide || reading.aperture || reading.wire) check(reading);
  }
  if (complaints_.size() != before) return;
  for (const Reading& reading : readings) {
    if (!reading.aperture && !reading.wire) continue;
    if (rows_with_reading_ == k_most_readings)
      return give_up(ErrorCode::too_many_readings, {}, "too many readings for one piece",
                     fmt::format("at most {}", k_most_readings));
    ++rows_with_reading_;
    hand_on(reading);
  }
}

// Hands on a reading as columns of one row.
void Rows::hand_on(const Reading& reading) {
  const Length aperture = reading.aperture.value_or(Length()), wire = reading.wire.value_or(Length());
  const Length x = reading.x.value_or(k_no_position), y = reading.y.value_or(k_no_position);
  const std::string_view field = reading.field, operator_name = reading.operator_name;
  const std::int32_t gap = reading.gap.value_or(k_no_gap);
  sink_({line_number_,
         {&reading.direction, 1},
         {&reading.role, 1},
         {&aperture, 1},
         {&wire, 1},
         {&x, 1},
         {&y, 1},
         {&field, 1},
         {&gap, 1},
         {&operator_name, 1}});
}

void Rows::take_plain(ReadingColumns rows, std::string_view lines) {
  const auto disagrees = [&](Direction direction) { return direction != *options_.direction; };
  const bool disagree = options_.direction && std::any_of(rows.direction.begin(), rows.direction.end(), disagrees);
  if (disagree || empty_line_ != 0 || static_cast<std::int64_t>(rows.size()) > k_most_readings - rows_with_reading_) {
    for (; !lines.empty() && !full(); lines.remove_prefix(lines.find('\n') + 1)) take_line(lines.substr(0, lines.find('\n')));
    return;
  }
  while (rows.size() > 0 && !full()) {
    rows.first_line = line_number_ + 1;
    const ReadingColumns good = rows.part(0, take_new_positions(rows));
    rows_with_reading_ += readings_in(good);
    line_number_ += static_cast<std::int64_t>(good.size());
    if (good.size() > 0) sink_(good);
    rows = rows.part(good.size(), rows.size() - good.size());
    if (rows.size() == 0) break;
    ++line_number_;
    complain_about_position({rows.x.front(), rows.y.front(), rows.direction.front()});
    rows = rows.part(1, rows.size() - 1);
  }
}

// Returns the number of rows before the first one with a repeated position.
std::size_t Rows::take_new_positions(const ReadingColumns& rows) {
  if (rows.x.empty() || positions_.full()) return rows.size();
  for (std::size_t row = 0; row < rows.size(); ++row) {
    const Position position{rows.x[row], rows.y[row], rows.direction[row]};
    const std::int64_t line = rows.first_line + static_cast<std::int64_t>(row);
    if (position.x != k_no_position && !positions_.is_new(position, line)) return row;
  }
  return rows.size();
}

void Rows::read_cells() {
  reading_ = Reading{.direction = options_.direction.value_or(Direction::warp), .line = line_number_};
  if (layout_.wide) directed_ = {};
  for (std::size_t i = 0; i < cells_.size(); ++i) read_cell(cells_[i], layout_.columns[i]);
}

void Rows::read_cell(const Cell& cell, const Column& column) {
  Reading& reading = column.direction ? directed_[static_cast<std::size_t>(*column.direction)] : reading_;
  switch (column.field) {
    case Field::direction: return read_direction(cell);
    case Field::role: return keep(parse_role(cell.text), cell, reading.role);
    case Field::aperture: return read_length(cell, column.unit, reading.aperture);
    case Field::wire: return read_length(cell, column.unit, reading.wire);
    case Field::x: return read_number(cell, column.unit, reading.x);
    case Field::y: return read_number(cell, column.unit, reading.y);
    case Field::field: return read_name(cell, "field", reading.field);
    case Field::gap: return read_gap(cell, reading);
    case Field::operator_name: return read_name(cell, "operator", reading.operator_name);
    case Field::ignored: return;
    case Field::empty: return check_empty(cell);
  }
}

template <class Value, class Target>
void Rows::keep(Result<Value> value, const Cell& cell, Target& target) {
  if (value.ok()) {
    target = *value;
  } else {
    complain(value.error(), cell.column);
  }
}

// The direction that the file is known to have leaves no choice.
void Rows::read_direction(const Cell& cell) {
  keep(parse_direction(cell.text), cell, reading_.direction);
  if (!options_.direction || reading_.direction == *options_.direction) return;
  complain(ErrorCode::unknown_direction, cell.column, "another direction than the job gives for this file", printable(cell.text),
           std::string(to_text(*options_.direction)));
}

void Rows::read_name(const Cell& cell, std::string_view what, std::string& target) {
  target = cell.text;
  if (cell.text.size() <= k_longest_field) return;
  complain(ErrorCode::line_too_long, cell.column, fmt::format("the name of the {} is too long", what), printable(cell.text),
           fmt::format("at most {} bytes", k_longest_field));
}

void Rows::read_gap(const Cell& cell, Reading& reading) {
  if (cell.text.empty()) return;
  std::int64_t number = 0;
  for (const char c : cell.text) number = is_digit(c) && number <= k_highest_gap ? 10 * number + (c - '0') : k_highest_gap + 1;
  if (number <= k_highest_gap) {
    reading.gap = static_cast<std::int32_t>(number);
  } else {
    complain(ErrorCode::malformed_number, cell.column, "not the number of a gap", printable(cell.text),
             fmt::format("a whole number, counted across the cloth, from 0 to {}, or an empty cell", k_highest_gap));
  }
}

void Rows::check_empty(const Cell& cell) {
  if (!cell.text.empty())
    complain(ErrorCode::unknown_column, cell.column, "a cell in a column without a name", printable(cell.text),
             "an empty cell, or a name in the header");
}

void Rows::read_length(const Cell& cell, Unit unit, std::optional<Length>& target) {
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

void Rows::read_number(const Cell& cell, Unit unit, std::optional<Length>& target) {
  if (cell.text.empty()) return;
  const bool comma = cell.text.find(',') != std::string_view::npos;
  const bool point = cell.text.find('.') != std::string_view::npos;
  if (comma != point && !check_mark(cell, comma ? DecimalMark::comma : DecimalMark::point)) return;
  keep(parse_length(cell.text, unit, comma && !point ? DecimalMark::comma : DecimalMark::point), cell, target);
}

// One decimal mark per file: with two, a thousands separator could pass for a decimal mark.
bool Rows::check_mark(const Cell& cell, DecimalMark mark) {
  if (mark == DecimalMark::comma && layout_.separator == ',') {
    complain(ErrorCode::decimal_mark, cell.column, "a decimal comma where commas separate the cells", printable(cell.text),
             "a decimal point, or semicolons or tabs between the cells");
    return false;
  }
  if (mark_line_ == 0) {
    layout_.mark = mark;
    ++layout_.version;
    mark_line_ = line_number_;
  }
  if (mark == layout_.mark) return true;
  complain(ErrorCode::decimal_mark, cell.column, "a second decimal mark in one file", printable(cell.text),
           fmt::format("a decimal {} as on line {}", layout_.mark == DecimalMark::comma ? "comma" : "point", mark_line_));
  return false;
}

// One, or in a wide table one of each direction.
std::span<const Reading> Rows::readings_of_row() {
  if (!layout_.wide) return {&reading_, 1};
  for (const Direction direction : k_directions) {
    Reading& reading = directed_[static_cast<std::size_t>(direction)];
    reading.direction = direction;
    reading.role = reading_.role;
    reading.line = reading_.line;
    reading.operator_name = reading_.operator_name;
    if (reading.field.empty()) reading.field = reading_.field;
    if (!reading.gap) reading.gap = reading_.gap;
    if (reading.x || reading.y) continue;
    reading.x = reading_.x;
    reading.y = reading_.y;
  }
  return directed_;
}

// Checks that involve several cells of a row.
void Rows::check(const Reading& reading) {
  if (reading.role == Role::suspect && reading.wire) {
    complain(ErrorCode::suspect_wire, 1, "a suspect is an aperture; this row has a wire too", "", "the wire in a row of its own");
  } else if (reading.role == Role::suspect && !reading.aperture && !layout_.wide) {
    complain(ErrorCode::malformed_number, 1, "a suspect without its aperture", "", "its aperture, which counts for the largest");
  }
  if (reading.x.has_value() != reading.y.has_value()) {
    complain(ErrorCode::incomplete_position, 1, "half a position", "", "both x_mm and y_mm, or neither");
  }
  if (!reading.x || !reading.y) return;
  const Position position{*reading.x, *reading.y, reading.direction};
  if (!positions_.is_new(position, line_number_)) complain_about_position(position);
}

// Reports it on the line `line_number_`.
void Rows::complain_about_position(const Position& position) {
  complain(ErrorCode::repeated_position, 1, "the same position and direction a second time",
           fmt::format("x_mm {}, y_mm {}, {}", to_text(position.x, Unit::millimetre), to_text(position.y, Unit::millimetre),
                       to_text(position.direction)),
           fmt::format("each aperture once; it stands on {} too", positions_.place_of(position)));
}

}  // namespace sievecloth
