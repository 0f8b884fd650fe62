// The readings of one quantity in one direction, grouped by gap or field.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "sievecloth/weave.hpp"

namespace sievecloth {

enum class Grouping : std::uint8_t { none, gap, field };

/// Values in the order of the readings; positions are empty unless every reading has one.
struct Gathered {
  std::vector<double> values;  ///< [um]
  std::vector<double> x;       ///< [um]
  std::vector<double> y;       ///< [um]
  std::vector<std::int64_t> lines;
  Length step;  ///< greatest common divisor of the readings
  Grouping grouping = Grouping::none;
  std::vector<std::int32_t> group;  ///< of each value, from 0; gaps in order of position
};

/// Excludes suspects. Groups by gap if every reading has a position, else by field if every reading has one, else not at all.
Gathered gather(std::span<const Reading> readings, Direction direction, ClothQuantity quantity, Length pitch);

/// One value per gap: the means of its readings and positions. Likewise per field, without positions, if the readings of a field
/// are alike and were not declared contiguous. Otherwise every reading is a unit.
struct Units {
  std::vector<double> values;
  std::vector<double> first;        ///< the first reading of each unit: unlike a mean it is a multiple of the step
  std::vector<std::int64_t> lines;  ///< of those first readings
  std::vector<double> x;
  std::vector<double> y;
  bool neighbours = false;  ///< every gap is adjacent to the one before
};
Units units_of(const Gathered& gathered, Direction direction, Length pitch, bool contiguous);

}  // namespace sievecloth
