#include "report/pdf/layout.hpp"

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "report/pdf/columns.hpp"
#include "report/pdf/lines.hpp"
#include "report/pdf/pages.hpp"
#include "report/words.hpp"

namespace sievecloth::pdf {
namespace {

// Sizes of letters, and spaces.
struct Type {
  double body, small, table, heading, title, verdict;
  double above_section, below_heading, row_gap, signature;
  double around_letterhead;
  std::size_t fact_columns;
};
constexpr Type k_ordinary{8.8, 7.6, 8.2, 10.5, 20, 15, 13, 5, 3, 43, 9, 2};
constexpr Type k_compact{7.4, 7, 7.2, 8.8, 14, 12, 5, 1, 1.5, 26, 5, 3};  // of a short report
constexpr double k_smallest = 6.2;
constexpr Grey k_soft = 0.3;   // names of facts, captions
constexpr Grey k_hair = 0.72;  // lines between rows
constexpr double k_whole_page = k_bottom - k_top;

// ---- drawing on a page

void add(Page& page, Shape shape) { page.drawing.shapes.push_back(std::move(shape)); }

void rule(Page& page, double x, double y, double width, Stroke stroke) {
  add(page, LineShape{{x, y}, {x + width, y}, std::move(stroke)});
}

// Sets lines from `y` downwards.
void put(Page& page, const Lines& lines, double x, double y, const Face& face, Anchor anchor = Anchor::start) {
  for (std::size_t i = 0; i < lines.size(); ++i) {
    const double base = y + static_cast<double>(i) * face.leading() + 0.95 * face.size;
    add(page, TextShape{{x, base}, lines[i], face.size, anchor, face.bold, false, face.grey});
  }
}

// Adds the shapes of a drawing, translated and scaled.
void place(Page& page, const Drawing& drawing, Point corner, double scale) {
  const auto moved = [&](Point point) { return Point{corner.x + scale * point.x, corner.y + scale * point.y}; };
  for (Shape shape : drawing.shapes) {
    if (auto* area = std::get_if<AreaShape>(&shape)) {
      *area = {moved(area->corner), area->width * scale, area->height * scale, area->grey};
    } else if (auto* line = std::get_if<LineShape>(&shape)) {
      line->from = moved(line->from);
      line->to = moved(line->to);
    } else if (auto* path = std::get_if<PathShape>(&shape)) {
      for (Point& point : path->points) point = moved(point);
    } else if (auto* circle = std::get_if<CircleShape>(&shape)) {
      circle->centre = moved(circle->centre);
      circle->radius *= scale;
    } else if (auto* text = std::get_if<TextShape>(&shape)) {
      text->at = moved(text->at);
      text->size *= scale;
    }
    add(page, std::move(shape));
  }
}

// ---- texts side by side

// A text at its place in a row, or a drawing.
struct Cell {
  Lines lines;
  Face face;
  double x = 0;
  Anchor anchor = Anchor::start;
  const Drawing* drawing = nullptr;
  bool bullet = false;
  double height() const { return drawing != nullptr ? drawing->height + 1 : height_of(lines, face); }
};
using Cells = std::vector<Cell>;

double tallest(const Cells& cells) {
  double height = 0;
  for (const Cell& cell : cells) height = std::max(height, cell.height());
  return height;
}

void put(Page& page, const Cell& cell, double y) {
  if (cell.drawing != nullptr) return place(page, *cell.drawing, {cell.x, y}, 1);
  if (cell.bullet) add(page, CircleShape{{cell.x - 7.5, y + 0.62 * cell.face.size}, 1.2, true, {cell.face.grey, 0, {}}});
  put(page, cell.lines, cell.x, y, cell.face, cell.anchor);
}

// One line of each cell.
Cells line_of(const Cells& cells, std::size_t line) {
  Cells part;
  for (const Cell& cell : cells) {
    const bool here = line < cell.lines.size() || (line == 0 && cell.drawing != nullptr);
    if (!here) continue;
    part.push_back(cell);
    if (cell.drawing == nullptr) part.back().lines = {cell.lines[line]};
    part.back().bullet = cell.bullet && line == 0;
  }
  return part;
}

// How a table is set.
struct Setting {
  const Table& table;
  double size;  // of its letters
  Columns columns;
  std::size_t parallel = 1;  // columns of rows
  double pitch = 0;          // from one of them to the next
};

class Layout {
 public:
  Layout(const Report& report, const Fonts& fonts)
      : report_(report), fonts_(fonts), type_(report.source.short_form ? k_compact : k_ordinary) {}

  std::vector<Page> pages() {
    letterhead();
    title();
    verdict();
    for (const Section& section : report_.sections) set_section(section);
    std::vector<Page> pages = paginator_.take();
    for (std::size_t i = 0; i < pages.size(); ++i) {
      head_line(pages[i]);
      footer(pages[i], i + 1, pages.size());
    }
    return pages;
  }

 private:
  Lines lines(std::string_view text, const Face& face, double width) const { return break_lines(fonts_, face, width, text); }

  // ---- rows and paragraphs

  // A row stays whole unless it is longer than a page. `after` is the space below it, within which `finish` may draw.
  void add_row(Cells cells, Item item, double after, std::function<void(Page&, double)> finish = {}) {
    const double height = tallest(cells);
    if (height + after <= k_whole_page / 2) {
      item.height = height + after;
      item.set = [cells = std::move(cells), finish = std::move(finish), height](Page& page, double y) {
        for (const Cell& cell : cells) put(page, cell, y);
        if (finish) finish(page, y + height);
      };
      return paginator_.add(std::move(item));
    }
    const bool keep = std::exchange(item.keep, false);
    std::size_t count = 1;
    for (const Cell& cell : cells) count = std::max(count, cell.lines.size());
    for (std::size_t i = 0; i < count; ++i) {
      Item part = item;
      part.keep = keep && i + 1 == count;
      add_row(line_of(cells, i), std::move(part), i + 1 == count ? after : 0, i + 1 == count ? finish : nullptr);
      item.above = 0;
    }
  }

  // A text that may continue on the next page, but leaves no single line alone. `keep`: its last line stays with what follows.
  void flow(std::string_view text, double width, const Face& face, double above = 0, double after = 0, bool keep = false) {
    const Lines all = lines(text, face, width);
    for (std::size_t i = 0; i < all.size(); ++i) {
      const bool last = i + 1 == all.size();
      Item item{.above = i == 0 ? above : 0, .keep = last ? keep : i == 0 || i + 2 == all.size()};
      add_row({Cell{{all[i]}, face, k_margin}}, std::move(item), last ? after : 0);
    }
  }

  void add_rule(double above, Stroke stroke, double after, bool keep = false) {
    paginator_.add({.above = above, .height = after, .keep = keep, .set = [stroke](Page& page, double y) {
                      rule(page, k_margin, y, k_text_width, stroke);
                    }});
  }

  // ---- the head of the document

  void letterhead() {
    const Letterhead& letterhead = report_.source.letterhead;
    const bool logo = letterhead.logo_kind != Letterhead::LogoKind::none;
    if (letterhead.name.empty() && !logo) return;
    const double width = k_text_width - (logo ? k_logo_width + 16 : 0);
    const Face soft{type_.body, false, k_soft};
    double height = 0;
    const auto add_text = [&](const std::string& text, const Face& face) {
      if (text.empty()) return;
      height += height_of(lines(text, face, width), face);
      flow(text, width, face);
    };
    add_text(letterhead.name, {11, true, 0});
    for (const std::string& line : letterhead.address) add_text(line, soft);
    add_text(letterhead.accreditation, soft);
    if (logo && height < k_logo_height) paginator_.add({.height = k_logo_height - height, .set = [](Page&, double) {}});
    add_rule(type_.around_letterhead - 1, {0, 1.2, {}}, type_.around_letterhead + 1);
  }

  void title() {
    flow(report_.title, k_text_width, {type_.title, true, 0}, 6, 5, true);
    set(Facts{report_.facts});
  }

  void verdict() {
    const Face face{type_.body, false, 0};
    const Face word{type_.verdict, true, 0};
    const double inset = 14;
    const double x = k_margin + inset;
    const double width = k_text_width - 2 * inset;
    std::vector<Cell> parts{{lines(report_.subject, face, width), face, x}, {lines(report_.verdict, word, width), word, x}};
    for (const std::string& qualifier : report_.qualifiers) {
      parts.push_back({lines(qualifier, face, width - 10), face, x + 10});
      parts.back().bullet = true;
    }
    double height = 16;
    for (const Cell& part : parts) height += part.height() + (part.bullet ? 1 : 0);
    if (height > k_whole_page / 2) {  // no frame around what may be divided
      for (Cell& part : parts) add_row({std::move(part)}, {.above = 1}, 0);
      return;
    }
    paginator_.add({.above = 12, .height = height, .set = [parts = std::move(parts), height](Page& page, double y) {
                      frame(page, y, height);
                      y += 8;
                      for (const Cell& part : parts) {
                        put(page, part, y);
                        y += part.height() + (part.bullet ? 1 : 0);
                      }
                    }});
  }

  static void frame(Page& page, double top, double height) {
    const double left = k_margin, right = k_margin + k_text_width, bottom = top + height;
    add(page, PathShape{{{left, top}, {right, top}, {right, bottom}, {left, bottom}, {left, top}}, {0, 0.5, {}}});
    add(page, AreaShape{{left, top}, 4, height, 0});
  }

  // A draft says so at the head of each page.
  void head_line(Page& page) const {
    if (report_.page_head.empty()) return;
    add(page, TextShape{{k_margin + k_text_width / 2, k_top - 8}, report_.page_head, type_.body, Anchor::middle, true, false, 0});
  }

  void footer(Page& page, std::size_t number, std::size_t number_of_pages) const {
    const Face face{type_.small, false, k_soft};
    Drawing& drawing = page.drawing;
    const double y = k_page_height - 46;
    drawing.shapes.push_back(LineShape{{k_margin, y}, {k_margin + k_text_width, y}, {k_hair, 0.5, {}}});
    const std::string this_one = fmt::format("{}", number), all = fmt::format("{}", number_of_pages);
    const std::string pages = filled(report_.page_pattern, std::array{Filling{"page", this_one}, Filling{"pages", all}});
    const double room = k_text_width - fonts_.width(pages, face.size, false) - 20;
    const Lines left = lines(fmt::format("{} {}", report_.title, report_.number), face, room);
    for (std::size_t i = 0; i < std::min<std::size_t>(2, left.size()); ++i)
      drawing.shapes.push_back(TextShape{{k_margin, y + 11 + static_cast<double>(i) * face.leading()},
                                         left[i],
                                         face.size,
                                         Anchor::start,
                                         false,
                                         false,
                                         face.grey});
    drawing.shapes.push_back(TextShape{{k_margin + k_text_width, y + 11}, pages, face.size, Anchor::end, false, false, face.grey});
  }

  // ---- sections

  void set_section(const Section& section) {
    paginator_.add({.above = type_.above_section, .keep = true, .set = [title = section.title](Page& page, double y) {
                      page.marks.push_back({title, y});
                    }});
    flow(section.title, k_text_width, {type_.heading, true, 0}, 0, 1.5, true);
    add_rule(0, {0.55, 0.5, {}}, type_.below_heading, true);
    for (const Block& block : section.blocks) std::visit([this](const auto& content) { set(content); }, block);
  }

  void set(const Paragraph& paragraph) { flow(paragraph.text, k_text_width, {type_.body, false, 0}, 3, 2); }

  void set(const Notes& notes) {
    const Face face{type_.body, false, 0};
    for (const std::string& item : notes.items) {
      Cell cell{lines(item, face, k_text_width - 10), face, k_margin + 10};
      cell.bullet = true;
      add_row({std::move(cell)}, {}, 1.5);
    }
  }

  // Columns of facts, or one if a value would take many lines at half the width.
  void set(const Facts& block) {
    const bool wide = std::any_of(block.facts.begin(), block.facts.end(), [](const Fact& fact) { return fact.value.size() > 80; });
    const std::size_t columns = wide ? 1 : type_.fact_columns;
    const double gap = 16;
    const double column = (k_text_width - gap * static_cast<double>(columns - 1)) / static_cast<double>(columns);
    const double name = wide ? 130 : std::min(98.0, 0.45 * column);
    const Face soft{type_.body, false, k_soft};
    const Face face{type_.body, false, 0};
    for (std::size_t i = 0; i < block.facts.size(); i += columns) {
      Cells cells;
      for (std::size_t j = i; j < std::min(i + columns, block.facts.size()); ++j) {
        const double x = k_margin + static_cast<double>(j - i) * (column + gap);
        cells.push_back({lines(block.facts[j].name, soft, name - 8), soft, x});
        cells.push_back({lines(block.facts[j].value, face, column - name), face, x + name});
      }
      add_row(std::move(cells), {}, 1.5);
    }
  }

  void set(const Signatures& signatures) {
    const Face face{type_.body, false, 0};
    const double gap = 24;
    const double column = (k_text_width - gap) / 2;
    for (std::size_t i = 0; i < signatures.names.size(); i += 2) {
      Cells cells;
      for (std::size_t j = i; j < std::min(i + 2, signatures.names.size()); ++j)
        cells.push_back({lines(signatures.names[j], face, column), face, k_margin + static_cast<double>(j - i) * (column + gap)});
      const double height = type_.signature;
      paginator_.add({.height = height, .keep = true, .set = [cells, column, height](Page& page, double y) {
                        for (const Cell& cell : cells) rule(page, cell.x, y + height - 3, column, {0, 0.5, {}});
                      }});
      add_row(std::move(cells), {}, 0);
    }
  }

  // ---- tables

  Setting setting_of(const Table& table) const {
    if (table.side_by_side) {
      constexpr double k_between = 18;
      const Columns columns = natural_columns(fonts_, table, type_.small);
      const auto parallel = static_cast<std::size_t>((k_text_width + k_between) / (columns.width() + k_between));
      if (parallel > 0) return {table, type_.small, columns, parallel, (k_text_width + k_between) / static_cast<double>(parallel)};
    }
    double size = type_.table;
    Columns columns = columns_within(fonts_, table, size, k_text_width);
    while (!columns.whole && size > k_smallest) {  // smaller letters, before a word or a number is broken
      size = std::max(k_smallest, size - 0.3);
      columns = columns_within(fonts_, table, size, k_text_width);
    }
    return {table, size, columns};
  }

  Cells cells_of(const Setting& setting, const std::vector<TableCell>& row) const {
    Cells cells;
    for (std::size_t i = 0; i < row.size(); ++i) {
      const Face face{setting.size, row[i].strong, 0};
      const double width = setting.columns.widths[i];
      const double x = k_margin + setting.columns.x(i);
      const bool number = setting.table.columns[i].number;
      if (row[i].drawing)
        cells.push_back({{}, face, x, Anchor::start, &*row[i].drawing});
      else
        cells.push_back(
            {lines(row[i].text, face, width + 0.01), face, x + (number ? width : 0), number ? Anchor::end : Anchor::start});
    }
    return cells;
  }

  // The column headings, once for each column of rows; their last lines are on one level.
  Item head_item(const Setting& setting) const {
    std::vector<TableCell> titles;
    for (const TableColumn& column : setting.table.columns) titles.push_back({column.title, true});
    const Cells cells = cells_of(setting, titles);
    const double height = tallest(cells) + type_.row_gap;
    const double width = setting.parallel == 1 ? k_text_width : setting.columns.width();
    return {.above = 3,
            .height = height + 1,
            .keep = true,
            .set = [=, parallel = setting.parallel, pitch = setting.pitch](Page& page, double y) {
              for (std::size_t i = 0; i < parallel; ++i) {
                const double aside = static_cast<double>(i) * pitch;
                for (Cell cell : cells) {
                  cell.x += aside;
                  put(page, cell, y + height - 1.5 - cell.height());
                }
                rule(page, k_margin + aside, y + height, width, {0, 0.8, {}});
              }
            }};
  }

  Item group_item(const TableCell& cell) const {
    const Face face{type_.table, true, 0};
    const Lines text = lines(cell.text, face, k_text_width);
    const double height = height_of(text, face) + 1.5;
    return {.above = 4, .height = height, .keep = true, .set = [=](Page& page, double y) {
              put(page, text, k_margin, y, face);
              rule(page, k_margin, y + height, k_text_width, {0.45, 0.4, {}});
            }};
  }

  using Headings = std::shared_ptr<const std::vector<Item>>;
  static Headings headings(std::vector<Item> items) { return std::make_shared<const std::vector<Item>>(std::move(items)); }

  void set(const Table& table) {
    const auto setting = std::make_shared<const Setting>(setting_of(table));
    const Item head = head_item(*setting);
    paginator_.add(head);
    Headings above = headings({head});
    for (std::size_t begin = 0; begin < table.rows.size();) {
      if (table.rows[begin].size() == 1) {
        Item group = group_item(table.rows[begin].front());
        group.headings = headings({head});
        above = headings({head, group});
        paginator_.add(std::move(group));
        ++begin;
      }
      std::size_t end = begin;
      while (end < table.rows.size() && table.rows[end].size() > 1) ++end;
      if (setting->parallel > 1) {
        add_side_by_side(setting, begin, end, above);
      } else {
        for (std::size_t i = begin; i < end; ++i) add_body_row(*setting, i, begin, end, above);
      }
      begin = end;
    }
    if (!table.key.empty()) flow(table.key, k_text_width, k_key, 3, 0);
    add_space(3);
  }

  // The first two rows below a heading stay together, and so do the last two.
  void add_body_row(const Setting& setting, std::size_t row, std::size_t begin, std::size_t end, const Headings& above) {
    const bool keep = row + 1 < end && (row == begin || row + 2 == end);
    add_row(cells_of(setting, setting.table.rows[row]), {.above = 1.5, .keep = keep, .headings = above}, type_.row_gap - 1.5,
            [gap = type_.row_gap](Page& page, double y) {
              rule(page, k_margin, y + gap - 1.5, k_text_width, {k_hair, 0.3, {}});
            });
  }

  // Rows from `begin` to `end`, down each column of rows and as many of them as the page has room for. On the last page the columns
  // are of one height.
  void add_side_by_side(std::shared_ptr<const Setting> setting, std::size_t begin, std::size_t end, Headings above) {
    if (begin == end) return;
    const double pitch = Face{setting->size}.leading() + 0.4;
    const auto flow_rows = [this, setting, pitch, end, next = begin](Page& page, double& y) mutable {
      const std::size_t fitting = std::max<std::size_t>(1, static_cast<std::size_t>((k_bottom - y - 2) / pitch));
      const std::size_t balanced = (end - next + setting->parallel - 1) / setting->parallel;
      const std::size_t rows = std::min(fitting, balanced);
      for (std::size_t i = 0; i < setting->parallel * rows && next < end; ++i, ++next) {
        for (Cell& cell : cells_of(*setting, setting->table.rows[next])) {
          cell.x += static_cast<double>(i / rows) * setting->pitch;
          put(page, cell, y + 2 + static_cast<double>(i % rows) * pitch);
        }
      }
      y += static_cast<double>(rows) * pitch + 2;
      return next < end;
    };
    paginator_.add({.above = 1, .height = 3 * pitch, .flow = flow_rows, .headings = std::move(above)});
  }

  void add_space(double height) {
    paginator_.add({.height = height, .set = [](Page&, double) {}});
  }

  // ---- pictures

  static constexpr double k_picture_gap = 12;
  static constexpr double k_half_width = (k_text_width - k_picture_gap) / 2;
  static constexpr Face k_caption{8.2, true, 0};
  static constexpr Face k_key{7.4, false, k_soft};

  struct Placed {
    const Picture* picture;
    double x, scale;
    Lines title, key;
    double drawn() const { return picture->drawing.height * scale + 4; }
    double height() const { return drawn() + height_of(title, k_caption) + height_of(key, k_key) + 8; }
  };

  Placed placed(const Picture& picture, double x) const {
    const double width = picture.wide ? k_text_width : k_half_width;
    return {&picture, x, width / picture.drawing.width, lines(picture.title, k_caption, width), lines(picture.key, k_key, width)};
  }

  // Two in a row, or a wide one.
  void set(const Pictures& block) {
    const std::vector<Picture>& pictures = block.pictures;
    for (std::size_t i = 0; i < pictures.size();) {
      std::vector<Placed> row{placed(pictures[i], k_margin)};
      ++i;
      if (!row.front().picture->wide && i < pictures.size() && !pictures[i].wide)
        row.push_back(placed(pictures[i++], k_margin + k_half_width + k_picture_gap));
      double height = 0;
      for (const Placed& one : row) height = std::max(height, one.height());
      paginator_.add({.height = height, .set = [row = std::move(row)](Page& page, double y) {
                        for (const Placed& one : row) {
                          place(page, one.picture->drawing, {one.x, y}, one.scale);
                          put(page, one.title, one.x, y + one.drawn(), k_caption);
                          put(page, one.key, one.x, y + one.drawn() + height_of(one.title, k_caption), k_key);
                        }
                      }});
    }
  }

  const Report& report_;
  const Fonts& fonts_;
  const Type& type_;
  Paginator paginator_;
};

}  // namespace

std::vector<Page> lay_out(const Report& report, const Fonts& fonts) { return Layout(report, fonts).pages(); }

}  // namespace sievecloth::pdf
