// The first line of a readings file: which cell holds what.
#pragma once

#include <optional>
#include <vector>

#include "measurement/csv/cells.hpp"
#include "sievecloth/readings_csv.hpp"

namespace sievecloth {

enum class Field : std::uint8_t { direction, aperture, wire, role, field, x, y, ignored };

struct Column {
  Field field = Field::ignored;
  Unit unit = Unit::millimetre;
};

/// How the rows of a file are written, as far as it has been read.
struct RowLayout {
  std::vector<Column> columns;  ///< none before the header
  char separator = ',';
  std::optional<DecimalMark> mark;  ///< none before the first number that has one
  int version = 0;                  ///< goes up with every change
};

/// Finds out what the columns are. Complaints are appended with their column alone as their place.
std::vector<Column> read_header(const std::vector<Cell>& cells, const CsvOptions& options, Errors& complaints);

}  // namespace sievecloth
