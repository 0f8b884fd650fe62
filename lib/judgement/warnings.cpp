#include "judgement/warnings.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "judgement/predicates.hpp"

namespace sievecloth {
namespace {

constexpr double k_near = 0.2;         // a mistaken unit or column is off by a factor, cloth is not
constexpr std::int64_t k_enough = 10;  // fewer readings may show a pattern by chance

bool near(double value, double target) { return std::fabs(value - target) <= k_near * target; }

bool differs_by(double value, double target, double factor) { return near(value * factor, target) || near(value / factor, target); }

bool fits(double mean_um, const Row& row) { return row.smallest_mean().um() <= mean_um && mean_um <= row.largest_mean().um(); }

// The mistake that the means of one direction suggest, the most likely first.
std::optional<Warning> find_mistake(const Specification& specification, const DirectionSample& side) {
  const Row& row = *specification.row;
  const std::optional<double> aperture = side.aperture.mean_um();
  const std::optional<double> wire = side.wire.mean_um();
  if (!aperture || fits(*aperture, row)) return std::nullopt;
  const double nominal = row.nominal.um();
  if (wire && near(*aperture, row.wire.preferred.value.um()) && near(*wire, nominal)) return Warning{Warning::Kind::looks_swapped};
  if (differs_by(*aperture, nominal, 1000)) return Warning{Warning::Kind::looks_like_thousand};
  if (differs_by(*aperture, nominal, 25.4)) return Warning{Warning::Kind::looks_like_inches};
  for (const Row& other : specification.edition->rows) {
    if (fits(*aperture, other)) return Warning{.kind = Warning::Kind::fits_other_size, .row = &other};
  }
  return std::nullopt;
}

// The same mistake in both directions is reported once.
void add_mistakes(const Specification& specification, const Sample& sample, std::vector<Warning>& warnings) {
  const std::optional<Warning> warp = find_mistake(specification, sample[Direction::warp]);
  const std::optional<Warning> weft = find_mistake(specification, sample[Direction::weft]);
  if (warp && weft && warp->kind == weft->kind && warp->row == weft->row) {
    warnings.push_back(*warp);
    return;
  }
  for (const auto& [mistake, direction] : {std::pair(warp, Direction::warp), std::pair(weft, Direction::weft)}) {
    if (!mistake) continue;
    warnings.push_back(*mistake);
    warnings.back().direction = direction;
  }
}

bool has_no_spread(const Summary& aperture) { return aperture.count() >= k_enough && aperture.minimum() == aperture.maximum(); }

// The same number of readings with the same sum, squares, extremes and counts: by chance in about one of a thousand pieces read in
// steps as wide as their spread, and hardly ever in others.
bool hold_the_same_readings(const Summary& warp, const Summary& weft) {
  return warp.count() >= k_enough && warp.minimum() != warp.maximum() && warp.figures() == weft.figures();
}

// Test sieves have frames from 75 mm or 3 in. to 450 mm or 18 in. (common practice); others are rare, and usually typing errors.
bool is_unusual(const Frame& frame) { return frame.size < k_smallest_frame || frame.size > Length::of(500, Unit::millimetre); }

// If an edition requires a resolution, its rule decides; this applies the same measure to the others.
std::optional<Length> coarse_step(const Specification& specification, const Summary& aperture) {
  const std::optional<Length> step = aperture.common_step();
  const bool is_coarse =
      step && coarser_than(*step, Length::of(1, Unit::micrometre), specification.row->average_tolerance.value, 4);
  return is_coarse && !specification.edition->rules.resolution ? step : std::nullopt;
}

// One reading in another unit moves the mean little and the largest not at all where it became too small.
std::optional<Length> far_off(const Summary& readings, Length expected) {
  constexpr int k_far = 10;
  if (readings.count() == 0) return std::nullopt;
  if (readings.minimum().pm() < expected.pm() / k_far) return readings.minimum();
  if (readings.maximum().pm() / k_far > expected.pm()) return readings.maximum();
  return std::nullopt;
}

void add_far_off(const Row& row, const Sample& sample, std::vector<Warning>& warnings) {
  for (const Direction direction : k_directions) {
    const DirectionSample& side = sample[direction];
    for (const auto& [readings, expected] : {std::pair(&side.aperture, row.nominal), std::pair(&side.suspect, row.nominal),
                                             std::pair(&side.wire, row.wire.preferred.value)}) {
      if (const std::optional<Length> reading = far_off(*readings, expected))
        warnings.push_back({.kind = Warning::Kind::reading_far_off, .direction = direction, .reading = *reading});
    }
  }
}

// A whole direction in the wrong unit, size or column is reported as such.
bool is_mistake(const Warning& warning) {
  return warning.kind == Warning::Kind::fits_other_size || warning.kind == Warning::Kind::looks_like_inches ||
         warning.kind == Warning::Kind::looks_like_thousand || warning.kind == Warning::Kind::looks_swapped;
}

}  // namespace

std::vector<Warning> find_warnings(const Specification& specification, const Sample& sample, const Piece& piece) {
  std::vector<Warning> warnings;
  if (!specification.edition->implausible_values_of(*specification.row).empty())
    warnings.push_back({.kind = Warning::Kind::table_implausible});
  if (piece.frame && is_unusual(*piece.frame)) warnings.push_back({.kind = Warning::Kind::unusual_frame});
  add_mistakes(specification, sample, warnings);
  if (std::none_of(warnings.begin(), warnings.end(), is_mistake)) add_far_off(*specification.row, sample, warnings);
  for (const Direction direction : k_directions) {
    const Summary& aperture = sample[direction].aperture;
    if (has_no_spread(aperture)) warnings.push_back({.kind = Warning::Kind::no_spread, .direction = direction});
    if (const std::optional<Length> step = coarse_step(specification, aperture))
      warnings.push_back({.kind = Warning::Kind::coarse_step, .direction = direction, .step = *step});
  }
  if (hold_the_same_readings(sample[Direction::warp].aperture, sample[Direction::weft].aperture))
    warnings.push_back({.kind = Warning::Kind::same_in_both_directions});
  return warnings;
}

}  // namespace sievecloth
