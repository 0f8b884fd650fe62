#include "sievecloth/drawing.hpp"

#include <cmath>

#include <fmt/format.h>

#include "report/escape.hpp"

namespace sievecloth {
namespace {

// Two decimals are a hundredth of a point; trailing zeros are dropped.
std::string number(double value) {
  std::string text = fmt::format("{:.2f}", value);
  while (text.back() == '0') text.pop_back();
  if (text.back() == '.') text.pop_back();
  return text == "-0" ? "0" : text;
}

std::string colour(Grey grey) {
  const int level = static_cast<int>(std::lround(grey * 255));
  return fmt::format("#{0:02x}{0:02x}{0:02x}", level);
}

std::string attributes(const Stroke& stroke) {
  std::string text = fmt::format("fill=\"none\" stroke=\"{}\" stroke-width=\"{}\"", colour(stroke.grey), number(stroke.width));
  if (stroke.dashes.empty()) return text;
  text += " stroke-dasharray=\"";
  for (const double dash : stroke.dashes) text += number(dash) + " ";
  text.back() = '"';
  return text;
}

struct SvgWriter {
  std::string& svg;

  void operator()(const AreaShape& area) const {
    svg += fmt::format("<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{}\"/>\n", number(area.corner.x),
                       number(area.corner.y), number(area.width), number(area.height), colour(area.grey));
  }
  void operator()(const LineShape& line) const {
    svg += fmt::format("<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\" {}/>\n", number(line.from.x), number(line.from.y),
                       number(line.to.x), number(line.to.y), attributes(line.stroke));
  }
  void operator()(const PathShape& path) const {
    svg += "<polyline points=\"";
    for (const Point& point : path.points) svg += fmt::format("{},{} ", number(point.x), number(point.y));
    svg.back() = '"';
    svg += fmt::format(" {}/>\n", attributes(path.stroke));
  }
  void operator()(const CircleShape& circle) const {
    const std::string paint = circle.filled ? fmt::format("fill=\"{}\"", colour(circle.stroke.grey)) : attributes(circle.stroke);
    svg += fmt::format("<circle cx=\"{}\" cy=\"{}\" r=\"{}\" {}/>\n", number(circle.centre.x), number(circle.centre.y),
                       number(circle.radius), paint);
  }
  void operator()(const TextShape& text) const {
    static constexpr std::string_view anchors[] = {"start", "middle", "end"};
    const std::string x = number(text.at.x);
    const std::string y = number(text.at.y);
    svg += fmt::format("<text x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"{}\" fill=\"{}\"", x, y, number(text.size),
                       anchors[static_cast<std::size_t>(text.anchor)], colour(text.grey));
    if (text.bold) svg += " font-weight=\"bold\"";
    if (text.turned) svg += fmt::format(" transform=\"rotate(-90 {} {})\"", x, y);
    svg += fmt::format(">{}</text>\n", escaped_html(text.text));
  }
};

}  // namespace

std::string to_svg(const Drawing& drawing, std::string_view title) {
  const std::string width = number(drawing.width);
  const std::string height = number(drawing.height);
  std::string svg = fmt::format("<svg {} viewBox=\"0 0 {} {}\" width=\"{}\" height=\"{}\">\n",
                                title.empty() ? "aria-hidden=\"true\"" : "role=\"img\"", width, height, width, height);
  if (!title.empty()) svg += fmt::format("<title>{}</title>\n", escaped_html(title));
  for (const Shape& shape : drawing.shapes) std::visit(SvgWriter{svg}, shape);
  return svg + "</svg>\n";
}

}  // namespace sievecloth
