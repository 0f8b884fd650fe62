#include "sievecloth/plan.hpp"

#include <algorithm>
#include <cmath>

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

std::optional<Lane> lane_of(const ApertureGrid::Cell& cell) {
  return cell.lane ? std::optional(static_cast<Lane>(*cell.lane)) : std::nullopt;
}

bool earlier_on_roll(const PlannedReading& a, const PlannedReading& b) { return a.y != b.y ? a.y < b.y : a.x < b.x; }

void add_readings(Plan& plan, const ApertureGrid& grid, Direction direction, RandomEngine& engine) {
  std::vector<PlannedReading> readings;
  for (const std::int64_t number : draw(*plan.apertures, grid.count(), engine)) {
    const ApertureGrid::Cell cell = grid.cell(number, direction);
    readings.push_back({.direction = direction, .x = cell.x, .y = cell.y, .lane = lane_of(cell)});
  }
  if (plan.piece.roll) std::sort(readings.begin(), readings.end(), earlier_on_roll);
  const auto count = static_cast<std::int64_t>(readings.size());
  const std::int64_t marked = std::min(plan.wires, count);
  for (std::int64_t i = 0; i < marked; ++i) {  // spread evenly over the list
    readings[static_cast<std::size_t>((2 * i + 1) * count / (2 * marked))].wire = true;
  }
  for (std::int64_t i = 0; i < count; ++i) readings[static_cast<std::size_t>(i)].number = i + 1;
  plan.readings.insert(plan.readings.end(), readings.begin(), readings.end());
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

void decide_resolution(Plan& plan) {
  const std::optional<ResolutionRule>& required = plan.specification.edition->rules.resolution;
  const ResolutionRule rule = required.value_or(ResolutionRule{.floor = Length::of(1, Unit::micrometre)});
  const std::int64_t part = plan.specification.row->average_tolerance.value.pm() / rule.fraction_of_average;
  plan.resolution = std::max(rule.floor, Length::from_pm(part));
  plan.resolution_required = required.has_value();
}

}  // namespace

double best_share_bound(const Plan& plan) {
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

Result<Plan> make_plan(const Specification& specification, const Piece& piece, std::optional<Length> clear, std::uint64_t seed) {
  if (piece.frame && piece.roll) {
    return plan_error(ErrorCode::option_conflict, "a piece is a mounted sieve or cloth on a roll", "", "either frame or roll");
  }
  Plan plan{.specification = specification, .piece = piece, .seed = seed};
  if (piece.frame) plan.clear = clear.value_or(piece.frame->size - k_frame_allowance);
  const Result<std::optional<ApertureGrid>> grid = grid_of(*specification.row, piece, plan.clear);
  if (!grid.ok()) return grid.errors();
  if (*grid) plan.apertures_in_piece = (*grid)->count();
  if (plan.apertures_in_piece == 0) {
    return plan_error(ErrorCode::option_value, "the piece has not one full aperture of this size", "", "a larger piece");
  }
  decide_counts(plan);
  decide_resolution(plan);
  plan.wires = specification.edition->rules.wire_count.value;
  if (plan.apertures && *plan.apertures >= 2 && !plan.all) plan.spread = spread_outlook(specification, *plan.apertures);
  if (!*grid || !plan.apertures) return plan;
  if (*plan.apertures > k_most_planned) {
    return plan_error(ErrorCode::option_value, "more readings than a plan can list",
                      fmt::format("{} in each direction", *plan.apertures), fmt::format("at most {}", k_most_planned));
  }
  RandomEngine engine(seed);
  for (const Direction direction : k_directions) add_readings(plan, **grid, direction, engine);
  return plan;
}

}  // namespace sievecloth
