#include "report/pdf/pages.hpp"

namespace sievecloth::pdf {

void Paginator::new_page() {
  pages_.push_back({{k_page_width, k_page_height, {}}, {}});
  y_ = k_top;
  fresh_ = true;
}

void Paginator::begin_page_with(const Item& item) {
  new_page();
  if (!item.headings) return;
  double height = 0;
  for (const Item& heading : *item.headings) height += heading.above + heading.height;
  if (height > (k_bottom - k_top) / 2) return;  // would leave no room for what they head
  for (const Item& heading : *item.headings) {
    if (y_ > k_top) y_ += heading.above;
    heading.set(pages_.back(), y_);
    y_ += heading.height;
  }
  fresh_ = false;
}

// The item, and those that have to stay with it. What is longer than a page fits nowhere and is divided.
bool Paginator::fits_with_next(std::size_t first) const {
  double height = 0;
  for (std::size_t i = first; i < items_.size(); ++i) {
    height += (i == first && fresh_ ? 0 : items_[i].above) + items_[i].height;
    if (!items_[i].keep) break;
  }
  if (y_ + height <= k_bottom) return true;
  return height > k_bottom - k_top && y_ + items_[first].above + items_[first].height <= k_bottom;
}

void Paginator::flow(const Item& item) {
  while (item.flow(pages_.back(), y_)) begin_page_with(item);
}

void Paginator::place(const Item& item) {
  if (!fresh_) y_ += item.above;
  fresh_ = false;
  if (item.flow) return flow(item);
  item.set(pages_.back(), y_);
  y_ += item.height;
}

std::vector<Page> Paginator::take() {
  for (std::size_t i = 0; i < items_.size(); ++i) {
    if (!fresh_ && !fits_with_next(i)) begin_page_with(items_[i]);
    place(items_[i]);
  }
  items_.clear();
  return std::move(pages_);
}

}  // namespace sievecloth::pdf
