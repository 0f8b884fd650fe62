#include "report/pdf/canvas.hpp"

#include <numbers>
#include <string>

namespace sievecloth::pdf {
namespace {

class Painter {
 public:
  Painter(cairo_t* cairo, const Fonts& fonts) : cairo_(cairo), fonts_(fonts) {}

  void operator()(const AreaShape& area) const {
    grey(area.grey);
    cairo_rectangle(cairo_, area.corner.x, area.corner.y, area.width, area.height);
    cairo_fill(cairo_);
  }
  void operator()(const LineShape& line) const {
    cairo_move_to(cairo_, line.from.x, line.from.y);
    cairo_line_to(cairo_, line.to.x, line.to.y);
    stroke(line.stroke);
  }
  void operator()(const PathShape& path) const {
    cairo_new_path(cairo_);  // text leaves a current point behind
    for (const Point& point : path.points) cairo_line_to(cairo_, point.x, point.y);
    stroke(path.stroke);
  }
  void operator()(const CircleShape& circle) const {
    cairo_new_sub_path(cairo_);
    cairo_arc(cairo_, circle.centre.x, circle.centre.y, circle.radius, 0, 2 * std::numbers::pi);
    if (!circle.filled) return stroke(circle.stroke);
    grey(circle.stroke.grey);
    cairo_fill(cairo_);
  }
  void operator()(const TextShape& text) const {
    grey(text.grey);
    const double width = fonts_.width(text.text, text.size, text.bold);
    double x = text.anchor == Anchor::start ? 0 : text.anchor == Anchor::middle ? -width / 2 : -width;
    cairo_save(cairo_);
    cairo_translate(cairo_, text.at.x, text.at.y);
    if (text.turned) cairo_rotate(cairo_, -std::numbers::pi / 2);
    for (const Fonts::Run& run : fonts_.runs(text.text, text.bold)) {
      cairo_set_font_face(cairo_, run.font->face());
      cairo_set_font_size(cairo_, text.size);
      cairo_move_to(cairo_, x, 0);
      cairo_show_text(cairo_, std::string(run.text).c_str());
      x += run.width * text.size;
    }
    cairo_restore(cairo_);
  }

 private:
  void grey(Grey level) const { cairo_set_source_rgb(cairo_, level, level, level); }
  void stroke(const Stroke& stroke) const {
    grey(stroke.grey);
    cairo_set_line_width(cairo_, stroke.width);
    cairo_set_dash(cairo_, stroke.dashes.data(), static_cast<int>(stroke.dashes.size()), 0);
    cairo_stroke(cairo_);
  }

  cairo_t* cairo_;
  const Fonts& fonts_;
};

}  // namespace

void draw(cairo_t* cairo, const Drawing& drawing, const Fonts& fonts) {
  for (const Shape& shape : drawing.shapes) std::visit(Painter(cairo, fonts), shape);
}

}  // namespace sievecloth::pdf
