#include "measurement/csv/cells.hpp"

#include <algorithm>

#include "base/text.hpp"

namespace sievecloth {
namespace {

std::size_t skip_blanks(std::string_view line, std::size_t from, char separator) {
  while (from < line.size() && is_blank(line[from]) && line[from] != separator) ++from;
  return from;
}

}  // namespace

bool CellSplitter::split(std::string_view line, char separator, std::vector<Cell>& cells, Errors& complaints) {
  cells.clear();
  unquoted_.clear();
  std::int64_t column = 1;
  std::size_t begin = 0;
  while (true) {
    const std::size_t at = skip_blanks(line, begin, separator);
    column += static_cast<std::int64_t>(at - begin);
    std::size_t end = at;
    if (at < line.size() && line[at] == '"') {
      if (!unquote(line, separator, column, end, cells, complaints)) return false;
    } else {
      end = std::min(line.find(separator, at), line.size());
      cells.push_back({trimmed(line.substr(at, end - at)), column});
    }
    if (end == line.size()) return true;
    column += static_cast<std::int64_t>(character_count(line.substr(at, end - at))) + 1;
    begin = end + 1;
  }
}

bool CellSplitter::unquote(std::string_view line, char separator, std::int64_t column, std::size_t& end, std::vector<Cell>& cells,
                           Errors& complaints) {
  const std::size_t begin = end + 1;
  bool doubled = false;
  std::size_t i = begin;
  for (;; ++i) {
    if (i >= line.size()) {
      complaints.push_back({ErrorCode::unterminated_quote,
                            "a quoted cell does not end on its line",
                            printable(line.substr(end)),
                            "a closing \"",
                            {{}, 0, column}});
      return false;
    }
    if (line[i] != '"') continue;
    if (i + 1 >= line.size() || line[i + 1] != '"') break;
    doubled = true;
    ++i;
  }
  std::string_view text = line.substr(begin, i - begin);
  const std::size_t after = skip_blanks(line, i + 1, separator);
  if (after < line.size() && line[after] != separator) {
    complaints.push_back({ErrorCode::malformed_quote,
                          "text after the closing quote",
                          printable(line.substr(after)),
                          "a separator or the end of the line",
                          {{}, 0, column}});
    return false;
  }
  if (doubled) {
    unquoted_.reserve(line.size());  // views into it must stay valid
    const std::size_t start = unquoted_.size();
    for (std::size_t k = 0; k < text.size(); ++k) {
      unquoted_ += text[k];
      if (text[k] == '"') ++k;
    }
    text = std::string_view(unquoted_).substr(start);
  }
  end = after;
  cells.push_back({trimmed(text), column});
  return true;
}

}  // namespace sievecloth
