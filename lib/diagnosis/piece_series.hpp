// The observations of both quantities in both directions.
#pragma once

#include "sievecloth/observations.hpp"
#include "sievecloth/weave.hpp"

namespace sievecloth {

struct PieceSeries {
  PerDirection<SeriesObservations> apertures, wires;

  explicit PieceSeries(const Observations& observations) {
    for (const Direction direction : k_directions) {
      apertures[direction] = observations.series(ClothQuantity::aperture, direction);
      wires[direction] = observations.series(ClothQuantity::wire, direction);
    }
  }

  const SeriesObservations& of(ClothQuantity quantity, Direction direction) const noexcept {
    return (quantity == ClothQuantity::aperture ? apertures : wires)[direction];
  }
};

/// As the public function, on what was gathered already.
Weave find_signs(const PieceSeries& piece, const WeaveConditions& conditions);

}  // namespace sievecloth
