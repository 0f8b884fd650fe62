#include "base/exact.hpp"

#include <cmath>
#include <cstdint>

namespace sievecloth {
namespace {

using boost::multiprecision::msb;

// 64 bits plus a sticky last bit round to 53 bits as the exact value would.
double round_with_sticky(std::uint64_t bits, bool inexact, int exponent) {
  if (inexact) bits |= 1;
  return std::ldexp(static_cast<double>(bits), exponent);
}

int bit_length(const int512& value) { return value.is_zero() ? 0 : static_cast<int>(msb(value)) + 1; }

int512 scaled(const int512& value, int shift) { return shift >= 0 ? int512(value << shift) : int512(value >> -shift); }

}  // namespace

double nearest_quotient(const int512& numerator, const int512& denominator) {
  if (numerator.is_zero()) return 0;
  if (numerator < 0) return -nearest_quotient(-numerator, denominator);
  // A quotient of 63 or 64 bits: scale whichever side needs it, so that nothing is lost before the division.
  const int shift = 63 - (bit_length(numerator) - bit_length(denominator));
  const int512 top = shift > 0 ? scaled(numerator, shift) : numerator;
  const int512 bottom = shift < 0 ? scaled(denominator, -shift) : denominator;
  const int512 quotient = top / bottom;
  return round_with_sticky(quotient.convert_to<std::uint64_t>(), quotient * bottom != top, -shift);
}

double nearest_root(const int512& numerator, const int512& denominator) {
  if (numerator.is_zero()) return 0;
  // floor(sqrt(q * 4^k)) of 62 or 63 bits, q scaled by an even power of two.
  int shift = 124 - (bit_length(numerator) - bit_length(denominator));
  if (shift % 2 != 0) --shift;
  const int512 top = shift > 0 ? scaled(numerator, shift) : numerator;
  const int512 bottom = shift < 0 ? scaled(denominator, -shift) : denominator;
  const int512 quotient = top / bottom;
  const auto narrow = quotient.convert_to<boost::multiprecision::uint128_t>();  // the root of a 512-bit number is slow
  boost::multiprecision::uint128_t rest;
  const auto root = boost::multiprecision::sqrt(narrow, rest).convert_to<std::uint64_t>();
  return round_with_sticky(root, !rest.is_zero() || quotient * bottom != top, -shift / 2);
}

}  // namespace sievecloth
