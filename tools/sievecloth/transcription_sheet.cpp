#include "transcription_sheet.hpp"

#include <algorithm>
#include <optional>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "base/complaints.hpp"
#include "base/text.hpp"
#include "diagnosis/random.hpp"
#include "measurement/csv/cells.hpp"
#include "measurement/csv/utf8_text.hpp"
#include "standards/row_values.hpp"
#include "standards/size_text.hpp"

namespace sievecloth::tool {
namespace {

constexpr std::string_view k_first_head = "size or rule";
constexpr std::string_view k_rule_head = "value of the rule";
constexpr std::string_view k_unit_row = "unit";
constexpr std::size_t k_rule_column = k_sheet_items.size();
constexpr std::array<std::string_view, 3> k_scales{"fixed", "sieving area", "area of cloth"};

// ---- a blank sheet

bool has_column(const Edition* like, const SheetItem& item) {
  if (like == nullptr || item.name == "maximum_individual") return !like || like->rules.graded;
  if (item.name == "standard_deviation_limit" || item.name == "counts") return !like->rules.graded;
  if (item.name.find("limit.") != std::string_view::npos || item.name.starts_with("counts.")) return like->rules.graded;
  if (item.name == "intermediate_limit") return like->rules.share.has_value();
  return true;
}

template <class Item>
void shuffle(std::vector<Item>& items) {
  RandomEngine engine(items.size());
  for (std::size_t i = items.size(); i > 1; --i) std::swap(items[i - 1], items[uniform_below(engine, i)]);
}

// ---- the value in a cell

Error wrong(std::string_view found, std::string expected) {
  return {ErrorCode::malformed_number, "not a value of this column", printable(found), std::move(expected), {}};
}

Result<Length> length_in(std::string_view text, Unit unit) {
  if (!is_digit(text.back())) return parse_length_with_unit(text);
  return parse_length(text, unit, text.find(',') == std::string_view::npos ? DecimalMark::point : DecimalMark::comma);
}

Result<std::string> designation_in(std::string_view text) {
  const Result<SizeText> size = parse_size(text);
  if (!size.ok() || !size->is_alternative()) return wrong(text, "such as No. 200 or 3/8 in.");
  const std::size_t begin = text.find_first_of("0123456789");
  const std::string_view number = text.substr(begin, text.find_last_of("0123456789") + 1 - begin);
  return size->kind == SizeText::Kind::sieve_number ? fmt::format("No. {}", number) : fmt::format("{} in.", number);
}

Result<std::string> count_in(std::string_view text) {
  if (same_word(text, "all")) return std::string("all");
  const bool plain = text.size() <= 9 && text.front() != '0' && std::all_of(text.begin(), text.end(), is_digit);
  return plain ? Result<std::string>(std::string(text)) : wrong(text, "a whole number, or all");
}

/// `unit`: of a length that names none.
Result<std::string> value_in(Holds holds, std::string_view text, Unit unit) {
  switch (holds) {
    case Holds::designation: return designation_in(text);
    case Holds::count: return count_in(text);
    case Holds::length:
    case Holds::number: {
      const Result<Length> length = holds == Holds::length ? length_in(text, unit) : parse_length(text, Unit::micrometre);
      if (!length.ok()) return length.errors();
      return length->pm() > 0 ? Result<std::string>(to_text(*length, Unit::micrometre)) : wrong(text, "a number above 0");
    }
    case Holds::yes_or_no:
      if (same_word(text, "yes") || same_word(text, "no")) return lower_case(text);
      return wrong(text, "yes or no");
    case Holds::spread:
      if (same_word(text, "s")) return std::string("s");
      if (same_word(text, "k s")) return std::string("K s");
      return wrong(text, "s or K s");
    case Holds::scale: break;
  }
  for (const std::string_view scale : k_scales) {
    std::string word(scale);
    std::replace(word.begin(), word.end(), ' ', '_');
    if (same_word(text, scale) || same_word(text, word)) return word;
  }
  return wrong(text, "fixed, sieving area or area of cloth");
}

// ---- a filled sheet

class SheetReader {
 public:
  explicit SheetReader(const std::string& file) : file_(file), complaints_(file) {}

  Result<CopiedRows> read(std::string_view text) {
    if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
    while (!text.empty()) {
      const std::size_t end = std::min(text.find('\n'), text.size());
      std::string_view line = text.substr(0, end);
      text.remove_prefix(std::min(end + 1, text.size()));
      if (line.ends_with('\r')) line.remove_suffix(1);
      ++line_;
      if (line.find_first_not_of(" \t,;") != std::string_view::npos && !line.starts_with('#')) read_line(line);
    }
    if (columns_.empty()) complaints_.add(ErrorCode::header_missing, 1, 1, "no header", {}, std::string(k_first_head));
    if (complaints_.none() && rows_.empty()) complaints_.add(ErrorCode::no_readings, line_, 1, "no cell is filled in");
    if (!complaints_.none()) return complaints_.take();
    return std::move(rows_);
  }

 private:
  void complain(ErrorCode code, const Cell& cell, std::string message, std::string expected = {}) {
    complaints_.add(code, line_, cell.column, std::move(message), cell.text, std::move(expected));
  }

  void read_line(std::string_view line) {
    if (columns_.empty()) separator_ = line.find('\t') != line.npos ? '\t' : line.find(';') != line.npos ? ';' : ',';
    std::vector<Cell> cells;
    Errors errors;
    if (utf8_prefix(line) != line.size()) return complaints_.add(ErrorCode::not_text, line_, 1, "not UTF-8: save as \"CSV UTF-8\"");
    CellSplitter splitter;
    splitter.split(line, separator_, cells, errors);
    for (Error& error : errors) complaints_.add(error.code, line_, error.where.column, std::move(error.message), error.found);
    if (!errors.empty()) return;
    if (columns_.empty()) return read_header(cells);
    if (cells.size() != columns_.size()) {
      return complain(ErrorCode::cell_count, cells.back(), fmt::format("{} cells in this row", cells.size()),
                      fmt::format("{}, as in the header", columns_.size()));
    }
    if (same_word(cells[0].text, k_unit_row)) return read_units(cells);
    read_row(cells);
  }

  void read_header(const std::vector<Cell>& cells) {
    if (!same_word(cells[0].text, k_first_head))
      complain(ErrorCode::header_missing, cells[0], "not the header of a sheet", std::string(k_first_head));
    for (const Cell& cell : cells) {
      std::size_t column = 0;
      while (column < k_rule_column && (k_sheet_items[column].rule || k_sheet_items[column].head != cell.text)) ++column;
      if (&cell != &cells[0] && column == k_rule_column && !same_word(cell.text, k_rule_head))
        complain(ErrorCode::unknown_column, cell, "not a column of a sheet", "the heads that `transcribe --blank` prints");
      if (&cell != &cells[0] && std::find(columns_.begin() + 1, columns_.end(), column) != columns_.end())
        complain(ErrorCode::duplicate_column, cell, "the same column again");
      columns_.push_back(column);
    }
    units_.resize(columns_.size());
  }

  void read_units(const std::vector<Cell>& cells) {
    for (std::size_t i = 1; i < cells.size(); ++i) {
      if (cells[i].text.empty()) continue;
      units_[i] = find_unit(cells[i].text);
      const bool length = columns_[i] < k_rule_column && k_sheet_items[columns_[i]].holds == Holds::length;
      if (!units_[i] || !length) complain(ErrorCode::unit_missing, cells[i], "not a unit of a length", "um, mm or in; or empty");
    }
  }

  void read_row(const std::vector<Cell>& cells) {
    const std::optional<std::size_t> rule = rule_named(cells[0].text);
    const Result<Length> size = rule ? Result<Length>(Length()) : parse_length_with_unit(cells[0].text);
    if (!size.ok())
      return complain(ErrorCode::malformed_size, cells[0], "neither a size nor a rule",
                      "75 um, 4.75 mm, or a rule of the blank sheet");
    if (!named_.emplace(rule.value_or(k_rule_column), *size).second)
      complain(ErrorCode::duplicate_key, cells[0], "the same row again");
    for (std::size_t i = 1; i < cells.size(); ++i) {
      if (cells[i].text.empty()) continue;
      if (rule.has_value() != (columns_[i] == k_rule_column)) {
        complain(ErrorCode::cell_count, cells[i], rule ? "a rule has one value" : "a size has no rule",
                 rule ? fmt::format("the value in the column '{}'", k_rule_head) : "an empty cell");
        continue;
      }
      const std::size_t item = rule.value_or(columns_[i]);
      const Unit of_size = rule || *size < Length::of(1, Unit::millimetre) ? Unit::micrometre : Unit::millimetre;
      const Result<std::string> value = value_in(k_sheet_items[item].holds, cells[i].text, units_[i].value_or(of_size));
      if (value.ok()) {
        rows_[*size][item] = {*value, {file_, line_, cells[i].column}};
      } else {
        complain(value.error().code, cells[i], fmt::format("{}: {}", k_sheet_items[item].head, value.error().message),
                 value.error().expected);
      }
    }
  }

  static std::optional<std::size_t> rule_named(std::string_view head) {
    for (std::size_t i = 0; i < k_sheet_items.size(); ++i) {
      if (k_sheet_items[i].rule && k_sheet_items[i].head == head) return i;
    }
    return std::nullopt;
  }

  const std::string& file_;
  Complaints complaints_;
  std::int64_t line_ = 0;
  char separator_ = ',';
  std::vector<std::size_t> columns_;  // indices of items; k_rule_column for the rules' values
  std::vector<std::optional<Unit>> units_;
  std::set<std::pair<std::size_t, Length>> named_;
  CopiedRows rows_;
};

}  // namespace

std::string blank_sheet(const Edition* like, std::vector<Length> sizes, bool shuffled) {
  std::string header = fmt::format("{},{}", k_first_head, k_rule_head);
  std::string empty = ",";
  std::vector<std::string_view> rules;
  for (const SheetItem& item : k_sheet_items) {
    if (item.rule) {
      rules.push_back(item.head);
    } else if (has_column(like, item)) {
      header += fmt::format(",{}", item.head);
      empty += ",";
    }
  }
  if (shuffled) {
    shuffle(sizes);
    shuffle(rules);
  }
  std::string text = fmt::format("{}\n{}{}\n", header, k_unit_row, empty);
  for (const Length size : sizes) {
    const Unit unit = size < Length::of(1, Unit::millimetre) ? Unit::micrometre : Unit::millimetre;
    text += fmt::format("{} {}{}\n", to_text(size, unit), to_text(unit), empty);
  }
  for (const std::string_view rule : rules) text += fmt::format("{}{}\n", rule, empty);
  return text;
}

Result<CopiedRows> read_sheet(std::string_view text, const std::string& file) {
  Utf8Text utf8;
  std::string whole(utf8.take(text));
  whole += utf8.finish();
  return SheetReader(file).read(whole);
}

}  // namespace sievecloth::tool
