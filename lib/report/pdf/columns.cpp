#include "report/pdf/columns.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace sievecloth::pdf {
namespace {

double sum(const std::vector<double>& values) { return std::accumulate(values.begin(), values.end(), 0.0); }

struct Needs {
  std::vector<double> natural;  // nothing wraps but headings of numbers
  std::vector<double> least;    // words and numbers stay whole
  std::vector<double> solid;    // numbers and drawings stay whole, if need be at the cost of words
};

Needs needs_of(const Fonts& fonts, const Table& table, double size) {
  const std::size_t count = table.columns.size();
  Needs needs{std::vector<double>(count), std::vector<double>(count), std::vector<double>(count)};
  for (std::size_t i = 0; i < count; ++i) {
    const TableColumn& column = table.columns[i];
    needs.least[i] = word_width(fonts, {size, true, 0}, column.title);
    needs.natural[i] = column.number || column.drawing ? needs.least[i] : fonts.width(column.title, size, true);
  }
  for (const auto& row : table.rows) {
    if (row.size() != count) continue;
    for (std::size_t i = 0; i < count; ++i) {
      const Face face{size, row[i].strong, 0};
      const double whole = row[i].drawing ? row[i].drawing->width : fonts.width(row[i].text, face.size, face.bold);
      needs.natural[i] = std::max(needs.natural[i], whole);
      const bool breaks = !table.columns[i].number && !row[i].drawing;
      const double word = row[i].drawing ? whole : word_width(fonts, face, row[i].text);
      needs.least[i] = std::max(needs.least[i], breaks ? word : needs.natural[i]);
      if (!breaks) needs.solid[i] = std::max(needs.solid[i], word);
    }
  }
  return needs;
}

// Distributes `rest` among the columns that need more than their minimum, more to long texts but less than in proportion.
std::vector<double> between(const std::vector<double>& natural, const std::vector<double>& least, double rest) {
  std::vector<double> widths = least;
  const auto wanting = [&](std::size_t i) {
    return std::max(natural[i] - widths[i], 0.0);
  };  // rounding may take it beyond its natural width
  for (int round = 0; round < 4 && rest > 0.1; ++round) {
    double shares = 0;
    for (std::size_t i = 0; i < widths.size(); ++i) shares += std::sqrt(wanting(i));
    const double each = rest / shares;
    for (std::size_t i = 0; i < widths.size(); ++i) {
      const double more = std::min(wanting(i), each * std::sqrt(wanting(i)));
      widths[i] += more;
      rest -= more;
    }
  }
  return widths;
}

std::vector<double> shared(const Needs& needs, double room) {
  std::vector<double> natural = needs.natural;
  const std::vector<double>& least = needs.least;
  const double wanted = sum(natural);
  const double smallest = sum(least);
  if (wanted <= room) {  // the remaining width goes between the columns
    for (double& width : natural) width += (room - wanted) / static_cast<double>(natural.size());
    return natural;
  }
  if (smallest >= room) {
    const double solid = sum(needs.solid);
    const double part = solid < room && smallest > solid ? (room - solid) / (smallest - solid) : 0;
    for (std::size_t i = 0; i < natural.size(); ++i)
      natural[i] = part > 0 ? needs.solid[i] + (least[i] - needs.solid[i]) * part : least[i] * room / smallest;
    return natural;
  }
  return between(natural, least, room - smallest);
}

}  // namespace

double Columns::x(std::size_t column) const {
  double at = 0;
  for (std::size_t i = 0; i < column; ++i) at += widths[i] + gap;
  return at;
}

double Columns::width() const { return sum(widths) + gap * static_cast<double>(widths.size() - 1); }

Columns natural_columns(const Fonts& fonts, const Table& table, double size) {
  return {needs_of(fonts, table, size).natural, k_cell_gap};
}

Columns columns_within(const Fonts& fonts, const Table& table, double size, double room) {
  const Needs needs = needs_of(fonts, table, size);
  const double gaps = static_cast<double>(table.columns.size() - 1);
  const double gap = sum(needs.natural) + k_cell_gap * gaps <= room ? k_cell_gap : k_narrow_gap;
  return {shared(needs, room - gap * gaps), gap, sum(needs.least) <= room - gap * gaps};
}

}  // namespace sievecloth::pdf
