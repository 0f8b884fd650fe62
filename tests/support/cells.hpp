// Simulated pieces for the statistics beside the verdict: one factor is varied at a time around a base case. What is true of a cell
// is known, so that the coverage of intervals and bounds, false alarms and power can be counted.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "sievecloth/diagnosis.hpp"

namespace sievecloth::test {

enum class Shape : std::uint8_t { normal, gamma_16, gamma_4, lognormal, student_5, exponential };

/// How the readings of one direction arise, in um.
struct Cell {
  std::string group;  ///< cells of one group share a row of the table
  std::string name;
  Shape shape = Shape::normal;
  int n = 110;                ///< without groups
  std::vector<int> fields;    ///< readings in each field; empty: no fields
  std::vector<int> gaps;      ///< readings in each gap at a random place; empty: no positions; in fields: neighbouring gaps
  double correlation = 0;     ///< of the readings of one group
  double moving_average = 0;  ///< lag-1 correlation of neighbours, -0.5 to 0.5
  double autoregression = 0;  ///< lag-1 correlation of neighbours
  double step = 0.01;
  double turn_degrees = 0;
  bool contiguous = false;
  double spread = 3.5;                            ///< standard deviation [um]
  double share_above = 0;                         ///< true share above w + X, to which the spread is set
  double finite = 0;                              ///< share of the piece that is measured, at random
  std::function<double(int, int)> fault;          ///< added to reading i of n, parallel to the warp, in standard deviations
  double weft_spread = 1;                         ///< standard deviation parallel to the weft, relative
  bool placed = false;                            ///< readings at random positions
  std::function<double(double, double)> surface;  ///< added at a position from -1 to 1, in standard deviations
};

/// What was counted over the pieces of a cell. Both directions count.
struct Counts {
  int pieces = 0;
  int sides = 0;
  int mean_shown = 0, mean_held = 0;
  int deviation_shown = 0, deviation_held = 0;
  int share_shown = 0, share_held = 0;
  int difference_shown = 0, difference_held = 0;
  int alarms = 0;          ///< pieces with any sign
  std::vector<int> signs;  ///< pieces with a sign of each kind
  double mean_width = 0, deviation_width = 0;
};

/// Simulates `pieces` pieces of a cell from fixed seeds.
Counts simulate(const Cell& cell, int pieces);

}  // namespace sievecloth::test
