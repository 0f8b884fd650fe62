// Reads tests/data/standards/*.csv by itself, with none of the library's readers, so that it can bear witness against them.
#pragma once

#include <cstdint>
#include <fstream>
#include <map>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

namespace sievecloth::test {

/// One line: column name to cell.
using CsvRow = std::map<std::string, std::string>;

/// Throws where the file is missing, empty, or a line has another number of cells than the header.
inline std::vector<CsvRow> standards_csv(const std::string& name) {
  std::ifstream file(std::string(SIEVECLOTH_TEST_DATA) + "/standards/" + name + ".csv");
  if (!file) throw std::runtime_error("cannot read " + name);
  const auto cells_of = [](const std::string& line) {
    std::vector<std::string> cells;
    std::stringstream rest(line + ",");
    for (std::string cell; std::getline(rest, cell, ',');) cells.push_back(cell);
    return cells;
  };
  std::string line;
  std::getline(file, line);
  const std::vector<std::string> header = cells_of(line);
  std::vector<CsvRow> rows;
  while (std::getline(file, line)) {
    const std::vector<std::string> cells = cells_of(line);
    if (cells.size() != header.size()) throw std::runtime_error(name + ": bad line " + line);
    CsvRow& row = rows.emplace_back();
    for (std::size_t i = 0; i < cells.size(); ++i) row[header[i]] = cells[i];
  }
  if (rows.empty()) throw std::runtime_error("no rows in " + name);
  return rows;
}

/// A decimal number of micrometres, as picometres. Throws on anything but digits and one point, or more than six decimals.
inline std::int64_t pm_of_um(const std::string& text) {
  const std::size_t point = text.find('.');
  std::string digits = text.substr(0, point);
  std::string decimals = point == std::string::npos ? "" : text.substr(point + 1);
  if (decimals.size() > 6) throw std::runtime_error("too fine: " + text);
  decimals.resize(6, '0');
  digits += decimals;
  if (digits.empty() || digits.find_first_not_of("0123456789") != std::string::npos) throw std::runtime_error("no number: " + text);
  std::int64_t pm = 0;
  for (const char digit : digits) pm = pm * 10 + (digit - '0');
  return pm;
}

}  // namespace sievecloth::test
