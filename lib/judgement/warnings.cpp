#include "judgement/warnings.hpp"

#include <cmath>

namespace sievecloth {
namespace {

constexpr double k_near = 0.2;  // a mistaken unit or column is off by a factor; cloth is not

std::optional<double> mean_of_both_um(const Summary& warp, const Summary& weft) {
  Summary both = warp;
  both.merge(weft);
  return both.mean_um();
}

bool near(double value, double target) { return std::fabs(value - target) <= k_near * target; }

bool differs_by(double value, double target, double factor) { return near(value * factor, target) || near(value / factor, target); }

bool fits(double mean_um, const Row& row) { return row.smallest_mean().um() <= mean_um && mean_um <= row.largest_mean().um(); }

}  // namespace

std::vector<Warning> find_warnings(const Specification& specification, const Sample& sample) {
  const Row& row = *specification.row;
  const DirectionSample& warp = sample[Direction::warp];
  const DirectionSample& weft = sample[Direction::weft];
  const std::optional<double> aperture = mean_of_both_um(warp.aperture, weft.aperture);
  const std::optional<double> wire = mean_of_both_um(warp.wire, weft.wire);
  if (!aperture || fits(*aperture, row)) return {};
  const double nominal = row.nominal.um();
  if (wire && near(*aperture, row.wire.preferred.value.um()) && near(*wire, nominal))
    return {{Warning::Kind::looks_swapped, nullptr}};
  if (differs_by(*aperture, nominal, 1000)) return {{Warning::Kind::looks_like_thousand, nullptr}};
  if (differs_by(*aperture, nominal, 25.4)) return {{Warning::Kind::looks_like_inches, nullptr}};
  for (const Row& other : specification.edition->rows) {
    if (fits(*aperture, other)) return {{Warning::Kind::fits_other_size, &other}};
  }
  return {};
}

}  // namespace sievecloth
