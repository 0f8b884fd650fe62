#include "report/pictures.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <numeric>

#include <fmt/format.h>

#include "report/phrases.hpp"
#include "report/plot.hpp"

namespace sievecloth {
namespace {

constexpr double k_width = 252;
constexpr double k_whole_width = 516;  // of two charts and the gap between them
constexpr double k_height = 140;
constexpr double k_left = 40;
constexpr double k_right = 10;
constexpr double k_bottom = 26;
constexpr std::size_t k_most_points = 400;  // more readings are drawn as bars or as means of neighbours

const Stroke k_nominal{0, 0.8, {}};
const Stroke k_mean{0, 1.6, {}};
const Stroke k_average_limit{0, 0.6, {3, 2}};
const Stroke k_largest{0, 0.8, {6, 2, 1, 2}};
const Stroke k_curve{0.25, 0.9, {}};
constexpr Grey k_bar = 0.82;
constexpr Grey k_bar_edge = 0.45;

struct Context {
  explicit Context(const ReportContext& of)
      : assessment(of.assessment), readings(of.report.source.readings), words(of.words), shown(of.shown) {}

  const Assessment& assessment;
  const std::vector<Reading>& readings;
  const Words& words;
  const Shown& shown;

  const Row& row() const { return *assessment.specification.row; }
  double scaled(Length length) const { return length.um() * shown.per_um(); }
  std::string unit_text(Key key) const { return words(key, {{"unit", shown.unit()}}); }
  // The expanded measurement uncertainty of one reading [um], if fully known.
  std::optional<double> reading_uncertainty_um(Direction direction) const {
    const std::optional<Uncertainty>& known = assessment.uncertainty[direction].largest;
    return known && known->complete ? std::optional(known->expanded_um) : std::nullopt;
  }
};

// The apertures of one direction in the order of measurement.
std::vector<const Reading*> apertures(const Context& context, Direction direction) {
  std::vector<const Reading*> found;
  for (const Reading& reading : context.readings) {
    if (reading.direction == direction && reading.aperture) found.push_back(&reading);
  }
  return found;
}

// Both directions share the axis of apertures, so that their charts can be compared.
Axis aperture_axis(const Context& context) {
  Length low = context.row().smallest_mean();
  Length high = context.row().largest_aperture();
  for (const Reading& reading : context.readings) {
    if (!reading.aperture) continue;
    low = std::min(low, *reading.aperture);
    high = std::max(high, *reading.aperture);
  }
  const double room = 0.05 * context.scaled(high - low);
  return {context.scaled(low) - room, context.scaled(high) + room, 0, 0};
}

// ---- distribution

struct Bins {
  std::int64_t first_pm = 0;  // lower edge of the first bin
  std::int64_t width_pm = 1;
  std::vector<std::int64_t> counts;
};

// The nearest of 1, 2, 5 times a power of ten.
double nearest_step(double step) {
  const double above = round_step(step);
  const double below = round_step(step / 2.5);
  return above / step <= step / below ? above : below;
}

// One width for both directions, so that their charts can be compared. Bins are whole multiples of the common step of the readings,
// with the steps centred: otherwise some bins would cover more possible values than others, and the chart would show spurious
// teeth.
Bins bins_for(const Context& context) {
  Length low = k_longest;
  Length high;
  std::int64_t step = 0;
  double n = 0;
  for (const Reading& reading : context.readings) {
    if (!reading.aperture || reading.role != Role::sample) continue;
    low = std::min(low, *reading.aperture);
    high = std::max(high, *reading.aperture);
    step = std::gcd(step, reading.aperture->pm());
    ++n;
  }
  if (n == 0) return {};
  const double wanted_bins = std::clamp(2.5 * std::cbrt(n), 8.0, 30.0);
  const double wanted = std::max(static_cast<double>(step), static_cast<double>((high - low).pm()) / wanted_bins);
  const auto rounded = static_cast<std::int64_t>(std::llround(nearest_step(wanted)));
  Bins bins;
  bins.width_pm = std::max(step, (rounded + step / 2) / step * step);
  const std::int64_t shift = bins.width_pm > 50 * step ? 0 : step / 2;
  bins.first_pm = (low.pm() + shift) / bins.width_pm * bins.width_pm - shift;
  bins.counts.resize(static_cast<std::size_t>((high.pm() - bins.first_pm) / bins.width_pm + 1));
  return bins;
}

void fill(Bins& bins, const std::vector<const Reading*>& readings) {
  for (const Reading* reading : readings)
    ++bins.counts[static_cast<std::size_t>((reading->aperture->pm() - bins.first_pm) / bins.width_pm)];
}

struct Label {
  double x;
  std::string text;
};

// Draws labels above the plot, in as many rows as needed to keep them apart.
void draw_labels(Plot& plot, const std::vector<Label>& labels, double top) {
  std::vector<double> ends;
  for (const Label& label : labels) {
    const double half = guessed_width(label.text, Plot::k_text_size) / 2 + 2;
    const double x = std::clamp(label.x, plot.x.from + half, plot.x.to + k_right - half);
    std::size_t row = 0;
    while (row < ends.size() && ends[row] > x - half) ++row;
    if (row == ends.size()) ends.push_back(0);
    ends[row] = x + half;
    plot.text({x, top - 9.0 * static_cast<double>(row)}, label.text, Anchor::middle);
  }
}

void draw_bars(Plot& plot, const Bins& bins, double per_pm) {
  for (std::size_t i = 0; i < bins.counts.size(); ++i) {
    if (bins.counts[i] == 0) continue;
    const std::int64_t edge = bins.first_pm + static_cast<std::int64_t>(i) * bins.width_pm;
    const double left = plot.x(static_cast<double>(edge) * per_pm);
    const double right = plot.x(static_cast<double>(edge + bins.width_pm) * per_pm);
    const double top = plot.y(static_cast<double>(bins.counts[i]));
    plot.add(AreaShape{{left, top}, right - left, plot.y.from - top, k_bar});
    plot.add(PathShape{{{left, plot.y.from}, {left, top}, {right, top}, {right, plot.y.from}}, {k_bar_edge, 0.4, {}}});
  }
}

double normal_density(double x, double mean, double deviation) {
  const double z = (x - mean) / deviation;
  return std::exp(-z * z / 2) / (deviation * std::sqrt(2 * std::numbers::pi));
}

void draw_normal(Plot& plot, double mean, double deviation, double area) {
  PathShape curve{{}, k_curve};
  const double low = std::max(plot.x.low, mean - 4 * deviation);
  const double high = std::min(plot.x.high, mean + 4 * deviation);
  constexpr int k_steps = 64;
  for (int i = 0; i <= k_steps; ++i) {
    const double x = low + (high - low) * i / k_steps;
    curve.points.push_back({plot.x(x), plot.y(area * normal_density(x, mean, deviation))});
  }
  plot.add(std::move(curve));
}

void draw_limit_lines(Plot& plot, const Context& context) {
  const auto vertical = [&](Length length, const Stroke& stroke) {
    const double x = plot.x(context.scaled(length));
    plot.line({x, plot.y.from}, {x, plot.y.to}, stroke);
  };
  vertical(context.row().nominal, k_nominal);
  vertical(context.row().smallest_mean(), k_average_limit);
  vertical(context.row().largest_mean(), k_average_limit);
  vertical(context.row().largest_aperture(), k_largest);
}

// A bar of twice U around the largest reading, with its name on the side that has more room.
void draw_uncertainty(Plot& plot, const Context& context, double largest, double expanded) {
  const double y = plot.y.to + 7;
  const double low = plot.x(std::max(plot.x.low, largest - expanded));
  const double high = plot.x(std::min(plot.x.high, largest + expanded));
  plot.line({low, y}, {high, y}, {0, 1, {}});
  for (const double end : {low, high}) plot.line({end, y - 2.5}, {end, y + 2.5}, {0, 0.8, {}});
  const bool left = low - plot.x.from > plot.x.to - high;
  plot.text({left ? low - 3 : high + 3, y + 2.5}, context.words("picture.uncertainty"), left ? Anchor::end : Anchor::start);
}

std::string histogram_key(const Context& context, Direction direction) {
  std::string key = context.words("picture.key-histogram");
  const std::optional<double> expanded_um = context.reading_uncertainty_um(direction);
  if (!expanded_um) return key;
  const std::string size = fmt::format("{} {}", context.shown.uncertainty(*expanded_um), context.shown.unit());
  return key + " " + context.words("picture.key-uncertainty", {{"size", size}});
}

Picture histogram(const Context& context, Direction direction) {
  std::vector<const Reading*> readings = apertures(context, direction);
  std::erase_if(readings, [](const Reading* reading) { return reading->role != Role::sample; });
  Plot plot(k_width, k_height, context.words);
  constexpr double top = 24;
  plot.x = aperture_axis(context);
  plot.x.from = k_left;
  plot.x.to = k_width - k_right;
  const Summary& summary = context.assessment.sample[direction].aperture;
  Bins bins = bins_for(context);
  fill(bins, readings);
  const std::int64_t most = bins.counts.empty() ? 1 : *std::max_element(bins.counts.begin(), bins.counts.end());
  const double per_pm = context.shown.per_um() / 1e6;
  plot.x.low = std::min(plot.x.low, static_cast<double>(bins.first_pm) * per_pm);
  const double area = static_cast<double>(readings.size()) * static_cast<double>(bins.width_pm) * per_pm;
  const double deviation = summary.standard_deviation_um().value_or(0) * context.shown.per_um();
  const double peak = deviation > 0 ? area * normal_density(0, 0, deviation) : 0;
  // If the spread is far below the readings' step, the curve is taller than any chart of the counts.
  const bool curve = deviation > 0 && peak < 3 * static_cast<double>(most);
  plot.y = {0, 1.05 * std::max(static_cast<double>(most), curve ? peak : 0), k_height - k_bottom, top};
  draw_bars(plot, bins, per_pm);
  draw_limit_lines(plot, context);
  std::vector<Label> labels{{plot.x(context.scaled(context.row().nominal)), "w"}};
  if (const std::optional<double> mean_um = summary.mean_um()) {
    const double mean = *mean_um * context.shown.per_um();
    if (curve) draw_normal(plot, mean, deviation, area);
    plot.line({plot.x(mean), plot.y.from}, {plot.x(mean), plot.y.to}, k_mean);
    labels.push_back({plot.x(mean), context.words("picture.mean")});
  }
  labels.push_back({plot.x(context.scaled(context.row().largest_aperture())), "w + X"});
  std::stable_sort(labels.begin(), labels.end(), [](const Label& a, const Label& b) { return a.x < b.x; });
  draw_labels(plot, labels, top - 4);
  if (const std::optional<double> expanded_um = context.reading_uncertainty_um(direction); expanded_um && !summary.empty())
    draw_uncertainty(plot, context, context.scaled(summary.maximum()), *expanded_um * context.shown.per_um());
  plot.draw_x_axis(context.unit_text("picture.axis-aperture"));
  plot.draw_y_axis(context.words("picture.axis-count"), true);
  return {context.words("picture.histogram", {{"direction", direction_phrase(direction, context.words)}}), plot.take(),
          histogram_key(context, direction)};
}

// ---- order

void draw_points(Plot& plot, const Context& context, const std::vector<const Reading*>& readings) {
  for (std::size_t i = 0; i < readings.size(); ++i) {
    const Point at{plot.x(static_cast<double>(i + 1)), plot.y(context.scaled(*readings[i]->aperture))};
    const bool suspect = readings[i]->role == Role::suspect;
    plot.add(suspect ? CircleShape{at, 2.6, false, {0, 0.8, {}}} : CircleShape{at, 1.1, true, {0.15, 0, {}}});
  }
}

void draw_bars_of_neighbours(Plot& plot, const Context& context, const std::vector<const Reading*>& readings, std::size_t many) {
  for (std::size_t i = 0; i < readings.size(); i += many) {
    const auto begin = readings.begin() + static_cast<std::ptrdiff_t>(i);
    const auto end = readings.begin() + static_cast<std::ptrdiff_t>(std::min(readings.size(), i + many));
    const auto [low, high] =
        std::minmax_element(begin, end, [](const Reading* a, const Reading* b) { return *a->aperture < *b->aperture; });
    const double x = plot.x(static_cast<double>(i + 1));
    plot.line({x, plot.y(context.scaled(*(*low)->aperture))}, {x, plot.y(context.scaled(*(*high)->aperture))}, {0.25, 0.5, {}});
  }
}

Picture strip(const Context& context, Direction direction) {
  const std::vector<const Reading*> readings = apertures(context, direction);
  Plot plot(k_width, k_height, context.words);
  constexpr double right = 30;  // room for the names of the lines
  const double n = static_cast<double>(readings.size());
  plot.x = {0, n + 1, k_left, k_width - right};
  plot.y = aperture_axis(context);
  plot.y.from = k_height - k_bottom;
  plot.y.to = 6;
  const auto level = [&](Length length, const Stroke& stroke, std::string name) {
    const double y = plot.y(context.scaled(length));
    plot.line({plot.x.from, y}, {plot.x.to, y}, stroke);
    if (!name.empty()) plot.text({plot.x.to + 3, y + 2.5}, std::move(name), Anchor::start);
  };
  level(context.row().nominal, k_nominal, "w");
  level(context.row().smallest_mean(), k_average_limit, "");
  level(context.row().largest_mean(), k_average_limit, "");
  level(context.row().largest_aperture(), k_largest, "w + X");
  const std::size_t many = (readings.size() + k_most_points - 1) / k_most_points;
  std::string key = context.words("picture.key-strip");
  if (many <= 1) {
    draw_points(plot, context, readings);
  } else {
    draw_bars_of_neighbours(plot, context, readings, many);
    key += " " + context.words("picture.key-strip-many", {{"n", fmt::format("{}", many)}});
  }
  plot.draw_x_axis(context.words("picture.axis-order"), true);
  plot.draw_y_axis(context.unit_text("picture.axis-aperture"));
  return {context.words("picture.strip", {{"direction", direction_phrase(direction, context.words)}}), plot.take(), key};
}

// ---- place

struct Place {
  double x_mm;
  double y_mm;
  double deviation_um;
  std::string_view field;
};

std::vector<Place> places(const Context& context, Direction direction) {
  std::vector<Place> found;
  for (const Reading* reading : apertures(context, direction)) {
    if (!reading->x || !reading->y) continue;
    const double deviation_um = (*reading->aperture - context.row().nominal).um();
    found.push_back({reading->x->um() / 1e3, reading->y->um() / 1e3, deviation_um, reading->field});
  }
  return found;
}

struct Area {
  double low_x, high_x, low_y, high_y;

  double width() const { return high_x - low_x; }
  double height() const { return high_y - low_y; }
  bool holds(const Area& other) const {
    return low_x <= other.low_x && other.high_x <= high_x && low_y <= other.low_y && other.high_y <= high_y;
  }
};

Area area_of(const std::vector<Place>& all) {
  Area area{all.front().x_mm, all.front().x_mm, all.front().y_mm, all.front().y_mm};
  for (const Place& place : all) {
    area.low_x = std::min(area.low_x, place.x_mm);
    area.high_x = std::max(area.high_x, place.x_mm);
    area.low_y = std::min(area.low_y, place.y_mm);
    area.high_y = std::max(area.high_y, place.y_mm);
  }
  return area;
}

// The frame in the coordinates of the positions: around their origin, or from there to the upper right, whichever contains all
// positions.
std::optional<Area> frame_area(const Context& context, const Area& area) {
  const std::optional<Frame>& frame = context.assessment.conditions.piece.frame;
  if (!frame) return std::nullopt;
  const double size = frame->size.um() / 1e3;
  for (const Area outer : {Area{-size / 2, size / 2, -size / 2, size / 2}, Area{0, size, 0, size}}) {
    if (outer.holds(area)) return outer;
  }
  return std::nullopt;
}

// The roll in the coordinates of the positions, its width along either axis and from or around the origin. Empty if the positions
// cover so little of its length that they would crowd into a corner of it.
std::optional<Area> roll_area(const Context& context, const Area& area) {
  const std::optional<Roll>& roll = context.assessment.conditions.piece.roll;
  if (!roll) return std::nullopt;
  const double width = roll->width.um() / 1e3;
  const double length = roll->length.um() / 1e3;
  if (std::max(area.width(), area.height()) < length / 2) return std::nullopt;
  for (const double low : {0.0, -width / 2}) {
    for (const Area outer : {Area{low, low + width, 0, length}, Area{0, length, low, low + width}}) {
      if (outer.holds(area)) return outer;
    }
  }
  return std::nullopt;
}

// One place for each group of places with the same key, at their mean and with their mean deviation.
template <class KeyOf>
std::vector<Place> means_by(const std::vector<Place>& all, KeyOf key_of) {
  struct Sum {
    double x = 0, y = 0, deviation = 0, n = 0;
  };
  std::map<decltype(key_of(all.front())), Sum> groups;
  for (const Place& place : all) {
    Sum& sum = groups[key_of(place)];
    sum.x += place.x_mm;
    sum.y += place.y_mm;
    sum.deviation += place.deviation_um;
    ++sum.n;
  }
  std::vector<Place> means;
  means.reserve(groups.size());
  for (const auto& [key, sum] : groups) means.push_back({sum.x / sum.n, sum.y / sum.n, sum.deviation / sum.n, {}});
  return means;
}

// One circle per cell of a grid.
std::vector<Place> means_of_cells(const std::vector<Place>& all, const Area& area, double across, double up) {
  const auto cell = [](double value, double low, double high, double cells) {
    return high > low ? static_cast<int>(std::min(cells - 1, std::floor((value - low) / (high - low) * cells))) : 0;
  };
  return means_by(all, [&](const Place& place) {
    return std::pair(cell(place.x_mm, area.low_x, area.high_x, across), cell(place.y_mm, area.low_y, area.high_y, up));
  });
}

constexpr double k_largest_radius = 4.5;

void draw_places(Plot& plot, const std::vector<Place>& all, Length largest) {
  for (const Place& place : all) {
    const Point at{plot.x(place.x_mm), plot.y(place.y_mm)};
    const double radius = std::max(0.4, k_largest_radius * std::sqrt(std::abs(place.deviation_um) / largest.um()));
    const bool larger = place.deviation_um > 0;
    plot.add(CircleShape{at, radius, larger, {larger ? 0.3 : 0.0, 0.6, {}}});
  }
}

void draw_rectangle(Plot& plot, const Area& area) {
  const double left = plot.x(area.low_x), right = plot.x(area.high_x), low = plot.y(area.low_y), high = plot.y(area.high_y);
  plot.add(PathShape{{{left, low}, {right, low}, {right, high}, {left, high}, {left, low}}, {0.5, 0.6, {}}});
}

std::string map_title(const Context& context, Direction direction) {
  return context.words("picture.map", {{"direction", direction_phrase(direction, context.words)}});
}

// ---- the map of a frame: both axes have the same scale

void fit_axes(Plot& plot, const Area& area, double width, double height) {
  const double span_x = std::max(1e-3, area.width()) * 1.08;
  const double span_y = std::max(1e-3, area.height()) * 1.08;
  const double points_per_mm = std::min(width / span_x, height / span_y);
  const double x = (area.low_x + area.high_x) / 2;
  const double y = (area.low_y + area.high_y) / 2;
  const double half_x = width / points_per_mm / 2;
  const double half_y = height / points_per_mm / 2;
  plot.x = {x - half_x, x + half_x, k_left, k_left + width};
  plot.y = {y - half_y, y + half_y, 6 + height, 6};
}

void draw_frame(Plot& plot, const Context& context, const Area& area) {
  if (context.assessment.conditions.piece.frame->shape != FrameShape::round) return draw_rectangle(plot, area);
  const Point centre{plot.x((area.low_x + area.high_x) / 2), plot.y((area.low_y + area.high_y) / 2)};
  plot.add(CircleShape{centre, (plot.x(area.high_x) - plot.x(area.low_x)) / 2, false, {0.5, 0.6, {}}});
}

Picture map(const Context& context, Direction direction, Length largest) {
  std::vector<Place> all = places(context, direction);
  const Area inner = area_of(all);
  const std::optional<Area> frame = frame_area(context, inner);
  constexpr double height = 176;
  constexpr double k_cells = 20;
  Plot plot(k_width, height + 6 + k_bottom, context.words);
  fit_axes(plot, frame.value_or(inner), k_width - k_left - k_right, height);
  if (frame) draw_frame(plot, context, *frame);
  std::string key = context.words("picture.key-map", {{"size", context.shown.quantity(largest)}});
  if (all.size() > k_most_points) {  // circles would overlap
    all = means_of_cells(all, inner, k_cells, k_cells);
    key += " " + context.words("picture.key-map-many");
  }
  draw_places(plot, all, largest);
  plot.draw_x_axis(context.words("picture.axis-x"));
  plot.draw_y_axis(context.words("picture.axis-y"));
  return {map_title(context, direction), plot.take(), key};
}

// ---- the map of a roll: its length across the page, each axis with a scale of its own

constexpr double k_long = 3;  // length over width from which a map true to scale cannot be read

bool is_long(const Context& context, const Area& area) {
  const auto [shorter, longer] = std::minmax({area.width(), area.height()});
  return !context.assessment.conditions.piece.frame && longer > k_long * shorter;
}

Axis stretched(double low, double high, double from, double to) {
  const double room = 0.04 * (high - low);
  return {low - room, high + room, from, to};
}

// One circle for each field, or for places as near as circles that touch.
std::vector<Place> merged(const std::vector<Place>& all, const Area& area, double width, double height) {
  const bool in_fields = std::none_of(all.begin(), all.end(), [](const Place& place) { return place.field.empty(); });
  if (in_fields) {
    std::vector<Place> fields = means_by(all, [](const Place& place) { return place.field; });
    if (fields.size() <= k_most_points) return fields;
  }
  constexpr double k_cell = 2 * k_largest_radius;
  return means_of_cells(all, area, std::floor(width / k_cell), std::floor(height / k_cell));
}

Picture long_map(const Context& context, Direction direction, Length largest) {
  std::vector<Place> all = places(context, direction);
  Area inner = area_of(all);
  std::optional<Area> roll = roll_area(context, inner);
  const bool upright = inner.height() > inner.width();
  if (upright) {
    for (Place& place : all) std::swap(place.x_mm, place.y_mm);
    for (Area* const area : {&inner, roll ? &*roll : nullptr}) {
      if (area != nullptr) *area = {area->low_y, area->high_y, area->low_x, area->high_x};
    }
  }
  constexpr double height = 110;
  constexpr double width = k_whole_width - k_left - k_right;
  Plot plot(k_whole_width, height + 6 + k_bottom, context.words);
  Area shown = roll.value_or(inner);
  if (const double least = shown.width() / 200; shown.height() < least) {  // one lane
    const double middle = (shown.low_y + shown.high_y) / 2;
    shown.low_y = middle - least / 2;
    shown.high_y = middle + least / 2;
  }
  plot.x = stretched(shown.low_x, shown.high_x, k_left, k_left + width);
  plot.y = stretched(shown.low_y, shown.high_y, 6 + height, 6);
  if (roll) draw_rectangle(plot, *roll);
  const std::vector<Place> circles = merged(all, shown, width, height);
  std::string key = context.words("picture.key-map", {{"size", context.shown.quantity(largest)}});
  if (circles.size() < all.size()) key += " " + context.words("picture.key-map-many");
  key += " " + context.words("picture.key-map-long");
  draw_places(plot, circles, largest);
  plot.draw_x_axis(context.words(upright ? Key("picture.axis-y") : Key("picture.axis-x")));
  plot.draw_y_axis(context.words(upright ? Key("picture.axis-x") : Key("picture.axis-y")));
  return {map_title(context, direction), plot.take(), key, true};
}

// Of both directions, so that their circles can be compared; never zero.
Length largest_deviation(const Context& context) {
  Length largest;
  for (const Reading& reading : context.readings) {
    if (!reading.aperture || !reading.x || !reading.y) continue;
    const Length deviation = *reading.aperture - context.row().nominal;
    largest = std::max({largest, deviation, Length() - deviation});
  }
  return largest > Length() ? largest : Length::of(1, Unit::micrometre);
}

}  // namespace

std::vector<Pictures> draw_readings(const ReportContext& of) {
  const Context context(of);
  std::vector<Pictures> rows(3);
  const Length largest = largest_deviation(context);
  for (const Direction direction : k_directions) {
    if (apertures(context, direction).empty()) continue;
    rows[0].pictures.push_back(histogram(context, direction));
    rows[1].pictures.push_back(strip(context, direction));
    const std::vector<Place> all = places(context, direction);
    if (all.empty()) continue;
    const bool wide = is_long(context, area_of(all));
    rows[2].pictures.push_back(wide ? long_map(context, direction, largest) : map(context, direction, largest));
  }
  std::erase_if(rows, [](const Pictures& row) { return row.pictures.empty(); });
  return rows;
}

}  // namespace sievecloth
