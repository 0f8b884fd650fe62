// Widths of the columns of a table.
#pragma once

#include <vector>

#include "report/pdf/lines.hpp"
#include "sievecloth/report.hpp"

namespace sievecloth::pdf {

inline constexpr double k_cell_gap = 11;
inline constexpr double k_narrow_gap = 6;  // where the table needs the room

struct Columns {
  std::vector<double> widths;
  double gap = k_cell_gap;
  bool whole = true;  ///< no word and no number is broken

  /// Left edge of a column, from that of the table.
  double x(std::size_t column) const;
  double width() const;
};

/// The widths at which nothing wraps but column headings.
Columns natural_columns(const Fonts& fonts, const Table& table, double size);

/// Widths for a table as wide as `room`. Numbers never wrap, headings may; text columns share the remaining width according to
/// need.
Columns columns_within(const Fonts& fonts, const Table& table, double size, double room);

}  // namespace sievecloth::pdf
