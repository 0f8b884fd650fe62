#include "base/exact.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace sievecloth {
namespace {

int512 power_of_two(unsigned exponent) { return int512(1) << exponent; }

TEST(NearestQuotient, SmallFractions) {
  // identity: IEEE 754 division of two exact doubles is correctly rounded, so it must give the same double
  for (int numerator = -50; numerator <= 50; ++numerator) {
    for (int denominator = 1; denominator <= 50; ++denominator) {
      EXPECT_EQ(nearest_quotient(numerator, denominator), static_cast<double>(numerator) / denominator);
    }
  }
}

TEST(NearestQuotient, TiesGoToEven) {
  // boundary: 2^53 + 1 lies between two doubles; the tie goes to the even one, a value just beside it to its own side
  const int512 tie = power_of_two(53) + 1;
  EXPECT_EQ(nearest_quotient(tie, 1), 9007199254740992.0);
  EXPECT_EQ(nearest_quotient(tie + 2, 1), 9007199254740996.0);
  EXPECT_EQ(nearest_quotient(tie * power_of_two(200) + 1, power_of_two(200)), 9007199254740994.0);
  EXPECT_EQ(nearest_quotient(tie * power_of_two(200) - 1, power_of_two(200)), 9007199254740992.0);
  EXPECT_EQ(nearest_quotient(-tie, 1), -9007199254740992.0);
}

TEST(NearestRoot, PerfectSquaresAreExact) {
  // identity: the root of a square, and of the square of a quotient
  EXPECT_EQ(nearest_root(0, 7), 0.0);
  for (int value = 1; value < 2000; ++value) EXPECT_EQ(nearest_root(int512(value) * value, 16), value / 4.0);
  EXPECT_EQ(nearest_root(power_of_two(280), 1), std::ldexp(1.0, 140));
}

TEST(NearestRoot, AgreesWithIeee) {
  // identity: IEEE 754 sqrt is correctly rounded for integers representable as doubles
  for (std::int64_t value = 1; value < 1'000'000'000'000; value = value * 7 / 3 + 1) {
    EXPECT_EQ(nearest_root(value, 1), std::sqrt(static_cast<double>(value)));
  }
}

TEST(NearestRoot, BesideATie) {
  // boundary: (2^53 + 1)^2 / 4 has the root 2^52 + 1/2, which is representable; an odd 54-bit root is a tie
  const int512 root = power_of_two(54) + 2;  // between 2^54 and 2^54 + 4: a tie
  EXPECT_EQ(nearest_root(root * root, 1), std::ldexp(1.0, 54));
  EXPECT_EQ(nearest_root(root * root + 1, 1), std::ldexp(1.0, 54) + 4);
  EXPECT_EQ(nearest_root(root * root - 1, 1), std::ldexp(1.0, 54));
}

TEST(Int512, OverflowIsCaught) {
  // boundary: the type must throw rather than wrap, since a wrapped product could pass a limit
  const int512 large = power_of_two(400);
  EXPECT_THROW(static_cast<void>(int512(large * large)), std::overflow_error);
}

}  // namespace
}  // namespace sievecloth
