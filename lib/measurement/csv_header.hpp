// The first line of a readings file: which cell holds what.
#pragma once

#include <optional>
#include <vector>

#include "measurement/csv_cells.hpp"
#include "sievecloth/readings_csv.hpp"

namespace sievecloth {

enum class Field : std::uint8_t { direction, aperture, wire, role, field, x, y, ignored };

struct Column {
  Field field = Field::ignored;
  Unit unit = Unit::millimetre;
};

/// Finds out what the columns are. Complaints are appended with their column alone as their place.
std::vector<Column> read_header(const std::vector<Cell>& cells, const CsvOptions& options, Errors& complaints);

}  // namespace sievecloth
