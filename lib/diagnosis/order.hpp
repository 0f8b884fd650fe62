// Tests of values in their order on the cloth.
#pragma once

#include <cstdint>
#include <optional>
#include <span>

#include "diagnosis/shape.hpp"

namespace sievecloth {

/// How neighbouring values of good cloth hang together. Neighbouring gaps share a wire: if it is displaced, one gap grows by what
/// the other loses, and the lag-1 correlation r is negative, down to -0.5 (a moving average of order one). Where it is positive,
/// values follow their neighbours (an autoregression of order one).
struct NoiseModel {
  double r = 0;  ///< lag-1 correlation, fitted by Whittle's likelihood without slow changes and the alternation
  double n = 1;  ///< values

  /// Expected height of the periodogram at a frequency [radians per value], relative to that of independent values.
  double height(double frequency) const;
  /// True if slow changes cannot be told from chance: r is above 0.3, or above less if fewer than 110 values show it less well.
  bool is_strong() const;
  /// How much wider a slow change varies by chance than with independent values, as a variance; at least 1.
  double slow_variance() const;
};

struct OrderTests {
  double lag1_correlation = 0;  ///< as measured
  NoiseModel noise;

  /// Alternating wide and narrow: the periodogram at half a cycle per gap over the mean of the rest, as F.
  TestResult alternation;
  double alternation_amplitude = 0;  ///< half the difference between wide and narrow

  /// Bars of at least three cycles: the greatest share of one frequency (Fisher's g), or of one with its overtones.
  TestResult periodic;
  double period = 0;              ///< in gaps
  double periodic_amplitude = 0;  ///< half the height of the wave; 0 if a slower change is larger

  /// One or two cycles beside a straight line, as F.
  TestResult slow_wave;
  double slow_amplitude = 0;  ///< of the larger one

  /// The greatest difference of two neighbours, as Student's t.
  TestResult displaced;
  std::size_t displaced_at = 0;  ///< index of the first of the two
  double displaced_by = 0;       ///< half their difference; 0 unless one is wide and the other narrow
};

inline constexpr std::size_t k_fewest_in_order = 16;

/// Empty below `k_fewest_in_order` values or without a spread. Memory and time: one Fourier transform.
std::optional<OrderTests> order_tests(std::span<const double> values, double level);

/// A surface fitted to values at positions: a plane (or a line, if only one coordinate varies), or what is curved beside it.
struct Trend {
  TestResult test;  ///< F
  double slope_x = 0;
  double slope_y = 0;
  double range = 0;  ///< of the fitted change: greatest less smallest
};
/// A plane against the mean. `inflation`: variance of a slow change relative to independent values, 1 or more. Empty below 6
/// values, if no coordinate varies, or without a spread. `y` may be empty.
std::optional<Trend> drift(std::span<const double> values, std::span<const double> x, std::span<const double> y, double level,
                           double inflation);
/// Squares and products of the coordinates against the plane. Empty below 12 values, and as above.
std::optional<Trend> curvature(std::span<const double> values, std::span<const double> x, std::span<const double> y, double level,
                               double inflation);

}  // namespace sievecloth
