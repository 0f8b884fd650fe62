// A picture as a list of a few shapes, so that one drawing serves every format.
#pragma once

#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace [[gnu::visibility("default")]] sievecloth {

/// A place in a drawing [pt], x to the right and y down from the upper left corner.
struct Point {
  double x = 0;  ///< to the right [pt]
  double y = 0;  ///< down [pt]
};

/// Grey of a line or an area, from 0 (black) to 1 (white).
using Grey = double;

/// A line: grey, width [pt] and the lengths of dashes and gaps in turn [pt]; none for a solid line.
struct Stroke {
  Grey grey = 0;               ///< of the line
  double width = 0.5;          ///< [pt]
  std::vector<double> dashes;  ///< lengths of dashes and gaps in turn [pt]; none: solid
};

/// A straight line.
struct LineShape {
  Point from;     ///< one end
  Point to;       ///< the other end
  Stroke stroke;  ///< how it is drawn
};

/// An open line through points.
struct PathShape {
  std::vector<Point> points;  ///< in their order
  Stroke stroke;              ///< how it is drawn
};

/// An area without a border.
struct AreaShape {
  Point corner;       ///< upper left
  double width = 0;   ///< [pt]
  double height = 0;  ///< [pt]
  Grey grey = 0;      ///< of the area
};

/// A circle, filled or as a line.
struct CircleShape {
  Point centre;         ///< middle
  double radius = 0;    ///< [pt]
  bool filled = false;  ///< an area; else a line
  Stroke stroke;        ///< of the line, and the grey of the area
};

/// Which part of a text lies at its place.
enum class Anchor { start, middle, end };

/// One line of text on its base line; `turned` runs upwards.
struct TextShape {
  Point at;                       ///< where the anchor lies, on the base line
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

/// `<svg>` for a place within HTML: text stays text, and nothing points anywhere. `title` says what can be seen, for who cannot see
/// it. Coordinates keep two decimals.
std::string to_svg(const Drawing& drawing, std::string_view title);

}  // namespace sievecloth
