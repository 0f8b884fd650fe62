#include "support/cells.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <set>

#include "support/judging.hpp"
#include "support/loom.hpp"

namespace sievecloth::test {
namespace {

constexpr double k_mean = 75, k_limit = 104;  // um: No. 200, w + X

double exponential(RandomEngine& engine) { return -std::log(uniform_unit(engine)); }

double gamma(RandomEngine& engine, int shape) {
  double sum = 0;
  for (int i = 0; i < shape; ++i) sum += exponential(engine);
  return sum;
}

// Mean 0, standard deviation 1.
double variate(RandomEngine& engine, Shape shape) {
  switch (shape) {
    case Shape::normal: return normal(engine);
    case Shape::gamma_16: return (gamma(engine, 16) - 16) / 4;
    case Shape::gamma_4: return (gamma(engine, 4) - 4) / 2;
    case Shape::lognormal: {
      const double square = 0.25, middle = std::exp(square / 2);
      return (std::exp(0.5 * normal(engine)) - middle) / (middle * std::sqrt(std::exp(square) - 1));
    }
    case Shape::student_5: {
      const double z = normal(engine), w = normal(engine);
      return z / std::sqrt((2 * gamma(engine, 2) + w * w) / 5) / std::sqrt(5.0 / 3);
    }
    case Shape::exponential: return exponential(engine) - 1;
  }
  return 0;
}

double spread_of(const Cell& cell) {
  if (cell.share_above == 0) return cell.spread;
  return (k_limit - k_mean) / (std::sqrt(2.0) * boost::math::erf_inv(1 - 2 * cell.share_above));
}

/// The values of one direction in order, and where they were taken.
struct Line {
  std::vector<double> values;         // standardised
  std::vector<std::string> fields;    // or empty
  std::vector<double> across, along;  // [um], or empty
  double population_mean = 0;   // what the interval of the mean should hold
  double population_above = 0;  // true share above w + X, of a finite piece
};

class Simulation {
 public:
  Simulation(const Cell& cell, RandomEngine& engine) : cell_(cell), engine_(engine) {}

  Line line(bool warp) {
    if (!cell_.fields.empty()) {
      in_fields();
    } else if (!cell_.gaps.empty()) {
      in_gaps();
    } else {
      alone();
    }
    for (std::size_t i = 0; warp && cell_.fault && i < line_.values.size(); ++i)
      line_.values[i] += cell_.fault(static_cast<int>(i), static_cast<int>(line_.values.size()));
    for (std::size_t i = 0; warp && cell_.surface && i < line_.values.size(); ++i)
      line_.values[i] += cell_.surface(line_.across[i] / k_half - 1, line_.along[i] / k_half - 1);
    turn();
    return line_;
  }

 private:
  static constexpr double k_half = 80'000;  // half the width of the piece
  static constexpr double k_pitch = 125;

  double own() { return std::sqrt(1 - cell_.correlation) * variate(engine_, cell_.shape); }
  double common() { return std::sqrt(cell_.correlation) * normal(engine_); }
  double pitch_at_random() { return k_pitch * static_cast<double>(uniform_below(engine_, 1280)); }

  void alone() {
    const int total = cell_.finite > 0 ? static_cast<int>(cell_.n / cell_.finite) : cell_.n;
    double before = normal(engine_);
    const double r = cell_.moving_average;
    const double part = r == 0 ? 0 : (1 - std::sqrt(1 - 4 * r * r)) / (2 * r);  // of the neighbour's displacement
    for (int i = 0; i < total; ++i) {
      const double drawn = variate(engine_, cell_.shape);
      double value = drawn;
      if (r != 0) value = (drawn + part * before) / std::sqrt(1 + part * part);
      if (cell_.autoregression != 0)
        value = cell_.autoregression * before + std::sqrt(1 - cell_.autoregression * cell_.autoregression) * drawn;
      before = cell_.autoregression != 0 ? value : drawn;
      line_.values.push_back(value);
      line_.population_mean += value / total;
      line_.population_above += k_mean + spread_of(cell_) * value > k_limit ? 1.0 / total : 0.0;
      if (!cell_.placed) continue;
      line_.across.push_back(2 * k_half * uniform_unit(engine_));
      line_.along.push_back(2 * k_half * uniform_unit(engine_));
    }
    if (cell_.finite == 0) line_.population_mean = 0;
    line_.values.resize(static_cast<std::size_t>(cell_.n));
  }

  void in_gaps() {
    for (const int size : cell_.gaps) {
      const double shared = common(), place = pitch_at_random(), first = 8'000 * uniform_unit(engine_);
      for (int i = 0; i < size; ++i) {
        line_.values.push_back(shared + own());
        line_.across.push_back(place);
        line_.along.push_back(first + i * 150'000.0 / size);
      }
    }
  }

  void in_fields() {
    for (std::size_t f = 0; f < cell_.fields.size(); ++f) {
      const double shared = common(), place = pitch_at_random(), along = 2 * k_half * uniform_unit(engine_);
      for (int i = 0; i < cell_.fields[f]; ++i) {
        line_.values.push_back(shared + own());
        line_.fields.push_back("F" + std::to_string(f));
        if (cell_.gaps.empty()) continue;
        line_.across.push_back(place + k_pitch * i);
        line_.along.push_back(along);
      }
    }
  }

  void turn() {
    const double slope = std::tan(cell_.turn_degrees * std::numbers::pi / 180);
    for (std::size_t i = 0; i < line_.across.size(); ++i) line_.across[i] += slope * line_.along[i];
  }

  const Cell& cell_;
  RandomEngine& engine_;
  Line line_;
};

void add(std::vector<Reading>& readings, const Line& line, Direction direction, const Cell& cell, double spread) {
  for (std::size_t i = 0; i < line.values.size(); ++i) {
    Reading& reading = readings.emplace_back();
    reading.direction = direction;
    const double value = std::max(cell.step, std::round((k_mean + spread * line.values[i]) / cell.step) * cell.step);
    reading.aperture = round_to_length(value, Unit::micrometre).value();
    reading.line = static_cast<std::int64_t>(readings.size()) + 1;
    if (!line.fields.empty()) reading.field = line.fields[i];
    if (line.across.empty()) continue;
    const Length across = round_to_length(std::round(line.across[i]), Unit::micrometre).value();
    const Length along = round_to_length(std::round(line.along[i]), Unit::micrometre).value();
    reading.x = direction == Direction::warp ? along : across;
    reading.y = direction == Direction::warp ? across : along;
  }
}

bool holds(const Interval& interval, double value) { return interval.lower <= value && value <= interval.upper; }

void count_side(Counts& counts, const Cell& cell, const DirectionConfidence& side, const Line& line, double spread) {
  const double mean = k_mean + spread * line.population_mean, above = cell.finite > 0 ? line.population_above : cell.share_above;
  ++counts.sides;
  if (side.mean_um) {
    ++counts.mean_shown;
    counts.mean_held += holds(*side.mean_um, mean) ? 1 : 0;
    counts.mean_width += side.mean_um->upper - side.mean_um->lower;
  }
  if (side.standard_deviation_um) {
    ++counts.deviation_shown;
    counts.deviation_held += holds(*side.standard_deviation_um, spread) ? 1 : 0;
    counts.deviation_width += side.standard_deviation_um->upper - side.standard_deviation_um->lower;
  }
  if (side.share_above_bound && cell.share_above > 0) {
    ++counts.share_shown;
    counts.share_held += *side.share_above_bound >= above - 1e-12 ? 1 : 0;
  }
}

void count_signs(Counts& counts, const Weave& weave) {
  std::set<SignKind> kinds;
  for (const Sign& sign : weave.signs) {
    if (sign.flagged && sign.kind != SignKind::coarse_step) kinds.insert(sign.kind);
  }
  counts.alarms += kinds.empty() ? 0 : 1;
  for (const SignKind kind : kinds) ++counts.signs[static_cast<std::size_t>(kind)];
}

}  // namespace

Counts simulate(const Cell& cell, int pieces) {
  const Specification size = specification("astm-e11-17", "No. 200", Grade::inspection);
  Counts counts{.pieces = pieces, .signs = std::vector<int>(static_cast<std::size_t>(SignKind::coarse_step) + 1)};
  const double spread = spread_of(cell);
  for (int piece = 0; piece < pieces; ++piece) {
    RandomEngine engine(static_cast<std::uint64_t>(piece) + 1);
    std::vector<Reading> readings;
    const Line warp = Simulation(cell, engine).line(true), weft = Simulation(cell, engine).line(false);
    add(readings, warp, Direction::warp, cell, spread);
    add(readings, weft, Direction::weft, cell, spread * cell.weft_spread);
    Sample sample = make_sample(size);
    Observations observations(observation_settings(size, cell.contiguous));
    for (const Reading& reading : readings) {
      sample.add(reading).value();
      observations.add(reading);
    }
    Conditions conditions{.viewing_passed = true};
    if (cell.finite > 0) conditions.piece.apertures_in_piece = static_cast<std::int64_t>(cell.n / cell.finite);
    const Diagnosis diagnosis = diagnose(assess(size, sample, conditions).value(), observations, {.contiguous = cell.contiguous});
    count_side(counts, cell, diagnosis.confidence.warp, warp, spread);
    count_side(counts, cell, diagnosis.confidence.weft, weft, spread * cell.weft_spread);
    if (diagnosis.difference_um) {
      ++counts.difference_shown;
      const double truth = spread * (warp.population_mean - cell.weft_spread * weft.population_mean);
      counts.difference_held += holds(*diagnosis.difference_um, truth) ? 1 : 0;
    }
    count_signs(counts, diagnosis.weave);
  }
  return counts;
}

}  // namespace sievecloth::test
