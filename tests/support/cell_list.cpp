#include "support/cell_list.hpp"

#include <cmath>
#include <numbers>
#include <utility>

#include <fmt/format.h>

namespace sievecloth::test {
namespace {

// Faults in standard deviations: Y is 4.1 um.
constexpr double k_fine = 1.5;  // spread [um]
constexpr double k_y = 4.1 / k_fine;

double wave(int i, double period) { return std::sin(2 * std::numbers::pi * i / period); }

std::vector<int> groups(int count, int size) { return std::vector<int>(static_cast<std::size_t>(count), size); }

void add_good(std::vector<Cell>& cells) {
  for (const int n : {25, 60, 110, 200, 1000})
    cells.push_back({.group = "independent, normal, n = 25 to 1000", .name = fmt::format("n = {}", n), .n = n});
  for (const auto& [name, shape] :
       {std::pair("gamma, skewness 0.5", Shape::gamma_16), std::pair("gamma, skewness 1", Shape::gamma_4),
        std::pair("lognormal, sigma 0.5", Shape::lognormal), std::pair("Student's t, 5 degrees", Shape::student_5),
        std::pair("exponential", Shape::exponential)})
    cells.push_back({.group = fmt::format("{}, n = 110", name), .name = name, .shape = shape});
  for (const double step : {0.2, 0.5, 1.0})
    cells.push_back({.group = "in steps of 0.2 to 1 s", .name = fmt::format("in steps of {} s", step), .step = 3.5 * step});
  for (const double step : {1.5, 2.0})
    cells.push_back({.group = "in steps of 1.5 to 2 s", .name = fmt::format("in steps of {} s", step), .step = 3.5 * step});
  for (const double r : {-0.5, -0.3, -0.1}) {
    cells.push_back(
        {.group = "moving average, r = -0.5 to -0.1", .name = fmt::format("moving average, {}", r), .moving_average = r});
    cells.push_back({.group = "the same, declared contiguous",
                     .name = fmt::format("moving average, {}, contiguous", r),
                     .moving_average = r,
                     .contiguous = true});
  }
  for (const double r : {0.1, 0.2, 0.3, 0.5}) {
    cells.push_back({.group = "autoregression, r = 0.1 to 0.5", .name = fmt::format("autoregression, {}", r), .autoregression = r});
    cells.push_back({.group = "the same, declared contiguous (positive)",
                     .name = fmt::format("autoregression, {}, contiguous", r),
                     .autoregression = r,
                     .contiguous = true});
  }
  cells.push_back({.group = "half of the piece", .name = "half of the piece", .finite = 0.5});
  cells.push_back({.group = "at random positions", .name = "at random positions", .placed = true});
}

void add_groups(std::vector<Cell>& cells) {
  for (const auto& [count, size] : {std::pair(5, 20), std::pair(10, 10), std::pair(20, 5), std::pair(40, 2)}) {
    for (const double r : {0.0, 0.2, 0.9})
      cells.push_back({.group = fmt::format("gaps, {} x {}, correlation 0 to 0.9", count, size),
                       .name = fmt::format("gaps, {} x {}, {}", count, size, r),
                       .gaps = groups(count, size),
                       .correlation = r});
  }
  for (const double turn : {0.2, 1.0, 2.0, 5.0})
    cells.push_back({.group = "gaps, 10 x 10, wires turned by 0.2 to 5 degrees",
                     .name = fmt::format("gaps, turned by {} degrees", turn),
                     .gaps = groups(10, 10),
                     .correlation = 0.9,
                     .turn_degrees = turn});
  for (const auto& [count, size] : {std::pair(2, 50), std::pair(3, 40), std::pair(4, 30), std::pair(10, 11), std::pair(24, 10)}) {
    for (const double r : {0.0, 0.05, 0.1, 0.2, 0.5, 0.9})
      cells.push_back({.group = fmt::format("fields, {} x {}, correlation 0 to 0.9", count, size),
                       .name = fmt::format("fields, {} x {}, {}", count, size, r),
                       .fields = groups(count, size),
                       .correlation = r});
  }
  std::vector<int> unequal = groups(11, 5);
  unequal.push_back(50);
  for (const double r : {0.05, 0.2, 0.9}) {
    cells.push_back({.group = "fields of neighbouring gaps, 10 x 11, with positions",
                     .name = fmt::format("fields and positions, {}", r),
                     .fields = groups(10, 11),
                     .gaps = {1},
                     .correlation = r});
    cells.push_back({.group = "fields of unequal size, 100 + 3 x 2",
                     .name = fmt::format("fields, 100 + 3 x 2, {}", r),
                     .fields = {100, 2, 2, 2},
                     .correlation = r});
    cells.push_back({.group = "fields of unequal size, 50 + 11 x 5",
                     .name = fmt::format("fields, 50 + 11 x 5, {}", r),
                     .fields = unequal,
                     .correlation = r});
  }
}

void add_shares(std::vector<Cell>& cells) {
  for (const double share : {0.001, 0.01, 0.05, 0.1}) {
    const auto add = [&](std::string group, Cell cell) {
      cell.name = fmt::format("{}, {} above", group, share);
      cell.group = std::move(group);
      cell.share_above = share;
      cells.push_back(std::move(cell));
    };
    add("0.1 to 10 % above w + X, independent", {});
    add("0.1 to 10 % above w + X, half of the piece", {.finite = 0.5});
    for (const double r : {0.05, 0.5, 0.98}) {
      add("0.1 to 10 % above w + X, gaps, 5 x 20", {.gaps = groups(5, 20), .correlation = r});
      add("0.1 to 10 % above w + X, fields, 10 x 11", {.fields = groups(10, 11), .correlation = r});
    }
  }
}

void add_faults(std::vector<Cell>& cells) {
  const auto fault = [&](const std::string& name, int n, std::function<double(int, int)> change, double weft_spread = 1) {
    for (const double r : {0.0, -0.3}) {
      Cell cell{.group = fmt::format("fault: {}, n = {}, r = {}", name, n, r), .n = n, .moving_average = r};
      cell.name = cell.group;
      cell.contiguous = true;
      cell.spread = k_fine;
      cell.fault = change;
      cell.weft_spread = weft_spread;
      cells.push_back(std::move(cell));
    }
  };
  fault("a gap at w + X beside a narrow one", 110, [](int i, int) { return i == 40 ? 29 / k_fine : i == 41 ? -29 / k_fine : 0; });
  fault("a wire displaced by 5 s", 110, [](int i, int) { return i == 40 ? 5.0 : i == 41 ? -5.0 : 0; });
  fault("bars of amplitude Y/4 over 11 gaps", 200, [](int i, int) { return k_y / 4 * wave(i, 11); });
  fault("3 gaps in every 20 wider by Y/2", 200, [](int i, int) { return (i % 20 < 3 ? 0.85 : -0.15) * k_y / 2; });
  fault("slow wave of amplitude Y/4", 200, [](int i, int n) { return k_y / 4 * wave(i, n / 2.0); });
  fault("drift of Y/2", 110, [](int i, int n) { return k_y / 2 * (static_cast<double>(i) / n - 0.5); });
  fault("variance ratio 2", 110, {}, std::sqrt(2.0));
  fault("s of the weft 1.6 times that of the warp", 110, {}, 1.6);
  const std::string bowl = "fault: bowl of Y/2, n = 110", two = "fault: two populations 4 s apart, n = 110";
  cells.push_back({.group = bowl, .name = bowl, .spread = k_fine, .placed = true, .surface = [](double x, double y) {
                     return k_y / 2 * (x * x + y * y - 2.0 / 3);
                   }});
  cells.push_back({.group = two, .name = two, .fault = [](int i, int) { return i * 7 % 11 < 5 ? 2.0 : -2.0; }});
}

}  // namespace

std::vector<Cell> all_cells() {
  std::vector<Cell> cells;
  add_good(cells);
  add_groups(cells);
  add_shares(cells);
  add_faults(cells);
  return cells;
}

}  // namespace sievecloth::test
