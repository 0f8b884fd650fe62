// A drawing as a list of simple shapes, so that one drawing serves every format.
#pragma once

#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace [[gnu::visibility("default")]] sievecloth {

/// A point in a drawing [pt], x to the right and y down from the upper left corner.
struct Point {
  double x = 0;  ///< to the right [pt]
  double y = 0;  ///< down [pt]
};

/// Grey level, from 0 (black) to 1 (white).
using Grey = double;

/// How a line is drawn.
struct Stroke {
  Grey grey = 0;               ///< of the line
  double width = 0.5;          ///< [pt]
  std::vector<double> dashes;  ///< alternating lengths of dashes and gaps [pt]; empty: solid
};

/// A straight line.
struct LineShape {
  Point from;     ///< one end
  Point to;       ///< the other end
  Stroke stroke;  ///< how it is drawn
};

/// An open polyline.
struct PathShape {
  std::vector<Point> points;  ///< in their order
  Stroke stroke;              ///< how it is drawn
};

/// A filled rectangle without a border.
struct AreaShape {
  Point corner;       ///< upper left
  double width = 0;   ///< [pt]
  double height = 0;  ///< [pt]
  Grey grey = 0;      ///< of the area
};

/// A circle, filled or outlined.
struct CircleShape {
  Point centre;         ///< middle
  double radius = 0;    ///< [pt]
  bool filled = false;  ///< filled; else outlined
  Stroke stroke;        ///< of the outline; its grey also fills the circle
};

/// Which part of a text lies at its anchor point.
enum class Anchor { start, middle, end };

/// One line of text on its baseline; `turned` text runs upwards.
struct TextShape {
  Point at;                       ///< anchor point, on the baseline
  std::string text;               ///< UTF-8, one line
  double size = 8;                ///< [pt]
  Anchor anchor = Anchor::start;  ///< which part of the text lies at `at`
  bool bold = false;              ///< heavier letters
  bool turned = false;            ///< runs upwards
  Grey grey = 0;                  ///< of the letters
};

/// Any of the shapes.
using Shape = std::variant<AreaShape, LineShape, PathShape, CircleShape, TextShape>;

/// Shapes in the order in which they are drawn.
struct Drawing {
  double width = 0;           ///< [pt]
  double height = 0;          ///< [pt]
  std::vector<Shape> shapes;  ///< in the order of drawing
};

/// Returns an `<svg>` element to be embedded in HTML: text stays text, and there are no external references. `title` describes the
/// drawing for readers who cannot see it; empty if the text beside it says the same. Coordinates have two decimals.
std::string to_svg(const Drawing& drawing, std::string_view title);

}  // namespace sievecloth
