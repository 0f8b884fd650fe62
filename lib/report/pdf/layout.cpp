#include "report/pdf/layout.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include <fmt/format.h>

#include "base/text.hpp"
#include "report/words.hpp"

namespace sievecloth::pdf {
namespace {

constexpr double k_body = 8.8;
constexpr double k_small = 7.6;
constexpr double k_table = 8.2;
constexpr double k_heading = 10.5;
constexpr double k_leading = 1.34;
constexpr double k_cell_gap = 11;
constexpr Grey k_soft = 0.3;   // names of facts, captions
constexpr Grey k_hair = 0.72;  // lines between rows

struct Face {
  double size = k_body;
  bool bold = false;
  Grey grey = 0;
  double leading() const { return size * k_leading; }
};

// Breaks text into lines: at blanks, and within a word only if it is wider than the line.
class Breaker {
 public:
  Breaker(const Fonts& fonts, const Face& face, double width) : fonts_(fonts), face_(face), width_(width) {}

  std::vector<std::string> lines(std::string_view text) {
    while (!text.empty()) {
      const std::size_t end = word_end(text);
      add_word(text.substr(0, end));
      text.remove_prefix(std::min(end + 1, text.size()));
    }
    if (!line_.empty() || lines_.empty()) lines_.push_back(line_);
    return std::move(lines_);
  }

 private:
  // Keeps a number together with its unit.
  static std::size_t word_end(std::string_view text) {
    const std::size_t end = std::min(text.find(' '), text.size());
    if (end == 0 || end == text.size() || !is_digit(text[end - 1])) return end;
    const std::string_view rest = text.substr(end + 1);
    for (const std::string_view unit : {k_um_symbol, std::string_view("mm"), std::string_view("%")}) {
      if (rest.starts_with(unit)) return end + 1 + std::min(rest.find(' '), rest.size());
    }
    return end;
  }

  bool fits(const std::string& line) const { return fonts_.width(line, face_.size, face_.bold) <= width_; }

  void add_word(std::string_view word) {
    const std::string longer = line_.empty() ? std::string(word) : line_ + " " + std::string(word);
    if (fits(longer)) {
      line_ = longer;
    } else if (fits(std::string(word))) {
      lines_.push_back(std::move(line_));
      line_ = word;
    } else {
      add_characters(word);
    }
  }

  void add_characters(std::string_view word) {
    if (!line_.empty()) line_ += ' ';
    while (!word.empty()) {
      const std::size_t length = std::max<std::size_t>(1, utf8_length(word));
      const std::string longer = line_ + std::string(word.substr(0, length));
      if (!fits(longer) && !line_.empty()) {
        lines_.push_back(std::move(line_));
        line_.clear();
      }
      line_ += word.substr(0, length);
      word.remove_prefix(length);
    }
  }

  const Fonts& fonts_;
  const Face& face_;
  double width_;
  std::vector<std::string> lines_;
  std::string line_;
};

class Layout {
 public:
  Layout(const Report& report, const Fonts& fonts) : report_(report), fonts_(fonts) { new_page(); }

  std::vector<Page> pages() {
    letterhead();
    title();
    verdict();
    for (const Section& section : report_.sections) set_section(section);
    for (std::size_t i = 0; i < pages_.size(); ++i) mark_page(pages_[i], i + 1);
    return std::move(pages_);
  }

 private:
  // ---- pages, lines, text

  void new_page() {
    pages_.push_back({{k_page_width, k_page_height, {}}, {}});
    y_ = k_top;
  }
  // Begins a new page if less than `height` is left. Returns whether it did.
  bool need(double height) {
    if (y_ + height <= k_bottom || y_ <= k_top) return false;
    new_page();
    return true;
  }
  void add(Shape shape) { pages_.back().drawing.shapes.push_back(std::move(shape)); }
  void rule(double x, double width, Stroke stroke) { add(LineShape{{x, y_}, {x + width, y_}, std::move(stroke)}); }

  std::vector<std::string> lines(std::string_view text, const Face& face, double width) const {
    return Breaker(fonts_, face, width).lines(text);
  }
  // Sets lines from `y` downwards.
  void put(const std::vector<std::string>& text, double x, double y, const Face& face, Anchor anchor = Anchor::start) {
    for (std::size_t i = 0; i < text.size(); ++i) {
      const double base = y + static_cast<double>(i) * face.leading() + 0.95 * face.size;
      add(TextShape{{x, base}, text[i], face.size, anchor, face.bold, false, face.grey});
    }
  }
  static double height(const std::vector<std::string>& text, const Face& face) {
    return static_cast<double>(text.size()) * face.leading();
  }
  // Sets a text that may continue on the next page.
  void flow(std::string_view text, double x, double width, const Face& face) {
    for (const std::string& line : lines(text, face, width)) {
      need(face.leading());
      put({line}, x, y_, face);
      y_ += face.leading();
    }
  }

  // ---- the head of the document

  void letterhead() {
    const Letterhead& letterhead = report_.source.letterhead;
    const bool logo = letterhead.logo_kind != Letterhead::LogoKind::none;
    if (letterhead.name.empty() && !logo) return;
    const double width = k_text_width - (logo ? k_logo_width + 16 : 0);
    if (!letterhead.name.empty()) flow(letterhead.name, k_margin, width, {11, true, 0});
    for (const std::string& line : letterhead.address) flow(line, k_margin, width, {k_body, false, k_soft});
    if (!letterhead.accreditation.empty()) flow(letterhead.accreditation, k_margin, width, {k_body, false, k_soft});
    if (logo) y_ = std::max(y_, k_top + k_logo_height);
    y_ += 8;
    rule(k_margin, k_text_width, {0, 1.2, {}});
    y_ += 10;
  }

  void title() {
    y_ += 6;
    flow(report_.title, k_margin, k_text_width, {20, true, 0});
    y_ += 5;
    facts(Facts{report_.facts});
  }

  void verdict() {
    const Face subject{k_body, false, 0};
    const Face word{15, true, 0};
    const double inset = 14;
    const double width = k_text_width - 2 * inset;
    const std::vector<std::string> subject_lines = lines(report_.subject, subject, width);
    const std::vector<std::string> word_lines = lines(report_.verdict, word, width);
    std::vector<std::vector<std::string>> qualifiers;
    double total = 16 + height(subject_lines, subject) + height(word_lines, word);
    for (const std::string& qualifier : report_.qualifiers) {
      qualifiers.push_back(lines(qualifier, subject, width - 10));
      total += height(qualifiers.back(), subject) + 1;
    }
    y_ += 12;
    need(std::min(total, k_bottom - k_top));
    const double top = y_;
    const std::size_t page = pages_.size();
    y_ += 8;
    put(subject_lines, k_margin + inset, y_, subject);
    y_ += height(subject_lines, subject);
    put(word_lines, k_margin + inset, y_, word);
    y_ += height(word_lines, word);
    for (const auto& qualifier : qualifiers) {
      need(height(qualifier, subject));
      bullet(k_margin + inset, subject);
      put(qualifier, k_margin + inset + 10, y_, subject);
      y_ += height(qualifier, subject) + 1;
    }
    y_ += 8;
    if (pages_.size() == page) frame(top);
  }

  void frame(double top) {
    const double left = k_margin, right = k_margin + k_text_width;
    add(PathShape{{{left, top}, {right, top}, {right, y_}, {left, y_}, {left, top}}, {0, 0.5, {}}});
    add(AreaShape{{left, top}, 4, y_ - top, 0});
  }

  // What stands on every page: whether it is a draft, the number of the report and of the page.
  void mark_page(Page& page, std::size_t number) {
    head_line(page);
    footer(page, number);
  }

  void head_line(Page& page) {
    if (report_.page_head.empty()) return;
    page.drawing.shapes.push_back(
        TextShape{{k_margin + k_text_width / 2, k_top - 8}, report_.page_head, k_body, Anchor::middle, true, false, 0});
  }

  void footer(Page& page, std::size_t number) {
    const Face face{k_small, false, k_soft};
    Drawing& drawing = page.drawing;
    const double y = k_page_height - 46;
    drawing.shapes.push_back(LineShape{{k_margin, y}, {k_margin + k_text_width, y}, {k_hair, 0.5, {}}});
    const std::string this_one = fmt::format("{}", number), all = fmt::format("{}", pages_.size());
    const std::string pages = filled(report_.page_pattern, std::array{Filling{"page", this_one}, Filling{"pages", all}});
    const double room = k_text_width - fonts_.width(pages, face.size, false) - 20;
    const std::vector<std::string> left = lines(fmt::format("{} {}", report_.title, report_.number), face, room);
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
    const Face face{k_heading, true, 0};
    y_ += 13;
    if (section.new_page && y_ > k_top + (k_bottom - k_top) / 4) new_page();  // a page that has hardly begun is not wasted
    need(face.leading() + 5 + keep_with_heading(section));
    pages_.back().marks.push_back({section.title, y_});
    flow(section.title, k_margin, k_text_width, face);
    y_ += 1.5;
    rule(k_margin, k_text_width, {0.55, 0.5, {}});
    y_ += 5;
    for (const Block& block : section.blocks) std::visit([this](const auto& content) { set(content); }, block);
  }

  // Height required below a heading before a page break.
  double keep_with_heading(const Section& section) const {
    if (section.blocks.empty()) return 0;
    const Block& first = section.blocks.front();
    if (const auto* pictures = std::get_if<Pictures>(&first)) return pictures_height(*pictures);
    if (std::holds_alternative<Signatures>(first)) return 70;
    if (std::holds_alternative<Table>(first)) return 120;
    return 3 * k_body * k_leading;
  }

  void set(const Paragraph& paragraph) {
    const Face face{k_body, false, 0};
    y_ += 3;
    need(std::min(4 * face.leading(), height(lines(paragraph.text, face, k_text_width), face)));  // avoids orphaned lines
    flow(paragraph.text, k_margin, k_text_width, face);
    y_ += 2;
  }

  void bullet(double x, const Face& face) { add(CircleShape{{x + 2.5, y_ + 0.62 * face.size}, 1.2, true, {face.grey, 0, {}}}); }

  void set(const Notes& notes) {
    const Face face{k_body, false, 0};
    for (const std::string& item : notes.items) {
      const std::vector<std::string> text = lines(item, face, k_text_width - 10);
      need(height(text, face));
      bullet(k_margin, face);
      put(text, k_margin + 10, y_, face);
      y_ += height(text, face) + 1.5;
    }
  }

  void set(const Facts& block) { facts(block); }

  // Two columns of facts, or one if a value would take many lines at half the width.
  void facts(const Facts& block) {
    const bool wide = std::any_of(block.facts.begin(), block.facts.end(), [](const Fact& fact) { return fact.value.size() > 80; });
    const std::size_t columns = wide ? 1 : 2;
    const double gap = 16;
    const double column = (k_text_width - gap * static_cast<double>(columns - 1)) / static_cast<double>(columns);
    const double name = wide ? 130 : 98;
    const Face name_face{k_body, false, k_soft};
    const Face face{k_body, false, 0};
    for (std::size_t i = 0; i < block.facts.size(); i += columns) {
      double tallest = 0;
      std::vector<std::array<std::vector<std::string>, 2>> row;
      for (std::size_t j = i; j < std::min(i + columns, block.facts.size()); ++j) {
        row.push_back({lines(block.facts[j].name, name_face, name - 8), lines(block.facts[j].value, face, column - name)});
        tallest = std::max({tallest, height(row.back()[0], name_face), height(row.back()[1], face)});
      }
      need(tallest);
      for (std::size_t j = 0; j < row.size(); ++j) {
        const double x = k_margin + static_cast<double>(j) * (column + gap);
        put(row[j][0], x, y_, name_face);
        put(row[j][1], x + name, y_, face);
      }
      y_ += tallest + 1.5;
    }
  }

  // ---- tables

  struct Columns {
    std::vector<double> widths;
    double x(std::size_t column) const {
      double at = k_margin;
      for (std::size_t i = 0; i < column; ++i) at += widths[i] + k_cell_gap;
      return at;
    }
  };

  double word_width(std::string_view text, const Face& face) const {
    double widest = 0;
    while (!text.empty()) {
      const std::size_t end = std::min(text.find(' '), text.size());
      widest = std::max(widest, fonts_.width(text.substr(0, end), face.size, face.bold));
      text.remove_prefix(std::min(end + 1, text.size()));
    }
    return widest;
  }

  // Numbers never wrap, headings may; text columns share the remaining width according to need.
  Columns columns_of(const Table& table) const {
    const std::size_t count = table.columns.size();
    std::vector<double> natural(count), least(count);
    for (std::size_t i = 0; i < count; ++i) {
      const TableColumn& column = table.columns[i];
      least[i] = word_width(column.title, {k_table, true, 0});
      natural[i] = column.number ? least[i] : fonts_.width(column.title, k_table, true);
    }
    for (const auto& row : table.rows) {
      if (row.size() != count) continue;
      for (std::size_t i = 0; i < count; ++i) {
        const Face face{k_table, row[i].strong, 0};
        natural[i] = std::max(natural[i], fonts_.width(row[i].text, face.size, face.bold));
        least[i] = std::max(least[i], table.columns[i].number ? natural[i] : word_width(row[i].text, face));
      }
    }
    const double room = k_text_width - k_cell_gap * static_cast<double>(count - 1);
    return {shared(natural, least, room)};
  }

  static std::vector<double> shared(std::vector<double> natural, const std::vector<double>& least, double room) {
    const auto sum = [](const std::vector<double>& values) { return std::accumulate(values.begin(), values.end(), 0.0); };
    const double wanted = sum(natural);
    const double smallest = sum(least);
    if (wanted <= room) {  // the remaining width goes between the columns
      for (double& width : natural) width += (room - wanted) / static_cast<double>(natural.size());
      return natural;
    }
    if (smallest >= room) {
      for (std::size_t i = 0; i < natural.size(); ++i) natural[i] = least[i] * room / smallest;
      return natural;
    }
    return between(natural, least, room - smallest);
  }

  // Distributes `rest` among the columns that need more than their minimum, more to long texts but less than in proportion.
  static std::vector<double> between(const std::vector<double>& natural, const std::vector<double>& least, double rest) {
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

  void set(const Table& table) {
    const Columns columns = columns_of(table);
    std::vector<TableCell> head;
    for (const TableColumn& column : table.columns) head.push_back({column.title, true});
    if (!table.rows.empty()) need(row_height(table, columns, head) + 1 + with_heading(table, columns, 0));
    head_row(table, columns, head);
    for (std::size_t i = 0; i < table.rows.size(); ++i) {
      if (need(with_heading(table, columns, i))) head_row(table, columns, head);
      table.rows[i].size() == 1 ? group_row(table.rows[i].front()) : body_row(table, columns, table.rows[i]);
    }
    y_ += 3;
  }

  // Height of a row; of a heading together with the row below it.
  double with_heading(const Table& table, const Columns& columns, std::size_t row) const {
    const double alone = row_height(table, columns, table.rows[row]);
    const bool heading = table.rows[row].size() == 1 && row + 1 < table.rows.size();
    return heading ? alone + row_height(table, columns, table.rows[row + 1]) + 6 : alone;
  }

  double row_height(const Table& table, const Columns& columns, const std::vector<TableCell>& row) const {
    double tallest = k_table * k_leading;
    for (std::size_t i = 0; i < row.size() && row.size() == table.columns.size(); ++i) {
      const Face face{k_table, row[i].strong, 0};
      tallest = std::max(tallest, height(lines(row[i].text, face, columns.widths[i] + 0.01), face));
    }
    return tallest + 3;
  }

  void cells(const Table& table, const Columns& columns, const std::vector<TableCell>& row, bool at_bottom) {
    const double tallest = row_height(table, columns, row) - 3;
    for (std::size_t i = 0; i < row.size(); ++i) {
      const Face face{k_table, row[i].strong, 0};
      const std::vector<std::string> text = lines(row[i].text, face, columns.widths[i] + 0.01);
      const double y = y_ + 1.5 + (at_bottom ? tallest - height(text, face) : 0);
      const bool number = table.columns[i].number;
      put(text, columns.x(i) + (number ? columns.widths[i] : 0), y, face, number ? Anchor::end : Anchor::start);
    }
    y_ += tallest + 3;
  }

  void head_row(const Table& table, const Columns& columns, const std::vector<TableCell>& head) {
    cells(table, columns, head, true);
    rule(k_margin, k_text_width, {0, 0.8, {}});
    y_ += 1;
  }

  void group_row(const TableCell& cell) {
    const Face face{k_table, true, 0};
    y_ += 4;
    flow(cell.text, k_margin, k_text_width, face);
    y_ += 1.5;
    rule(k_margin, k_text_width, {0.45, 0.4, {}});
  }

  void body_row(const Table& table, const Columns& columns, const std::vector<TableCell>& row) {
    cells(table, columns, row, false);
    rule(k_margin, k_text_width, {k_hair, 0.3, {}});
  }

  // ---- pictures

  static constexpr double k_picture_gap = 12;
  static double picture_width() { return (k_text_width - k_picture_gap) / 2; }
  static constexpr Face k_caption{8.2, true, 0};
  static constexpr Face k_key{7.4, false, k_soft};

  double picture_height(const Picture& picture) const {
    return picture.drawing.height * picture_width() / picture.drawing.width + 4 +
           height(lines(picture.title, k_caption, picture_width()), k_caption) +
           height(lines(picture.key, k_key, picture_width()), k_key) + 8;
  }
  double pictures_height(const Pictures& pictures) const {
    double tallest = 0;
    for (const Picture& picture : pictures.pictures) tallest = std::max(tallest, picture_height(picture));
    return tallest;
  }

  void set(const Pictures& pictures) {
    const double tallest = pictures_height(pictures);
    need(tallest);
    for (std::size_t i = 0; i < pictures.pictures.size(); ++i) {
      const Picture& picture = pictures.pictures[i];
      const double x = k_margin + static_cast<double>(i % 2) * (picture_width() + k_picture_gap);
      const double scale = picture_width() / picture.drawing.width;
      place(picture.drawing, {x, y_}, scale);
      double y = y_ + picture.drawing.height * scale + 4;
      const std::vector<std::string> title = lines(picture.title, k_caption, picture_width());
      put(title, x, y, k_caption);
      y += height(title, k_caption);
      put(lines(picture.key, k_key, picture_width()), x, y, k_key);
    }
    y_ += tallest;
  }

  // Adds the shapes of a drawing, translated and scaled.
  void place(const Drawing& drawing, Point corner, double scale) {
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
      add(std::move(shape));
    }
  }

  void set(const Signatures& signatures) {
    const Face face{k_body, false, 0};
    const double gap = 24;
    const double column = (k_text_width - gap) / 2;
    for (std::size_t i = 0; i < signatures.names.size(); i += 2) {
      need(64);
      y_ += 40;
      double tallest = 0;
      for (std::size_t j = i; j < std::min(i + 2, signatures.names.size()); ++j) {
        const double x = k_margin + static_cast<double>(j - i) * (column + gap);
        rule(x, column, {0, 0.5, {}});
        const std::vector<std::string> text = lines(signatures.names[j], face, column);
        put(text, x, y_ + 3, face);
        tallest = std::max(tallest, height(text, face));
      }
      y_ += 3 + tallest;
    }
  }

  const Report& report_;
  const Fonts& fonts_;
  std::vector<Page> pages_;
  double y_ = k_top;
};

}  // namespace

std::vector<Page> lay_out(const Report& report, const Fonts& fonts) { return Layout(report, fonts).pages(); }

}  // namespace sievecloth::pdf
