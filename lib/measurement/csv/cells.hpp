// Splits a line of separated text into cells.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "sievecloth/result.hpp"

namespace sievecloth {

/// One cell of a line, without its quotes and the blanks around it.
struct Cell {
  std::string_view text;
  std::int64_t column = 1;  ///< in characters, from 1
};

/// Splits lines into cells. Quoted cells stay within their line; a doubled quote stands for one.
class CellSplitter {
 public:
  /// The cells are valid until the next split, those without a doubled quote as long as the line.
  /// Returns false after an error, which is appended with its column.
  bool split(std::string_view line, char separator, std::vector<Cell>& cells, Errors& complaints);

 private:
  bool unquote(std::string_view line, char separator, std::int64_t column, std::size_t& end, std::vector<Cell>& cells,
               Errors& complaints);

  std::string unquoted_;
};

}  // namespace sievecloth
