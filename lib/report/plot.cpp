#include "report/plot.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "base/text.hpp"

namespace sievecloth {

double guessed_width(std::string_view text, double size) { return 0.52 * size * static_cast<double>(character_count(text)); }

double round_step(double step) {
  const double power = std::pow(10.0, std::floor(std::log10(step)));
  for (const double factor : {1.0, 2.0, 5.0}) {
    if (factor * power >= step * (1 - 1e-9)) return factor * power;
  }
  return 10 * power;
}

void Plot::text(Point at, std::string text, Anchor anchor, bool turned) {
  add(TextShape{at, std::move(text), k_text_size, anchor, false, turned, 0});
}

std::vector<double> Plot::ticks(const Axis& axis, double points_apart, bool whole, int& decimals) const {
  const double length = std::abs(axis.to - axis.from);
  double step = round_step((axis.high - axis.low) * points_apart / length);
  if (whole) step = std::max(1.0, step);
  decimals = std::max(0, -static_cast<int>(std::floor(std::log10(step) + 1e-9)));
  std::vector<double> values;
  for (double k = std::ceil(axis.low / step - 1e-9); k * step <= axis.high + 1e-9 * step; ++k) values.push_back(k * step + 0.0);
  return values;
}

void Plot::draw_x_axis(std::string title, bool whole) {
  const double base = y.from;
  line({x.from, base}, {x.to, base}, {0, 0.5, {}});
  int decimals = 0;
  for (const double value : ticks(x, 34, whole, decimals)) {
    line({x(value), base}, {x(value), base + 3}, {0, 0.5, {}});
    text({x(value), base + 10.5}, words_.number(fmt::format("{:.{}f}", value, decimals)), Anchor::middle);
  }
  text({(x.from + x.to) / 2, base + 20.5}, std::move(title), Anchor::middle);
}

void Plot::draw_y_axis(std::string title, bool whole) {
  line({x.from, y.from}, {x.from, y.to}, {0, 0.5, {}});
  int decimals = 0;
  double widest = 0;
  for (const double value : ticks(y, 16, whole, decimals)) {
    line({x.from - 3, y(value)}, {x.from, y(value)}, {0, 0.5, {}});
    const std::string number = words_.number(fmt::format("{:.{}f}", value, decimals));
    widest = std::max(widest, guessed_width(number, k_text_size));
    text({x.from - 5, y(value) + 2.5}, number, Anchor::end);
  }
  text({std::max(k_text_size, x.from - 9 - widest), (y.from + y.to) / 2}, std::move(title), Anchor::middle, true);
}

}  // namespace sievecloth
