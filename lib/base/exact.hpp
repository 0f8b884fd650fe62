// Integers wider than 128 bits, and the doubles nearest to exact quotients and roots.
#pragma once

#include <boost/multiprecision/cpp_int.hpp>

#include "sievecloth/length.hpp"

namespace sievecloth {

/// Checked: an overflow throws instead of wrapping. 512 bits hold every product that a verdict rests on (docs/numerics.md).
using int512 =
    boost::multiprecision::number<boost::multiprecision::cpp_int_backend<512, 512, boost::multiprecision::signed_magnitude,
                                                                         boost::multiprecision::checked, void>>;

/// The double nearest to numerator / denominator, ties to even. denominator > 0; both below 2^300 in magnitude.
double nearest_quotient(const int512& numerator, const int512& denominator);

/// The double nearest to sqrt(numerator / denominator), ties to even. numerator >= 0, denominator > 0; both below 2^300.
double nearest_root(const int512& numerator, const int512& denominator);

/// The double nearest to an exact quotient of picometres, in um.
inline double nearest_um(const int512& numerator_pm, const int512& denominator) {
  return nearest_quotient(numerator_pm, denominator * 1'000'000);
}

}  // namespace sievecloth
