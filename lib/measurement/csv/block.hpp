// Whole lines of a file: rows on the fast path, and the lines between them.
#pragma once

#include <string_view>
#include <vector>

#include "measurement/csv/plain_rows.hpp"
#include "measurement/csv/rows.hpp"

namespace sievecloth {

/// Lines parsed independently, as far as possible without the preceding ones, and handed on in order later.
class Block {
 public:
  /// Parses `lines`, each of which ends with LF; PlainRows::k_padding bytes after them must be readable. They must stay valid and
  /// in place until handed on.
  void parse(std::string_view lines, const RowLayout& layout);
  /// Hands on all lines to a reader that has already received the preceding ones. If it knows more of the layout than `parse` did,
  /// the rest is parsed again.
  void hand_on(Rows& rows);

 private:
  struct OtherLine {
    std::string_view text;
    std::size_t row = 0;  // number of rows before it
  };

  void hand_on_parsed(Rows& rows);
  void hand_on_rows(Rows& rows, std::size_t first, std::size_t last, std::size_t bytes);

  std::string_view lines_;  // not yet handed on
  int version_ = -1;        // of the layout
  PlainRows plain_;
  std::vector<OtherLine> others_;
};

}  // namespace sievecloth
