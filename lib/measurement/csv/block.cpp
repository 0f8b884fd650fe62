#include "measurement/csv/block.hpp"

#include <utility>

namespace sievecloth {

void Block::parse(std::string_view lines, const RowLayout& layout) {
  if (std::exchange(version_, layout.version) != layout.version) plain_.set_layout(layout);
  lines_ = lines;
  others_.clear();
  plain_.begin(lines.size());
  while (true) {
    lines.remove_prefix(plain_.read(lines));
    if (lines.empty()) return;
    const std::size_t end = lines.find('\n');
    others_.push_back({lines.substr(0, end), plain_.size()});
    lines.remove_prefix(end + 1);
  }
}

void Block::hand_on(Rows& rows) {
  while (!lines_.empty() && !rows.full()) {
    if (rows.layout().version != version_) parse(lines_, rows.layout());
    hand_on_parsed(rows);
  }
}

// Stops at a line that adds to the layout.
void Block::hand_on_parsed(Rows& rows) {
  std::size_t row = 0;
  for (const OtherLine& other : others_) {
    hand_on_rows(rows, std::exchange(row, other.row), other.row, static_cast<std::size_t>(other.text.data() - lines_.data()));
    if (rows.full()) return;
    rows.take_line(other.text);
    lines_.remove_prefix(other.text.size() + 1);
    if (rows.full() || rows.layout().version != version_) return;
  }
  hand_on_rows(rows, row, plain_.size(), lines_.size());
}

void Block::hand_on_rows(Rows& rows, std::size_t first, std::size_t last, std::size_t bytes) {
  if (first < last) rows.take_plain(plain_.rows(first, last - first), lines_.substr(0, bytes));
  lines_.remove_prefix(bytes);
}

}  // namespace sievecloth
