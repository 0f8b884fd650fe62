#include "sievecloth/plan.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <set>
#include <utility>

#include <fmt/format.h>
#include <boost/math/distributions/chi_squared.hpp>

#include "base/in_double.hpp"
#include "diagnosis/random.hpp"
#include "judgement/factor.hpp"
#include "judgement/grid.hpp"
#include "sievecloth/diagnosis.hpp"

namespace sievecloth {
namespace {

constexpr std::int64_t k_most_for_spread = 10'000;

Error plan_error(ErrorCode code, std::string message, std::string found, std::string expected) {
  return {code, std::move(message), std::move(found), std::move(expected), {}};
}

// P(s <= limit, or K s <= limit) where the true standard deviation is 0.7 times the limit.
double pass_probability(std::int64_t n, const std::optional<double>& factor) {
  const double freedom = static_cast<double>(n - 1);
  const double ratio = 1 / (k_outlook_ratio * factor.value_or(1));
  return boost::math::cdf(boost::math::chi_squared_distribution<double, InDouble>(freedom), freedom * ratio * ratio);
}

std::optional<double> factor_of(const Specification& specification, std::int64_t n) {
  const SpreadRule& rule = specification.edition->rules.spread;
  if (!rule.factor) return std::nullopt;
  return standard_deviation_factor(n, rule.tail_millionths[specification.lookup_grade()]);
}

std::optional<std::int64_t> least_count(const Specification& specification) {
  for (std::int64_t n = 2; n <= k_most_for_spread; ++n) {
    if (pass_probability(n, factor_of(specification, n)) >= k_outlook_probability) return n;
  }
  return std::nullopt;
}

// The part of `total` that falls to section `index` of `sections`; parts differ by at most 1.
std::int64_t share_of(std::int64_t index, std::int64_t total, std::int64_t sections) {
  const auto end = [&](std::int64_t i) { return static_cast<std::int64_t>(static_cast<int128>(i) * total / sections); };
  return end(index + 1) - end(index);
}

// Draws one number from each of `count` equal sections of 0 .. total - 1, counted cyclically from a random start: each number has
// probability count / total.
std::vector<std::int64_t> draw(std::int64_t count, std::int64_t total, RandomEngine& engine) {
  const std::uint64_t start = uniform_below(engine, static_cast<std::uint64_t>(total));
  std::vector<std::int64_t> numbers;
  numbers.reserve(static_cast<std::size_t>(count));
  for (std::int64_t i = 0; i < count; ++i) {
    const auto begin = static_cast<std::uint64_t>(static_cast<int128>(i) * total / count);
    const auto end = static_cast<std::uint64_t>(static_cast<int128>(i + 1) * total / count);
    const std::uint64_t drawn = start + begin + uniform_below(engine, end - begin);
    numbers.push_back(static_cast<std::int64_t>(drawn % static_cast<std::uint64_t>(total)));
  }
  std::sort(numbers.begin(), numbers.end());
  return numbers;
}

std::int64_t below(RandomEngine& engine, std::int64_t bound) {
  return static_cast<std::int64_t>(uniform_below(engine, static_cast<std::uint64_t>(bound)));
}

/// Consecutive numbers on a circle.
struct Run {
  std::int64_t begin = 0;
  std::int64_t count = 0;
};

// Places runs of together `count` numbers on a circle of `total`, one at random in each section. Since the start is random, each
// number has probability count / total.
std::vector<Run> draw_runs(std::int64_t count, std::int64_t runs, std::int64_t total, RandomEngine& engine) {
  std::vector<Run> drawn;
  std::int64_t section = below(engine, total);
  for (std::int64_t i = 0; i < runs; ++i) {
    const std::int64_t length = share_of(i, count, runs);
    const std::int64_t free = share_of(i, total - count, runs);
    drawn.push_back({(section + below(engine, free + 1)) % total, length});
    section += length + free;
  }
  return drawn;
}

/// An aperture on a line of the cloth.
struct Place {
  std::int64_t line = 0;
  std::int64_t gap = 0;
};

using Field = std::vector<PlannedReading>;

/// Turns runs of places into fields. A place that is not the neighbour of the one before begins a field of its own.
class FieldMaker {
 public:
  FieldMaker(const ApertureGrid& grid, Direction direction) : grid_(grid), direction_(direction) {}

  void begin_run() { previous_.reset(); }
  void add(const Place& place) {
    const bool follows = previous_ && previous_->line == place.line && previous_->gap + 1 == place.gap;
    if (!follows) fields_.emplace_back();
    const ApertureGrid::Cell cell = grid_.on_line(place.line, place.gap, direction_);
    fields_.back().push_back(reading_at(cell, direction_));
    fields_.back().back().gap = cell.gap + 1;
    previous_ = place;
  }
  std::vector<Field> fields() && { return std::move(fields_); }

  static PlannedReading reading_at(const ApertureGrid::Cell& cell, Direction direction) {
    return {.direction = direction,
            .x = cell.x,
            .y = cell.y,
            .gap = std::nullopt,
            .lane = cell.lane ? std::optional(static_cast<Lane>(*cell.lane)) : std::nullopt};
  }

 private:
  const ApertureGrid& grid_;
  Direction direction_;
  std::optional<Place> previous_;
  std::vector<Field> fields_;
};

// The lines that fields run along: of a frame the centre line and, where that has too few apertures, the lines nearest to it; of a
// roll all.
std::vector<std::int64_t> lines_for(const ApertureGrid& grid, const Plan& plan, Direction direction) {
  const std::int64_t lines = grid.lines(direction);
  std::vector<std::int64_t> chosen;
  std::int64_t apertures = 0;
  for (std::int64_t i = 0; i < lines && (plan.piece.roll || apertures < *plan.apertures); ++i) {
    const std::int64_t from_middle = i % 2 == 0 ? -(i / 2) : (i + 1) / 2;
    chosen.push_back(plan.piece.roll ? i : lines / 2 + from_middle);
    apertures += grid.line(chosen.back(), direction).count;
  }
  return chosen;
}

std::vector<Field> fields_on_lines(const Plan& plan, const ApertureGrid& grid, Direction direction, RandomEngine& engine) {
  const std::vector<std::int64_t> lines = lines_for(grid, plan, direction);
  std::vector<std::int64_t> begins{0};  // number of the first aperture of each line; then the end
  for (const std::int64_t line : lines) begins.push_back(begins.back() + grid.line(line, direction).count);
  FieldMaker maker(grid, direction);
  for (const Run& run : draw_runs(*plan.apertures, plan.fields, begins.back(), engine)) {
    maker.begin_run();
    for (std::int64_t i = 0; i < run.count; ++i) {
      const std::int64_t number = (run.begin + i) % begins.back();
      const auto at = static_cast<std::size_t>(std::upper_bound(begins.begin(), begins.end(), number) - begins.begin() - 1);
      maker.add({lines[at], grid.line(lines[at], direction).first + number - begins[at]});
    }
  }
  return std::move(maker).fields();
}

// A random order of 0 .. count - 1.
std::vector<std::int64_t> shuffled(std::int64_t count, RandomEngine& engine) {
  std::vector<std::int64_t> order(static_cast<std::size_t>(count));
  std::iota(order.begin(), order.end(), 0);
  for (std::int64_t i = count - 1; i > 0; --i)
    std::swap(order[static_cast<std::size_t>(i)], order[static_cast<std::size_t>(below(engine, i + 1))]);
  return order;
}

// Each field has a section of the length and one of the width to itself, so that the fields are spread over both.
std::vector<Field> fields_all_over(const Plan& plan, const ApertureGrid& grid, Direction direction, RandomEngine& engine) {
  const bool along = direction == Direction::warp;  // the fields run along the length
  const std::int64_t rows = grid.lines(Direction::weft);
  const std::int64_t columns = grid.lines(Direction::warp);
  const std::vector<Run> in_length = draw_runs(along ? *plan.apertures : plan.fields, plan.fields, rows, engine);
  const std::vector<std::int64_t> order = shuffled(plan.fields, engine);
  const std::int64_t start = below(engine, columns);
  FieldMaker maker(grid, direction);
  for (std::int64_t i = 0; i < plan.fields; ++i) {
    const Run& run = in_length[static_cast<std::size_t>(i)];
    const std::int64_t section = order[static_cast<std::size_t>(i)];
    const std::int64_t width = std::max<std::int64_t>(1, share_of(section, columns, plan.fields));
    const std::int64_t column = start + section * columns / plan.fields + below(engine, width);
    const std::int64_t count = share_of(i, *plan.apertures, plan.fields);
    maker.begin_run();
    for (std::int64_t k = 0; k < count; ++k) {
      if (along) maker.add({column % columns, (run.begin + k) % rows});
      if (!along) maker.add({run.begin, (column + k) % columns});
    }
  }
  return std::move(maker).fields();
}

// Whether each field of a roll can have a section of the length to itself.
bool is_long_enough(const Plan& plan, const ApertureGrid& grid, Direction direction) {
  const std::int64_t rows = grid.lines(Direction::weft);
  if (direction == Direction::warp) return rows >= *plan.apertures;
  return rows >= plan.fields && grid.lines(Direction::warp) >= (*plan.apertures + plan.fields - 1) / plan.fields;
}

// Single apertures, each a field of its own.
std::vector<Field> scattered(const Plan& plan, const ApertureGrid& grid, Direction direction, RandomEngine& engine) {
  std::vector<Field> fields;
  for (const std::int64_t number : draw(*plan.apertures, grid.count(), engine)) {
    const ApertureGrid::Cell cell = grid.cell(number, direction);
    fields.push_back({FieldMaker::reading_at(cell, direction)});
    if (plan.all) fields.back().front().gap = cell.gap + 1;
  }
  return fields;
}

// From below upwards and from left to right; on a centre line gap by gap.
bool is_earlier(const Field& a, const Field& b) {
  return a.front().y != b.front().y ? a.front().y < b.front().y : a.front().x < b.front().x;
}

// Marks fields beside whose first aperture a wire is measured, spread evenly over the list. Beside the same gap lies the same wire:
// other gaps are preferred as long as there are any.
void mark_wires(std::vector<Field>& fields, std::int64_t wires) {
  const auto count = static_cast<std::int64_t>(fields.size());
  const std::int64_t marks = std::min(wires, count);
  std::set<std::int64_t> gaps;
  const auto is_free = [&](std::int64_t i, bool new_gap) {
    const PlannedReading& first = fields[static_cast<std::size_t>(i)].front();
    return !first.wire && !(new_gap && first.gap && gaps.contains(*first.gap));
  };
  for (std::int64_t mark = 0; mark < marks; ++mark) {
    const std::int64_t even = (2 * mark + 1) * count / (2 * marks);
    std::int64_t chosen = count;
    for (const bool new_gap : {true, false}) {
      for (std::int64_t away = 0; away < count && chosen == count; ++away) {
        for (const std::int64_t i : {even + away, even - away}) {
          if (chosen == count && i >= 0 && i < count && is_free(i, new_gap)) chosen = i;
        }
      }
    }
    PlannedReading& first = fields[static_cast<std::size_t>(chosen)].front();
    first.wire = true;
    if (first.gap) gaps.insert(*first.gap);
  }
}

void add_readings(Plan& plan, const ApertureGrid& grid, Direction direction, RandomEngine& engine) {
  std::vector<Field> fields = plan.fields == 0 ? scattered(plan, grid, direction, engine)
                              : plan.piece.roll && is_long_enough(plan, grid, direction)
                                  ? fields_all_over(plan, grid, direction, engine)
                                  : fields_on_lines(plan, grid, direction, engine);
  if (plan.fields > 0 || plan.piece.roll) std::sort(fields.begin(), fields.end(), is_earlier);
  mark_wires(fields, plan.wires);
  std::int64_t number = 0;
  for (Field& field : fields) {
    ++number;
    for (PlannedReading& reading : field) reading.field = number;
    plan.readings.insert(plan.readings.end(), field.begin(), field.end());
  }
}

Result<std::optional<ApertureGrid>> grid_of(const Row& row, const Piece& piece, const std::optional<Length>& clear) {
  const Length pitch = row.nominal + row.wire.preferred.value;
  if (piece.roll) return std::optional(ApertureGrid::on_roll(*piece.roll, row.nominal, pitch));
  if (!piece.frame) return std::optional<ApertureGrid>();
  if (*clear > piece.frame->size) {
    return plan_error(ErrorCode::option_conflict, "the clear part is wider than the frame", to_text(*clear),
                      "at most " + to_text(piece.frame->size));
  }
  if (*clear <= Length())
    return plan_error(ErrorCode::option_value, "nothing of the frame is clear", to_text(*clear), "a wider frame");
  return std::optional(ApertureGrid::in_frame(piece.frame->shape, *clear, row.nominal, pitch));
}

// Decides the number per direction: the required count, or every full aperture if that is required or there are no more.
void decide_counts(Plan& plan) {
  Piece piece = plan.piece;
  if (!piece.apertures_in_piece) piece.apertures_in_piece = plan.apertures_in_piece;
  plan.required = required_count(plan.specification, piece);
  if (!plan.required) return;
  const std::optional<std::int64_t>& in_piece = plan.apertures_in_piece;
  plan.all = plan.required->all || (in_piece && plan.required->count >= *in_piece);
  if (!plan.all) plan.apertures = plan.required->count;
  if (plan.all) plan.apertures = in_piece;
}

// Neighbours resemble each other, so that many short fields tell more of the piece than a few long ones; a wire is measured in
// each.
void decide_fields(Plan& plan) {
  if (plan.all || !plan.apertures || plan.choice.method != PlanMethod::fields) return;
  const Row& row = *plan.specification.row;
  const Length wire = row.wire.preferred.value;
  const std::int64_t in_view =
      plan.choice.field ? std::max<std::int64_t>(1, (*plan.choice.field + wire).pm() / (row.nominal + wire).pm()) : k_usual_field;
  const std::int64_t least = (*plan.apertures + in_view - 1) / in_view;
  plan.fields = std::min(*plan.apertures, std::max({k_fewest_fields, plan.wires, least}));
}

void decide_resolution(Plan& plan) {
  const std::optional<ResolutionRule>& required = plan.specification.edition->rules.resolution;
  const ResolutionRule rule = required.value_or(ResolutionRule{.floor = Length::of(1, Unit::micrometre)});
  const std::int64_t part = plan.specification.row->average_tolerance.value.pm() / rule.fraction_of_average;
  plan.resolution = std::max(rule.floor, Length::from_pm(part));
  plan.resolution_required = required.has_value();
}

}  // namespace

double best_share_bound(const Plan& plan) {
  if (plan.fields > 0) return share_upper_bound_of_groups(0, plan.fields, k_confidence);
  const std::int64_t n = *plan.apertures;
  const std::optional<std::int64_t>& total = plan.apertures_in_piece;
  if (!total || static_cast<double>(n) < k_finite_share * static_cast<double>(*total)) return share_upper_bound(0, n, k_confidence);
  return static_cast<double>(number_upper_bound(0, n, *total, k_confidence)) / static_cast<double>(*total);
}

std::optional<SpreadOutlook> spread_outlook(const Specification& specification, std::int64_t count) {
  if (!specification.row->standard_deviation_limit[specification.lookup_grade()]) return std::nullopt;
  const std::optional<double> factor = factor_of(specification, count);
  return SpreadOutlook{pass_probability(count, factor), factor, least_count(specification)};
}

Result<Plan> make_plan(const Specification& specification, const Piece& piece, const PlanChoice& choice) {
  if (piece.frame && piece.roll) {
    return plan_error(ErrorCode::option_conflict, "a piece is a mounted sieve or cloth on a roll", "", "either frame or roll");
  }
  Plan plan{.specification = specification, .piece = piece, .choice = choice};
  if (piece.frame && !choice.clear) plan.choice.clear = piece.frame->size - k_frame_allowance;
  const Result<std::optional<ApertureGrid>> grid = grid_of(*specification.row, piece, plan.choice.clear);
  if (!grid.ok()) return grid.errors();
  if (*grid) plan.apertures_in_piece = (*grid)->count();
  if (plan.apertures_in_piece == 0) {
    return plan_error(ErrorCode::option_value, "the piece has not one full aperture of this size", "", "a larger piece");
  }
  decide_counts(plan);
  decide_resolution(plan);
  plan.wires = specification.edition->rules.wire_count.value;
  decide_fields(plan);
  if (plan.apertures && *plan.apertures >= 2 && !plan.all) plan.spread = spread_outlook(specification, *plan.apertures);
  if (!*grid || !plan.apertures) return plan;
  if (*plan.apertures > k_most_planned) {
    return plan_error(ErrorCode::option_value, "more readings than a plan can list",
                      fmt::format("{} in each direction", *plan.apertures), fmt::format("at most {}", k_most_planned));
  }
  RandomEngine engine(choice.seed);
  for (const Direction direction : k_directions) add_readings(plan, **grid, direction, engine);
  return plan;
}

}  // namespace sievecloth
