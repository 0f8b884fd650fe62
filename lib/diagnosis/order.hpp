// Tests of readings in their order on the cloth.
#pragma once

#include <cstdint>
#include <optional>
#include <span>

#include "diagnosis/shape.hpp"

namespace sievecloth {

/// Neighbouring gaps share a wire: if that wire is displaced, one gap grows by what the other loses. Good cloth is then a moving
/// average of order one with a lag-1 correlation r from -0.5 (displaced wires alone) to 0 (independent gaps). The tests fit r and
/// compare the periodogram with its expectation under that model, 1 + 2 r (1 - 1/n) cos w.
struct OrderTests {
  double lag1_correlation = 0;   ///< as measured
  double model_correlation = 0;  ///< r, fitted by Whittle's likelihood without slow changes and the alternation

  /// Alternating wide and narrow: the periodogram at half a cycle per gap over the mean of the rest, as F.
  TestResult alternation;
  double alternation_amplitude = 0;  ///< half the difference between wide and narrow

  /// Bars: the greatest share of one frequency in the whole (Fisher's g), among those with at least three cycles.
  TestResult periodic;
  double period = 0;              ///< in gaps
  double periodic_amplitude = 0;  ///< half the height of the wave; 0 if a slower change is larger
};

inline constexpr std::size_t k_fewest_in_order = 16;

/// Empty below `k_fewest_in_order` values or without a spread. Memory and time: one Fourier transform.
std::optional<OrderTests> order_tests(std::span<const double> values, double level);

/// A plane (or a line, if only one coordinate varies) fitted to values at positions.
struct Drift {
  TestResult test;  ///< F, the plane against the mean
  double slope_x = 0;
  double slope_y = 0;
  double range = 0;  ///< greatest fitted value less the smallest
};
/// Empty below 6 values, if no coordinate varies, or without a spread. `y` may be empty.
std::optional<Drift> drift(std::span<const double> values, std::span<const double> x, std::span<const double> y, double level);

}  // namespace sievecloth
