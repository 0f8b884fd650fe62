#include "measurement/csv_rows.hpp"

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

// Whether a cell behind the first names a direction, whatever its quotes look like.
bool names_direction(std::string_view line, char separator) {
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

bool is_utf16(std::string_view text) {
  return text.starts_with("\xFF\xFE") || text.starts_with("\xFE\xFF") || (text.size() > 1 && (text[0] == '\0' || text[1] == '\0'));
}

// Whether cells of as many digits, with the mark in the same place, are positions whatever the digits are.
bool is_position_with_any_digits(std::string_view text) {
  constexpr std::size_t k_whole_digits = 7;  // of millimetres in less than 10 km
  constexpr std::size_t k_decimals = 9;      // of millimetres in a picometre
  if (text.starts_with('-')) text.remove_prefix(1);
  const std::size_t mark = std::min(text.find_first_of(".,"), text.size());
  return mark <= k_whole_digits && text.size() - mark <= k_decimals + 1;
}

}  // namespace

std::size_t CsvRows::PositionHash::operator()(const Position& position) const noexcept {
  const auto mix = [](std::uint64_t value) { return (value ^ (value >> 29)) * 0x9E3779B97F4A7C15u; };
  return mix(mix(static_cast<std::uint64_t>(position.x.pm())) + static_cast<std::uint64_t>(position.y.pm())) +
         static_cast<std::size_t>(position.direction);
}

CsvRows::CsvRows(CsvOptions options, CsvReader::Sink sink)
    : options_(std::move(options)), sink_(std::move(sink)), line_number_(options_.first_line - 1) {}

CsvRows::CsvRows(CsvOptions options, Sample& sample)
    : CsvRows(std::move(options), [this, &sample](const Reading& reading) {
        (void)sample.add(reading);  // every length was checked
        suspects_.add(reading);
      }) {
  shapes_ = std::make_unique<RowShapes>(sample);
}

bool CsvRows::feed(std::string_view bytes) {
  for (std::size_t at = 0; at < bytes.size() && !full();) {
    if (pending_.empty()) at += take_short_way(bytes, at);
    const std::size_t end = bytes.find('\n', at);
    if (end == std::string_view::npos) {
      hold(bytes.substr(at));
      break;
    }
    if (pending_.empty()) {
      take_line(bytes.substr(at, end - at));
    } else {
      hold(bytes.substr(at, end - at));
      if (!full()) take_line(pending_);
      pending_.clear();
    }
    at = end + 1;
  }
  if (shapes_) shapes_->flush();
  return !full();
}

Result<std::int64_t> CsvRows::finish() {
  if (!pending_.empty() && !full()) take_last_line();
  pending_.clear();
  ++line_number_;  // what is missing at the end is missing on the line after the last one
  if (complaints_.empty() && columns_.empty()) {
    complain(ErrorCode::header_missing, 1, "the file has no header", "", "a line such as direction,aperture_um,wire_um");
  }
  if (complaints_.empty() && rows_with_reading_ == 0) {
    complain(ErrorCode::no_readings, 1, "the file has no reading", "", "one row for each reading");
  }
  if (!complaints_.empty()) return std::move(complaints_);
  return rows_with_reading_;
}

// Rows of known shape, as far as they go; they neither complain nor depend on what came before.
std::size_t CsvRows::take_short_way(std::string_view text, std::size_t at) {
  const bool may_be_too_many = rows_with_reading_ > k_most_readings - static_cast<std::int64_t>(text.size());
  if (!shapes_ || empty_line_ != 0 || may_be_too_many) return 0;
  const ShortRows taken = shapes_->take(text, at);
  line_number_ += taken.rows;
  rows_ += taken.rows;
  rows_with_reading_ += taken.with_reading;
  return taken.bytes;
}

// Keeps the beginning of a line whose end has not come yet.
void CsvRows::hold(std::string_view bytes) {
  pending_ += bytes.substr(0, k_longest_line + 1);
  if (pending_.size() <= k_longest_line) return;
  ++line_number_;
  complain_about_length();
}

void CsvRows::complain(ErrorCode code, std::int64_t column, std::string message, std::string found, std::string expected) {
  if (complaints_.size() >= k_most_complaints) return;
  complaints_.push_back({code,
                         std::move(message),
                         std::move(found),
                         std::move(expected),
                         {options_.file, line_number_, column + options_.indentation}});
}

void CsvRows::complain(Error error, std::int64_t column) {
  complain(error.code, column, std::move(error.message), std::move(error.found), std::move(error.expected));
}

// Gives complaints that know their column alone their file and line.
void CsvRows::complain_all(Errors& errors) {
  for (Error& error : errors) {
    const std::int64_t column = error.where.column;
    complain(std::move(error), column);
  }
  errors.clear();
}

void CsvRows::take_line(std::string_view line) {
  ++line_number_;
  const std::string_view raw = line;
  if (line.size() > k_longest_line) return complain_about_length();
  if (std::exchange(at_beginning_, false)) {
    if (is_utf16(line)) return give_up(ErrorCode::not_text, {}, "the text is UTF-16", "UTF-8; save the file as UTF-8");
    if (line.starts_with(k_byte_order_mark)) line.remove_prefix(k_byte_order_mark.size());
  }
  if (line.ends_with('\r')) line.remove_suffix(1);
  if (const std::size_t nul = line.find('\0'); nul != std::string_view::npos)
    return give_up(ErrorCode::not_text, line.substr(0, nul), "the text holds a NUL byte", "plain text");
  if (const std::size_t good = utf8_prefix(line); good < line.size())
    return give_up(ErrorCode::not_text, line.substr(0, good), "not UTF-8", "text in UTF-8");
  if (const std::size_t cr = line.find('\r'); cr != std::string_view::npos)
    return give_up(ErrorCode::line_ending, line.substr(0, cr), "a carriage return inside a line", "lines that end with LF or CRLF");
  if (line.starts_with('#')) return take_comment(line);
  if (trimmed(line).empty()) {
    if (empty_line_ == 0) empty_line_ = line_number_;
    return;
  }
  complain_about_gap();
  if (columns_.empty()) return take_header(line);
  if (take_row(line) && shapes_) learn(raw);
}

// A line that does not end may have been cut: what there is of it can look like a reading.
void CsvRows::take_last_line() {
  const std::size_t before = complaints_.size();
  take_line(pending_);
  if (options_.last_line || unreadable_) return;
  complaints_.resize(before);  // of which the cut is the reason
  complain(ErrorCode::unfinished_line, static_cast<std::int64_t>(character_count(pending_)) + 1,
           "the last line does not end; it may have been cut", "",
           "a line end, or --last-line where the instrument never writes one");
}

// A row whose first cell begins with # must not pass for a comment. A spreadsheet fills every line up with empty cells, and a row
// of which only the first cell is filled in holds no reading. Where the first column is a text, "#7" may be one, and then no part
// of the row need be right for it to be a row.
void CsvRows::take_comment(std::string_view line) {
  if (columns_.empty()) return;
  const Field first = columns_.front().field;
  const bool is_text = (first == Field::field || first == Field::ignored) && line.size() > 1 && !is_blank(line[1]);
  Errors no_cells;
  const bool as_many_cells = cutter_.cut(line, separator_, cells_, no_cells) && cells_.size() == columns_.size();
  if (as_many_cells && std::all_of(cells_.begin() + 1, cells_.end(), [](const Cell& cell) { return trimmed(cell.text).empty(); }))
    return;
  if (!as_many_cells && !is_text && !names_direction(line, separator_)) return;
  complain(ErrorCode::ambiguous_comment, 1, "a comment that may be a row", printable(line),
           fmt::format("a comment that begins \"# \" and has no '{}', or the row with its first cell in quotes",
                       printable({&separator_, 1})));
}

// What follows `before` on the line cannot be understood.
void CsvRows::give_up(ErrorCode code, std::string_view before, std::string message, std::string expected) {
  unreadable_ = true;
  complain(code, static_cast<std::int64_t>(character_count(before)) + 1, std::move(message), "", std::move(expected));
}

void CsvRows::complain_about_length() {
  give_up(ErrorCode::line_too_long, {}, "the line is too long", fmt::format("at most {} bytes", k_longest_line));
}

// Empty lines may end a file; between rows one could hide a lost reading.
void CsvRows::complain_about_gap() {
  if (empty_line_ == 0 || columns_.empty()) {
    empty_line_ = 0;
    return;
  }
  const std::int64_t here = std::exchange(line_number_, empty_line_);
  complain(ErrorCode::empty_line, 1, "an empty line between rows", "", "a row, or a comment that begins with #");
  line_number_ = here;
  empty_line_ = 0;
}

void CsvRows::take_header(std::string_view line) {
  separator_ = line.find('\t') != std::string_view::npos ? '\t' : line.find(';') != std::string_view::npos ? ';' : ',';
  Errors found;
  if (cutter_.cut(line, separator_, cells_, found)) columns_ = read_header(cells_, options_, found);
  for (std::size_t i = 0; i < columns_.size(); ++i) {
    if (columns_[i].field == Field::ignored) ignored_columns_.emplace_back(cells_[i].text);
  }
  unreadable_ = !found.empty();  // without its header no row can be understood
  complain_all(found);
}

// Result: whether the row was in order.
bool CsvRows::take_row(std::string_view line) {
  Errors found;
  if (!cutter_.cut(line, separator_, cells_, found)) {
    complain_all(found);
    return false;
  }
  if (cells_.size() != columns_.size()) {
    complain(ErrorCode::cell_count, 1, "the row has not as many cells as the header",
             fmt::format("{} cell{}", cells_.size(), cells_.size() == 1 ? "" : "s"),
             fmt::format("{}{}", columns_.size(), separator_ == ',' ? "; a decimal comma needs semicolons or tabs" : ""));
    return false;
  }
  const std::size_t before = complaints_.size();
  read_cells();
  if (complaints_.size() == before) check_row();
  if (complaints_.size() != before || unreadable_) return false;
  ++rows_;
  if (!reading_.aperture && !reading_.wire) return true;
  if (++rows_with_reading_ > k_most_readings) {
    give_up(ErrorCode::too_many_readings, {}, "too many readings for one piece", fmt::format("at most {}", k_most_readings));
    return false;
  }
  sink_(reading_);
  return true;
}

// Later rows that differ from this one in nothing but digits can take the short way.
void CsvRows::learn(std::string_view line) {
  if (reading_.x && !positions_full_) return;
  if (reading_.role == Role::suspect) return;  // each has a name to be noted
  std::optional<NumberCell> aperture, wire;
  for (std::size_t i = 0; i < cells_.size(); ++i) {
    const Column& column = columns_[i];
    const std::string_view text = cells_[i].text;
    if (column.field == Field::aperture && !text.empty()) aperture = {text, column.unit};
    if (column.field == Field::wire && !text.empty()) wire = {text, column.unit};
    if ((column.field == Field::x || column.field == Field::y) && !is_position_with_any_digits(text)) return;
  }
  shapes_->learn(line, reading_, aperture, wire);
}

void CsvRows::read_cells() {
  reading_.aperture = reading_.wire = reading_.x = reading_.y = std::nullopt;
  reading_.role = Role::sample;
  reading_.line = line_number_;
  for (std::size_t i = 0; i < cells_.size(); ++i) read_cell(cells_[i], columns_[i]);
}

void CsvRows::read_cell(const Cell& cell, const Column& column) {
  switch (column.field) {
    case Field::direction: return keep(parse_direction(cell.text), cell, reading_.direction);
    case Field::role: return keep(parse_role(cell.text), cell, reading_.role);
    case Field::aperture: return read_length(cell, column.unit, reading_.aperture);
    case Field::wire: return read_length(cell, column.unit, reading_.wire);
    case Field::x: return read_number(cell, column.unit, reading_.x);
    case Field::y: return read_number(cell, column.unit, reading_.y);
    case Field::field: reading_.field = cell.text; return;
    case Field::ignored: return;
  }
}

template <class Value, class Target>
void CsvRows::keep(Result<Value> value, const Cell& cell, Target& target) {
  if (value.ok()) {
    target = *value;
  } else {
    complain(value.error(), cell.column);
  }
}

void CsvRows::read_length(const Cell& cell, Unit unit, std::optional<Length>& target) {
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

void CsvRows::read_number(const Cell& cell, Unit unit, std::optional<Length>& target) {
  if (cell.text.empty()) return;
  const bool comma = cell.text.find(',') != std::string_view::npos;
  const bool point = cell.text.find('.') != std::string_view::npos;
  if (comma != point && !check_mark(cell, comma ? DecimalMark::comma : DecimalMark::point)) return;
  keep(parse_length(cell.text, unit, comma && !point ? DecimalMark::comma : DecimalMark::point), cell, target);
}

// One decimal mark per file: with two of them a thousands separator could pass for a decimal mark.
bool CsvRows::check_mark(const Cell& cell, DecimalMark mark) {
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
void CsvRows::check_row() {
  if (reading_.role == Role::suspect && reading_.wire) {
    complain(ErrorCode::suspect_wire, 1, "a suspect is an aperture; this row has a wire too", "", "the wire in a row of its own");
  }
  if (reading_.x.has_value() != reading_.y.has_value()) {
    complain(ErrorCode::incomplete_position, 1, "half a position", "", "both x_mm and y_mm, or neither");
  }
  if (reading_.x && reading_.y && !positions_full_) check_position();
}

void CsvRows::check_position() {
  if (reads_blocks_) {  // it does not know the positions before
    unreadable_ = true;
    return;
  }
  const auto [first, is_new] = positions_.try_emplace(Position{*reading_.x, *reading_.y, reading_.direction}, line_number_);
  positions_full_ = positions_.size() == k_most_positions;
  if (is_new) return;
  complain(ErrorCode::repeated_position, 1, "the same position and direction a second time",
           fmt::format("x_mm {}, y_mm {}, {}", to_text(*reading_.x, Unit::millimetre), to_text(*reading_.y, Unit::millimetre),
                       to_text(reading_.direction)),
           fmt::format("each aperture once; it stands on line {} too", first->second));
}

CsvRows CsvRows::reader_of_blocks(Sample& sample) const {
  CsvRows reader(options_, sample);
  reader.reads_blocks_ = true;
  reader.columns_ = columns_;
  reader.separator_ = separator_;
  reader.at_beginning_ = false;
  return reader;
}

void CsvRows::begin_block(const CsvRows& file) {
  known_mark_line_ = file.mark_line_;
  mark_ = file.mark_;
  positions_full_ = file.positions_full_;
  // In-flight blocks are far fewer: what they hold cannot make the readings too many before the file's reader notices.
  constexpr std::int64_t k_margin = 1'000'000'000;
  unreadable_ = file.rows_with_reading_ > k_most_readings - k_margin;
}

std::optional<BlockCounts> CsvRows::read_block(std::string_view text) {
  mark_line_ = known_mark_line_;
  line_number_ = rows_ = rows_with_reading_ = 0;
  suspects_ = {};
  const bool understood = feed(text) && complaints_.empty();
  const bool changes_nothing = pending_.empty() && empty_line_ == 0 && mark_line_ == known_mark_line_;
  if (understood && changes_nothing) return BlockCounts{line_number_, rows_, rows_with_reading_, std::move(suspects_)};
  pending_.clear();
  complaints_.clear();
  empty_line_ = 0;
  shapes_->forget();  // learnt where the decimal mark of the file was not known
  return std::nullopt;
}

void CsvRows::skip_block(const BlockCounts& block) {
  if (block.rows > 0) complain_about_gap();
  line_number_ += block.lines;
  rows_with_reading_ += block.rows_with_reading;
  suspects_.merge(block.suspects);
}

}  // namespace sievecloth
