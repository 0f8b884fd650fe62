// Finds the gap between two wires in which a position lies.
#pragma once

#include <cstdint>
#include <span>

#include "diagnosis/number_map.hpp"

namespace sievecloth {

/// A position [um]: across the wires that bound the gaps, and along them.
struct Place {
  double across = 0;
  double along = 0;
};

/// Numbers gaps in the order in which they appear. Places less than half a pitch from the first one of a gap are in that gap, after
/// the wires' turn against the axes has been taken out.
class GapFinder {
 public:
  /// Estimates the turn from the first places.
  GapFinder(double pitch_um, std::span<const Place> first);

  double turn_degrees() const noexcept;
  /// Distance of a place across the wires [um].
  double across(const Place& place) const noexcept { return place.across - slope_ * place.along; }
  /// Number of its gap, from 0.
  std::int32_t gap_of(const Place& place);

 private:
  struct Gap {
    double begin = 0;
    std::int32_t number = 0;
  };

  double half_pitch_;
  double slope_ = 0;
  NumberMap<Gap> gaps_;  // by half pitches; no two gaps begin within the same one
  Gap last_{0, -1};      // readings of one gap often follow each other
};

}  // namespace sievecloth
