// Reads the data files of the NIST Dataplot collection in tests/data/reference.
#pragma once

#include <fstream>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

namespace sievecloth::test {

/// The column-th word (from 0) of each line after the first `skip` lines, as text. Throws where the file is missing.
inline std::vector<std::string> reference_column(const std::string& name, int skip, int column = 0) {
  std::ifstream file(std::string(SIEVECLOTH_TEST_DATA) + "/reference/" + name);
  if (!file) throw std::runtime_error("missing " + name);
  std::vector<std::string> values;
  std::string line;
  for (int number = 0; std::getline(file, line); ++number) {
    std::istringstream words(line);
    std::string word;
    for (int i = 0; i <= column; ++i) words >> word;
    if (number >= skip && words) values.push_back(word);
  }
  return values;
}

/// What tests/support/statistics.R printed under this name. Throws where it printed nothing.
inline std::vector<double> second_opinion(const std::string& name) {
  std::ifstream file(std::string(SIEVECLOTH_TEST_DATA) + "/second_opinion.csv");
  for (std::string line; std::getline(file, line);) {
    if (!line.starts_with(name + ",")) continue;
    std::istringstream cells(line.substr(name.size() + 1));
    std::vector<double> values;
    for (std::string cell; std::getline(cells, cell, ',');) values.push_back(std::stod(cell));
    return values;
  }
  throw std::runtime_error("no second opinion on " + name);
}

}  // namespace sievecloth::test
