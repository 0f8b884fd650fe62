// The first line of a readings file: which cell holds what.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "sievecloth/readings_csv.hpp"

namespace sievecloth {

/// One cell of a line, without its quotes and the blanks around it.
struct Cell {
  std::string_view text;
  std::int64_t column = 1;  ///< in characters, from 1
};

enum class Field : std::uint8_t { direction, aperture, wire, role, field, x, y, ignored };

struct Column {
  Field field = Field::ignored;
  Unit unit = Unit::millimetre;
};

/// Finds out what the columns are. Complaints are appended with their column alone as their place.
std::vector<Column> read_header(const std::vector<Cell>& cells, const CsvOptions& options, Errors& complaints);

}  // namespace sievecloth
