// The header of a readings file: what each cell holds.
#pragma once

#include <optional>
#include <vector>

#include "measurement/csv/cells.hpp"
#include "sievecloth/readings_csv.hpp"

namespace sievecloth {

/// `ignored`: of another name; `empty`: without one, behind all others, as spreadsheets leave them.
enum class Field : std::uint8_t { direction, aperture, wire, role, field, gap, operator_name, x, y, ignored, empty };

struct Column {
  Field field = Field::ignored;
  Unit unit = Unit::millimetre;
  std::optional<Direction> direction = {};  ///< of the readings in this column of a wide table
};

/// Layout of the rows of a file, as far as known.
struct RowLayout {
  std::vector<Column> columns;  ///< empty before the header
  char separator = ',';
  std::optional<Direction> direction;  ///< of all rows, if no column holds it
  bool wide = false;                   ///< a row holds a reading of each direction
  std::optional<DecimalMark> mark;     ///< empty before the first number that has one
  int version = 0;                     ///< incremented with every change
};

/// True if some columns hold the readings of one direction each.
bool is_wide(const std::vector<Column>& columns);

/// Identifies the columns. Errors are appended with only a column as their location.
std::vector<Column> read_header(const std::vector<Cell>& cells, const CsvOptions& options, Errors& complaints);

}  // namespace sievecloth
