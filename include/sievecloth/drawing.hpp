// A picture as a list of a few shapes, so that one drawing serves every format.
#pragma once

#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace sievecloth {

/// A place in a drawing [pt], x to the right and y down from the upper left corner.
struct Point {
  double x = 0;
  double y = 0;
};

/// Grey of a line or an area, from 0 (black) to 1 (white).
using Grey = double;

/// A line: grey, width [pt] and the lengths of dashes and gaps in turn [pt]; none for a solid line.
struct Stroke {
  Grey grey = 0;
  double width = 0.5;
  std::vector<double> dashes;
};

/// A straight line.
struct LineShape {
  Point from;
  Point to;
  Stroke stroke;
};

/// An open line through points.
struct PathShape {
  std::vector<Point> points;
  Stroke stroke;
};

/// An area without a border.
struct AreaShape {
  Point corner;
  double width = 0;
  double height = 0;
  Grey grey = 0;
};

/// A circle, filled or as a line.
struct CircleShape {
  Point centre;
  double radius = 0;
  bool filled = false;
  Stroke stroke;
};

enum class Anchor { start, middle, end };

/// One line of text on its base line; `turned` runs upwards.
struct TextShape {
  Point at;
  std::string text;
  double size = 8;  ///< [pt]
  Anchor anchor = Anchor::start;
  bool bold = false;
  bool turned = false;
  Grey grey = 0;
};

using Shape = std::variant<AreaShape, LineShape, PathShape, CircleShape, TextShape>;

/// Shapes in the order in which they are drawn.
struct Drawing {
  double width = 0;   ///< [pt]
  double height = 0;  ///< [pt]
  std::vector<Shape> shapes;
};

/// `<svg>` for a place within HTML: text stays text, and nothing points anywhere. `title` says what can be seen, for who cannot see
/// it. Coordinates keep two decimals.
std::string to_svg(const Drawing& drawing, std::string_view title);

}  // namespace sievecloth
