#include "measurement/csv_header.hpp"

#include <algorithm>
#include <array>

#include <fmt/format.h>

namespace sievecloth {
namespace {

constexpr std::string_view k_known_columns =
    "direction, aperture_um, aperture_mm, aperture_in, wire_um, wire_mm, wire_in, role, field, x_mm, y_mm";

struct Name {
  std::string_view text;
  Field field;
  std::optional<Unit> unit;
};

constexpr std::array k_names{
    Name{"direction", Field::direction, Unit::millimetre},
    Name{"aperture_um", Field::aperture, Unit::micrometre},
    Name{"aperture_mm", Field::aperture, Unit::millimetre},
    Name{"aperture_in", Field::aperture, Unit::inch},
    Name{"aperture", Field::aperture, std::nullopt},
    Name{"wire_um", Field::wire, Unit::micrometre},
    Name{"wire_mm", Field::wire, Unit::millimetre},
    Name{"wire_in", Field::wire, Unit::inch},
    Name{"wire", Field::wire, std::nullopt},
    Name{"role", Field::role, Unit::millimetre},
    Name{"field", Field::field, Unit::millimetre},
    Name{"x_mm", Field::x, Unit::millimetre},
    Name{"y_mm", Field::y, Unit::millimetre},
};

Error at(const Cell& cell, ErrorCode code, std::string message, std::string expected) {
  return {code, std::move(message), printable(cell.text), std::move(expected), {{}, 0, cell.column}};
}

class HeaderReader {
 public:
  HeaderReader(const CsvOptions& options, Errors& complaints) : options_(options), complaints_(complaints) {}

  std::vector<Column> read(const std::vector<Cell>& cells) {
    std::vector<Column> columns;
    columns.reserve(cells.size());
    for (const Cell& cell : cells) columns.push_back(read_cell(cell, columns));
    check_complete(columns, cells.front());
    return columns;
  }

 private:
  Column read_cell(const Cell& cell, const std::vector<Column>& before) {
    const auto name = std::find_if(k_names.begin(), k_names.end(), [&](const Name& n) { return n.text == cell.text; });
    if (name == k_names.end()) {
      if (!options_.ignore_columns || cell.text.empty()) {
        complaints_.push_back(at(cell, ErrorCode::unknown_column, "unknown column (--ignore-columns leaves others out)",
                                 std::string(k_known_columns)));
      }
      return {};
    }
    const auto same = [&](const Column& column) { return column.field == name->field; };
    if (std::any_of(before.begin(), before.end(), same)) {
      complaints_.push_back(
          at(cell, ErrorCode::duplicate_column, "a second column for the same thing", "each quantity in one column only"));
    }
    return {name->field, name->unit ? *name->unit : unit_from_option(cell)};
  }

  Unit unit_from_option(const Cell& cell) {
    option_used_ = true;
    if (!options_.unit) {
      complaints_.push_back(at(cell, ErrorCode::unit_missing, "the column does not name its unit",
                               fmt::format("{0}_um, {0}_mm or {0}_in, or --unit um|mm|in", cell.text)));
    }
    return options_.unit.value_or(Unit::micrometre);
  }

  void check_complete(const std::vector<Column>& columns, const Cell& first) {
    const auto has = [&](Field field) {
      return std::any_of(columns.begin(), columns.end(), [&](const Column& column) { return column.field == field; });
    };
    const auto missing = [&](std::string message, std::string expected) {
      complaints_.push_back({ErrorCode::column_missing, std::move(message), "", std::move(expected), {{}, 0, first.column}});
    };
    if (!has(Field::direction)) missing("the header has no column 'direction'", "a header such as direction,aperture_um,wire_um");
    if (!has(Field::aperture) && !has(Field::wire)) {
      missing("the header has no column of readings", "aperture_um, aperture_mm, aperture_in, wire_um, wire_mm or wire_in");
    }
    if (has(Field::x) != has(Field::y)) missing("a position needs both its columns", "x_mm and y_mm");
    if (has(Field::role) && !has(Field::aperture)) missing("a column 'role' without apertures", "a column such as aperture_um");
    if (options_.unit && !option_used_ && complaints_.empty()) {
      complaints_.push_back({ErrorCode::option_conflict,
                             "--unit was given, but every column names its own unit",
                             "",
                             "no --unit, or columns named aperture and wire",
                             {{}, 0, first.column}});
    }
  }

  const CsvOptions& options_;
  Errors& complaints_;
  bool option_used_ = false;
};

}  // namespace

std::vector<Column> read_header(const std::vector<Cell>& cells, const CsvOptions& options, Errors& complaints) {
  return HeaderReader(options, complaints).read(cells);
}

}  // namespace sievecloth
