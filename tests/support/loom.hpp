// A loom for tests: cloth of any pitch and spread, good or with one fault, with a generator that is the same on every platform.
#pragma once

#include <cmath>
#include <cstdint>
#include <functional>
#include <vector>

#include <boost/math/special_functions/erf.hpp>

#include "diagnosis/random.hpp"
#include "sievecloth/sample.hpp"

namespace sievecloth::test {

/// Standard normal, by inversion.
inline double normal(RandomEngine& engine) { return std::sqrt(2.0) * boost::math::erf_inv(2 * uniform_unit(engine) - 1); }

/// One direction of a cloth. Lengths in um.
struct Loom {
  double aperture = 75;
  double wire = 50;
  double misplaced = 2;  ///< standard deviation of a wire's place: neighbouring gaps share it
  double own = 2;        ///< of the gap itself
  double wire_spread = 0.8;
  double step = 0.001;  ///< of the readings
  int gaps = 110;
  int wires = 30;  ///< measured

  /// Standard deviation of the apertures.
  double spread() const { return std::sqrt(2 * misplaced * misplaced + own * own); }

  /// Gap after gap; `fault(i)` is added to the i-th aperture.
  std::vector<double> apertures(RandomEngine& engine, const std::function<double(int)>& fault = {}) const {
    std::vector<double> values;
    double before = misplaced * normal(engine);
    for (int i = 0; i < gaps; ++i) {
      const double place = misplaced * normal(engine);
      const double gap = aperture + place - before + own * normal(engine) + (fault ? fault(i) : 0);
      values.push_back(std::round(gap / step) * step);
      before = place;
    }
    return values;
  }

  /// Wire after wire, as many as are measured; `fault(i)` is added to the i-th wire.
  std::vector<double> wire_diameters(RandomEngine& engine, const std::function<double(int)>& fault = {}) const {
    std::vector<double> values;
    for (int i = 0; i < wires; ++i) {
      const double diameter = wire + wire_spread * normal(engine) + (fault ? fault(i) : 0);
      values.push_back(std::round(diameter / step) * step);
    }
    return values;
  }
};

/// Adds apertures in order, and wires beside the first of them.
inline void weave(std::vector<Reading>& readings, Direction direction, const std::vector<double>& apertures,
                  const std::vector<double>& wires) {
  for (std::size_t i = 0; i < apertures.size(); ++i) {
    Reading reading;
    reading.direction = direction;
    reading.aperture = round_to_length(apertures[i], Unit::micrometre).value();
    if (i < wires.size()) reading.wire = round_to_length(wires[i], Unit::micrometre).value();
    reading.line = static_cast<std::int64_t>(readings.size()) + 2;
    readings.push_back(reading);
  }
}

}  // namespace sievecloth::test
