#include "measurement/csv/header.hpp"

#include <algorithm>
#include <array>
#include <cstdlib>
#include <set>
#include <string>

#include <fmt/format.h>

#include "base/text.hpp"

namespace sievecloth {
namespace {

constexpr std::string_view k_known_columns =
    "direction, aperture_um, aperture_mm, aperture_in, wire_um, wire_mm, wire_in, role, field, gap, x_mm, y_mm, operator";

struct Name {
  std::string_view text;
  Field field;
  bool has_unit = false;
};

constexpr std::array k_names{
    Name{"direction", Field::direction},
    Name{"aperture", Field::aperture, true},
    Name{"wire", Field::wire, true},
    Name{"role", Field::role},
    Name{"field", Field::field},
    Name{"gap", Field::gap},
    Name{"x", Field::x, true},
    Name{"y", Field::y, true},
    Name{"operator", Field::operator_name},
};

Error at(const Cell& cell, ErrorCode code, std::string message, std::string expected) {
  return {code, std::move(message), printable(cell.text), std::move(expected), {{}, 0, cell.column}};
}

// ---- names and units

bool is_position(Field field) { return field == Field::x || field == Field::y; }

struct Parts {
  std::string_view name;  // all of the text if no unit stands behind it
  std::optional<Unit> unit;
};

// `aperture_um`, `aperture (um)`, `aperture [um]`, `aperture, um`, `aperture / um` and `aperture um`, with or without more blanks.
// After a blank alone `in` is no unit: it is a word too.
Parts parts_of(std::string_view text) {
  std::size_t end_of_name = std::string_view::npos;
  std::string_view unit_text;
  for (const auto& [open, close] : {std::pair('(', ')'), std::pair('[', ']')}) {
    if (!text.ends_with(close)) continue;
    end_of_name = text.rfind(open);
    if (end_of_name != std::string_view::npos) unit_text = text.substr(end_of_name + 1, text.size() - end_of_name - 2);
  }
  if (unit_text.empty()) {
    end_of_name = text.find_last_of("_,/ ");
    if (end_of_name != std::string_view::npos) unit_text = text.substr(end_of_name + 1);
  }
  const std::optional<Unit> unit = find_unit(trimmed(unit_text));
  if (!unit) return {text, std::nullopt};
  const std::string_view before = trimmed(text.substr(0, end_of_name));
  const bool has_mark = text[end_of_name] != ' ' || before.ends_with('_') || before.ends_with(',') || before.ends_with('/');
  if (*unit == Unit::inch && !has_mark) return {text, std::nullopt};
  const bool is_doubled = text[end_of_name] == ' ' && has_mark;
  return {is_doubled ? trimmed(before.substr(0, before.size() - 1)) : before, unit};
}

struct Known {
  Field field;
  std::optional<Unit> unit;
  std::optional<Direction> direction = {};
};

const Name* find_name(std::string_view text) {
  const auto name = std::find_if(k_names.begin(), k_names.end(), [&](const Name& n) { return same_word(text, n.text); });
  return name == k_names.end() ? nullptr : &*name;
}

std::optional<Known> known_column(std::string_view text) {
  const Parts parts = parts_of(text);
  const Name* name = find_name(parts.name);
  if (name == nullptr || (!name->has_unit && parts.unit)) return std::nullopt;
  if (is_position(name->field) && parts.unit != Unit::millimetre) return std::nullopt;
  return Known{name->field, parts.unit};
}

// Both signs for micro are one.
std::string comparable(std::string_view text) {
  constexpr std::string_view k_mu = "\u03bc", k_micro = "\u00b5";
  std::string name = lower_case(trimmed(text));
  for (std::size_t at = 0; (at = name.find(k_mu, at)) != std::string::npos;) name.replace(at, k_mu.size(), k_micro);
  return name;
}

// ---- near misses

// ASCII letters and digits in lower case; everything else separates words.
std::vector<std::string> words_of(std::string_view text) {
  std::vector<std::string> words(1);
  for (const char c : text) {
    const char lower = to_lower(c);
    if (is_digit(lower) || (lower >= 'a' && lower <= 'z')) {
      words.back() += lower;
    } else if (!words.back().empty()) {
      words.emplace_back();
    }
  }
  if (words.back().empty()) words.pop_back();
  return words;
}

// True if one letter is added, missing or different, or two are exchanged; never the first letter: a hole is not a role.
bool is_slip_of(std::string_view text, std::string_view word) {
  if (text == word) return true;
  if (text.size() > word.size() + 1 || word.size() > text.size() + 1 || text.empty() || text[0] != word[0]) return false;
  std::size_t same = 0;
  while (same < std::min(text.size(), word.size()) && text[same] == word[same]) ++same;
  const std::string_view left = text.substr(same), right = word.substr(same);
  if (left.empty() || right.empty()) return true;
  const bool exchanged =
      left.size() > 1 && right.size() > 1 && left[0] == right[1] && left[1] == right[0] && left.substr(2) == right.substr(2);
  return exchanged || left.substr(1) == right.substr(1) || left.substr(1) == right || left == right.substr(1);
}

// The known name that a column nearly matches: a word of it, or the beginning of it, apart from a typing error.
const Name* nearly(std::string_view text) {
  const std::vector<std::string> words = words_of(text);
  std::string all;
  for (const std::string& word : words) all += word;
  for (const Name& name : k_names) {
    const bool is_word = std::any_of(words.begin(), words.end(), [&](const std::string& word) {
      return name.text.size() == 1 ? word == name.text : is_slip_of(word, name.text);
    });
    const bool runs_on = name.text.size() > 1 && (all.starts_with(name.text) || is_slip_of(all, name.text));
    const bool has_unit_behind =
        name.text.size() == 1 && (all == std::string(name.text) + "mm" || all == std::string(name.text) + "um");
    if (is_word || runs_on || has_unit_behind) return &name;
  }
  const bool speaks_of_role = std::any_of(words.begin(), words.end(), [](const std::string& word) {
    return is_slip_of(word, "suspect") || is_slip_of(word, "suspects");
  });
  return speaks_of_role ? &*std::find_if(k_names.begin(), k_names.end(), [](const Name& name) { return name.field == Field::role; })
                        : nullptr;
}

std::string offer(const Name& name) {
  if (is_position(name.field)) return fmt::format("{}_mm", name.text);
  return name.has_unit ? fmt::format("{0}_um, {0}_mm or {0}_in", name.text) : std::string(name.text);
}

// The words of a name, in which the signs for micrometre and inch are words too.
std::vector<std::string> unit_words_of(std::string_view text) {
  std::string plain = comparable(text);
  for (const auto& [sign, word] :
       {std::pair<std::string_view, std::string_view>{"\u00b5", "u"}, {"\"", " in "}, {"\u2033", " in "}}) {
    for (std::size_t at = 0; (at = plain.find(sign, at)) != std::string::npos; at += word.size())
      plain.replace(at, sign.size(), word);
  }
  return words_of(plain);
}

// A word of the name that is a unit, other than the one given: which of the two is meant would be a guess.
std::optional<std::string> other_unit_in(std::string_view text, Unit given) {
  static constexpr std::pair<std::string_view, std::optional<Unit>> k_words[] = {{"um", Unit::micrometre},
                                                                                 {"micron", Unit::micrometre},
                                                                                 {"microns", Unit::micrometre},
                                                                                 {"micrometre", Unit::micrometre},
                                                                                 {"micrometres", Unit::micrometre},
                                                                                 {"micrometer", Unit::micrometre},
                                                                                 {"micrometers", Unit::micrometre},
                                                                                 {"mm", Unit::millimetre},
                                                                                 {"millimetre", Unit::millimetre},
                                                                                 {"millimetres", Unit::millimetre},
                                                                                 {"millimeter", Unit::millimetre},
                                                                                 {"millimeters", Unit::millimetre},
                                                                                 {"inch", Unit::inch},
                                                                                 {"inches", Unit::inch},
                                                                                 {"nm", std::nullopt},
                                                                                 {"dm", std::nullopt},
                                                                                 {"km", std::nullopt},
                                                                                 {"uin", std::nullopt},
                                                                                 {"zoll", std::nullopt},
                                                                                 {"pixel", std::nullopt},
                                                                                 {"pixels", std::nullopt},
                                                                                 {"px", std::nullopt},
                                                                                 {"cm", std::nullopt},
                                                                                 {"mil", std::nullopt},
                                                                                 {"mils", std::nullopt},
                                                                                 {"thou", std::nullopt}};
  for (const std::string& word : unit_words_of(text)) {
    for (const auto& [name, unit] : k_words) {
      if (word == name && unit != given) return word;
    }
  }
  return std::nullopt;
}

// `10 um`, `1/1000 mm`, `x10 um`, `0.001"`: readings in multiples of a unit, which are not read.
bool counts_units(std::string_view text) {
  const std::vector<std::string> words = unit_words_of(text);
  const auto is_unit = [](std::string_view word) { return find_unit(word).has_value(); };
  const auto ends_in_digit = [](std::string_view word) { return !word.empty() && is_digit(word.back()); };
  for (std::size_t i = 0; i < words.size(); ++i) {
    const std::size_t letters = std::min(words[i].find_first_not_of("0123456789"), words[i].size());
    if (letters > 0 && is_unit(words[i].substr(letters))) return true;
    const bool number = letters == words[i].size() || (words[i].front() == 'x' && ends_in_digit(words[i]));
    if (number && i + 1 < words.size() && is_unit(words[i + 1])) return true;
  }
  return false;
}

class HeaderReader {
 public:
  HeaderReader(const CsvOptions& options, Errors& complaints) : options_(options), complaints_(complaints) {}

  std::vector<Column> read(const std::vector<Cell>& cells) {
    if (complain_about_no_header(cells)) return {};
    complain_about_impossible_names(cells.front());
    std::vector<Column> columns;
    columns.reserve(cells.size());
    const auto last = std::find_if(cells.rbegin(), cells.rend(), [](const Cell& cell) { return !cell.text.empty(); }).base();
    for (auto cell = cells.begin(); cell != last; ++cell) columns.push_back(read_cell(*cell, columns));
    columns.resize(cells.size(), {Field::empty});
    complain_about_missing_names(cells);
    check_complete(columns, cells.front());
    return columns;
  }

 private:
  Column read_cell(const Cell& cell, const std::vector<Column>& before) {
    std::optional<Known> known = named_column(cell.text);
    if (!known) known = known_column(cell.text);
    if (!known) {
      complain_about_unknown(cell);
      return {};
    }
    const auto same = [&](const Column& column) {
      return column.field == known->field && (!column.direction || !known->direction || column.direction == known->direction);
    };
    if (std::any_of(before.begin(), before.end(), same)) {
      complaints_.push_back(
          at(cell, ErrorCode::duplicate_column, "a second column for the same thing", "each quantity in one column only"));
    }
    const bool needs_unit = known->field == Field::aperture || known->field == Field::wire;
    const Unit unit = known->unit ? *known->unit : needs_unit ? unit_from_option(cell) : Unit::millimetre;
    if (needs_unit) check_claims(cell, unit);
    return {known->field, unit, known->direction};
  }

  // What the options say that the column holds. A name that they give comes before the usual ones.
  std::optional<Known> named_column(std::string_view text) {
    for (const NamedColumn& column : options_.columns) {
      if (comparable(column.name) != comparable(text)) continue;
      found_.insert(&column);
      if (const Name* name = find_name(column.holds))
        return Known{name->field, name->has_unit ? parts_of(text).unit : std::nullopt, column.direction};
    }
    return std::nullopt;
  }

  // One complaint instead of one for each cell: what is wrong is not their names.
  bool complain_about_no_header(const std::vector<Cell>& cells) {
    const auto is_known = [&](const Cell& cell) { return named_column(cell.text) || known_column(cell.text); };
    if (std::any_of(cells.begin(), cells.end(), is_known)) return false;
    if (cells.size() == 1 && cells[0].text.find_first_of(",;\t") != std::string_view::npos) {
      complaints_.push_back(
          at(cells[0], ErrorCode::column_missing, "the whole line in quotes is one cell", "quotes around single cells, or none"));
      return true;
    }
    const auto is_number = [](const Cell& cell) {
      return !cell.text.empty() && cell.text.find_first_not_of("0123456789.,-") == std::string_view::npos;
    };
    const auto number = std::find_if(cells.begin(), cells.end(), is_number);
    if (number == cells.end()) return false;
    complaints_.push_back(at(*number, ErrorCode::column_missing, "readings where the names of columns should be",
                             "a header such as direction,aperture_um,wire_um; a line that begins with # is a comment"));
    return true;
  }

  // The reader of a job file refuses these where they stand; a rig may have set them.
  void complain_about_impossible_names(const Cell& first) {
    for (const NamedColumn& column : options_.columns) {
      const Name* name = find_name(column.holds);
      const bool is_common =
          name != nullptr && (name->field == Field::direction || name->field == Field::role || name->field == Field::operator_name);
      if (name != nullptr && !(is_common && column.direction)) continue;
      complaints_.push_back({ErrorCode::option_value,
                             "a column cannot be named for this",
                             printable(column.holds),
                             "aperture, wire, field, gap, x or y; or, for both directions, direction, role or operator",
                             {{}, 0, first.column}});
    }
  }

  void complain_about_missing_names(const std::vector<Cell>& cells) {
    for (const NamedColumn& column : options_.columns) {
      if (found_.contains(&column)) continue;
      std::string names;
      for (const Cell& cell : cells) names += (names.empty() ? "" : ", ") + printable(cell.text);
      complaints_.push_back({ErrorCode::column_missing,
                             fmt::format("the header has no column '{}', named for the {}", printable(column.name), column.holds),
                             "",
                             fmt::format("one of its columns: {}", names),
                             {{}, 0, cells.front().column}});
    }
  }

  // A column that nearly matches a known one may hold what the verdict needs: it is never ignored.
  void complain_about_unknown(const Cell& cell) {
    if (const Name* name = nearly(cell.text)) {
      complaints_.push_back(at(cell, ErrorCode::unknown_column, "a column whose name is nearly known",
                               fmt::format("{}, or another name for something else", offer(*name))));
    } else if (cell.text.empty()) {
      complaints_.push_back(at(cell, ErrorCode::unknown_column, "a column without a name", std::string(k_known_columns)));
    } else if (!options_.ignore_columns) {
      complaints_.push_back(
          at(cell, ErrorCode::unknown_column, "unknown column (--ignore-columns leaves others out)", std::string(k_known_columns)));
    }
  }

  Unit unit_from_option(const Cell& cell) {
    option_used_ = true;
    if (!options_.unit) {
      complaints_.push_back(at(cell, ErrorCode::unit_missing, "the column does not name its unit",
                               fmt::format("{0}_um, {0}_mm or {0}_in, or --unit um|mm|in", lower_case(cell.text))));
    }
    return options_.unit.value_or(Unit::micrometre);
  }

  // Two units in one name, or a multiple of one: which is meant would be a guess.
  void check_claims(const Cell& cell, Unit unit) {
    if (const std::optional<std::string> other = other_unit_in(cell.text, unit)) {
      complaints_.push_back(at(cell, ErrorCode::unit_missing,
                               fmt::format("the name speaks of {}, the unit used is another", *other),
                               "the unit behind the name (um, mm or in), or a name without one"));
    } else if (counts_units(cell.text)) {
      complaints_.push_back(at(cell, ErrorCode::unit_missing, "the name speaks of a multiple of a unit",
                               "readings in um, mm or in, and a name that says so"));
    }
  }

  void check_complete(const std::vector<Column>& columns, const Cell& first) {
    const auto has = [&](Field field) {
      return std::any_of(columns.begin(), columns.end(), [&](const Column& column) { return column.field == field; });
    };
    const auto missing = [&](std::string message, std::string expected) {
      complaints_.push_back({ErrorCode::column_missing, std::move(message), "", std::move(expected), {{}, 0, first.column}});
    };
    const bool wide = is_wide(columns);
    if (wide && (has(Field::direction) || options_.direction))
      missing("columns of one direction each, and a direction for the rows", "one of them");
    if (wide && std::any_of(columns.begin(), columns.end(), is_undirected))
      missing("a column of readings without a direction beside columns of one direction each", "a direction for each column");
    if (!wide && !has(Field::direction) && !options_.direction)
      missing("the header has no column 'direction'", "a header such as direction,aperture_um,wire_um");
    if (!has(Field::aperture) && !has(Field::wire)) {
      missing("the header has no column of readings", "aperture_um, aperture_mm, aperture_in, wire_um, wire_mm or wire_in");
    }
    if (!positions_are_whole(columns)) missing("a position needs both its columns", "x_mm and y_mm");
    if (has(Field::role) && !has(Field::aperture)) missing("a column 'role' without apertures", "a column such as aperture_um");
    if (contradicts_unit(columns) && complaints_.empty()) {
      complaints_.push_back({ErrorCode::option_conflict,
                             "--unit was given, but every column names its own unit, which is another",
                             "",
                             "no --unit, or columns named aperture and wire",
                             {{}, 0, first.column}});
    }
  }

  // One option serves several files, of which some may name the same unit.
  bool contradicts_unit(const std::vector<Column>& columns) const {
    return options_.unit && !option_used_ && std::none_of(columns.begin(), columns.end(), [&](const Column& column) {
             return (column.field == Field::aperture || column.field == Field::wire) && column.unit == *options_.unit;
           });
  }

  static bool is_undirected(const Column& column) {
    return (column.field == Field::aperture || column.field == Field::wire) && !column.direction;
  }

  static bool positions_are_whole(const std::vector<Column>& columns) {
    const auto count = [&](Field field, std::optional<Direction> direction) {
      return std::count_if(columns.begin(), columns.end(),
                           [&](const Column& column) { return column.field == field && column.direction == direction; });
    };
    const auto is_whole = [&](std::optional<Direction> direction) {
      return count(Field::x, direction) == count(Field::y, direction);
    };
    return is_whole(std::nullopt) && is_whole(Direction::warp) && is_whole(Direction::weft);
  }

  const CsvOptions& options_;
  Errors& complaints_;
  std::set<const NamedColumn*> found_;
  bool option_used_ = false;
};

}  // namespace

bool is_wide(const std::vector<Column>& columns) {
  return std::any_of(columns.begin(), columns.end(), [](const Column& column) { return column.direction.has_value(); });
}

std::vector<Column> read_header(const std::vector<Cell>& cells, const CsvOptions& options, Errors& complaints) {
  return HeaderReader(options, complaints).read(cells);
}

}  // namespace sievecloth
