// A drawing with axes: the frame shared by all charts of readings.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "report/words.hpp"
#include "sievecloth/drawing.hpp"

namespace sievecloth {

/// Maps the values of an axis to points.
struct Axis {
  double low = 0;
  double high = 1;
  double from = 0;  ///< where `low` lies [pt]
  double to = 1;    ///< where `high` lies [pt]
  double operator()(double value) const noexcept { return from + (value - low) / (high - low) * (to - from); }
};

/// The smallest of 1, 2, 5 times a power of ten that is at least `step`.
double round_step(double step);

class Plot {
 public:
  Plot(double width, double height, const Words& words) : drawing_{width, height, {}}, words_(words) {}

  Axis x;
  Axis y;

  void add(Shape shape) { drawing_.shapes.push_back(std::move(shape)); }
  void line(Point from, Point to, Stroke stroke) { add(LineShape{from, to, std::move(stroke)}); }
  void text(Point at, std::string text, Anchor anchor, bool turned = false);

  /// Draw ticks, numbers and titles along the lower and the left edge. `whole`: only whole numbers on that axis.
  void draw_x_axis(std::string title, bool whole = false);
  void draw_y_axis(std::string title, bool whole = false);

  Drawing take() { return std::move(drawing_); }

  static constexpr double k_text_size = 7;

 private:
  std::vector<double> ticks(const Axis& axis, double points_apart, bool whole, int& decimals) const;

  Drawing drawing_;
  const Words& words_;
};

/// Estimated width of a text [pt], just good enough to keep labels apart.
double guessed_width(std::string_view text, double size);

}  // namespace sievecloth
