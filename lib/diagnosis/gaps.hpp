// The readings of one quantity in one direction, and which of them lie in the same gap or field.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "sievecloth/weave.hpp"

namespace sievecloth {

enum class Grouping : std::uint8_t { none, gap, field };

/// In the order of the readings; positions are empty unless every reading has one.
struct Gathered {
  std::vector<double> values;  ///< [um]
  std::vector<double> x;       ///< [um]
  std::vector<double> y;       ///< [um]
  std::vector<std::int64_t> lines;
  Length step;  ///< greatest common divisor of the readings
  Grouping grouping = Grouping::none;
  std::vector<std::int32_t> group;  ///< of each value, from 0; gaps in the order in which they lie
};

/// Suspects stay out. By gap where every reading has a position, else by field where every reading has one, else not at all.
Gathered gather(std::span<const Reading> readings, Direction direction, ClothQuantity quantity, Length pitch);

/// One value for each gap: the mean of its readings and of their places. For fields likewise, without places, where the readings of
/// a field are alike and were not declared contiguous. Anything else stays as it is.
struct Units {
  std::vector<double> values;
  std::vector<double> first;        ///< the first reading of each: unlike a mean it stands on the steps of the readings
  std::vector<std::int64_t> lines;  ///< of those first readings
  std::vector<double> x;
  std::vector<double> y;
  bool neighbours = false;  ///< each gap is the next one to the gap before
};
Units units_of(const Gathered& gathered, Direction direction, Length pitch, bool contiguous);

}  // namespace sievecloth
