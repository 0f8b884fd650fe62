// Divides what stands below one another among pages.
#pragma once

#include <functional>
#include <memory>
#include <vector>

#include "report/pdf/layout.hpp"

namespace sievecloth::pdf {

/// Something that is not divided between pages, or a flow that is.
struct Item {
  double above = 0;   ///< space above it, dropped at the top of a page
  double height = 0;  ///< of a flow: the least that it needs on a page
  bool keep = false;  ///< stays on the page of the next item
  /// Draws it at `y`; the page is complete above.
  std::function<void(Page& page, double y)> set;
  /// Of a flow, instead of `set`: draws what fits between `y` and the bottom, and moves `y` below it. Returns whether there is
  /// more.
  std::function<bool(Page& page, double& y)> flow{};
  /// Drawn first if it begins a page: the headings that it stands under.
  std::shared_ptr<const std::vector<Item>> headings{};
};

/// Lays items on pages, from top to bottom.
class Paginator {
 public:
  Paginator() { new_page(); }
  void add(Item item) { items_.push_back(std::move(item)); }
  /// All pages; nothing is left afterwards.
  std::vector<Page> take();

 private:
  void new_page();
  void place(const Item& item);
  void flow(const Item& item);
  bool fits_with_next(std::size_t first) const;
  void begin_page_with(const Item& item);

  std::vector<Item> items_;
  std::vector<Page> pages_;
  double y_ = 0;
  bool fresh_ = true;  // nothing on this page yet
};

}  // namespace sievecloth::pdf
