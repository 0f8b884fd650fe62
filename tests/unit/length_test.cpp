#include "sievecloth/length.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace sievecloth {
namespace {

std::int64_t pm(std::string_view text, Unit unit, DecimalMark mark = DecimalMark::point) {
  const Result<Length> length = parse_length(text, unit, mark);
  EXPECT_TRUE(length.ok()) << text;
  return length.ok() ? length->pm() : -1;
}

ErrorCode code(std::string_view text, Unit unit, DecimalMark mark = DecimalMark::point) {
  const Result<Length> length = parse_length(text, unit, mark);
  EXPECT_FALSE(length.ok()) << text;
  return length.ok() ? ErrorCode::internal : length.error().code;
}

TEST(Length, InchIsExact) {
  // source: international yard and pound agreement of 1959, 1 in = 25.4 mm; NIST SP 811 B.8
  EXPECT_EQ(pm("1", Unit::inch), 25'400'000'000);
  EXPECT_EQ(pm("0.0029", Unit::inch), 73'660'000);
  EXPECT_EQ(pm("25.4", Unit::millimetre), pm("1", Unit::inch));
}

TEST(Length, DecimalsAreReadExactly) {
  // identity: decimal places are powers of ten; 0.1 and 75.3 have no double, but a picometre count
  EXPECT_EQ(pm("75.3", Unit::micrometre), 75'300'000);
  EXPECT_EQ(pm("0.1", Unit::micrometre), 100'000);
  EXPECT_EQ(pm("0075.310000", Unit::micrometre), 75'310'000);
  EXPECT_EQ(pm("-0.5", Unit::millimetre), -500'000'000);
  EXPECT_EQ(pm("75,31", Unit::micrometre, DecimalMark::comma), 75'310'000);
}

TEST(Length, FinestDecimal) {
  // boundary: one picometre is read, a tenth of it is not, trailing zeros are
  EXPECT_EQ(pm("0.000001", Unit::micrometre), 1);
  EXPECT_EQ(pm("0.000000001", Unit::millimetre), 1);
  EXPECT_EQ(code("0.0000001", Unit::micrometre), ErrorCode::too_fine);
  EXPECT_EQ(code("75.0000000000001", Unit::micrometre), ErrorCode::too_fine);
  EXPECT_EQ(pm("75.00000000000000000000000000000000000000000000", Unit::micrometre), 75'000'000);
  EXPECT_EQ(pm("0.000000005", Unit::inch), 127);
  EXPECT_EQ(code("0.000000001", Unit::inch), ErrorCode::too_fine);
}

TEST(Length, LongestLength) {
  // boundary: 10 km on either side
  EXPECT_EQ(pm("10000000", Unit::millimetre), k_longest.pm());
  EXPECT_EQ(pm("-10000000", Unit::millimetre), -k_longest.pm());
  EXPECT_EQ(code("10000000.000000001", Unit::millimetre), ErrorCode::too_large);
  EXPECT_EQ(code(std::string(400, '9'), Unit::micrometre), ErrorCode::too_large);
  EXPECT_EQ(code("99999999999999.999999999999999", Unit::inch), ErrorCode::too_fine);
}

TEST(Length, OnlyPlainDigits) {
  // identity: any text that could be read as two different numbers is refused
  for (const char* text : {"",   "-",  ".",     "-.",      "5.",      "+5",  "1e5", "1E5",      "0x10", "nan",  "inf",
                           " 5", "5 ", "1 000", "1,234.5", "1.234.5", "--5", "5-",  "\xC2\xBD", "5um",  "1_000"}) {
    EXPECT_EQ(code(text, Unit::micrometre), ErrorCode::malformed_number) << text;
  }
  EXPECT_EQ(code("1.5", Unit::micrometre, DecimalMark::comma), ErrorCode::malformed_number);
  EXPECT_EQ(code("1,234,5", Unit::micrometre, DecimalMark::comma), ErrorCode::malformed_number);
}

TEST(Length, NoDigitBeforeTheMark) {
  // identity: `.00307` in. is 0.00307 in., 77.978 um; a mark alone is no number
  EXPECT_EQ(parse_length(".00307", Unit::inch).value().pm(), 77'978'000);
  EXPECT_EQ(parse_length("-.5", Unit::micrometre).value().pm(), -500'000);
  EXPECT_EQ(parse_length(",5", Unit::millimetre, DecimalMark::comma).value().pm(), 500'000'000);
  EXPECT_EQ(code("..5", Unit::micrometre), ErrorCode::malformed_number);
}

TEST(Length, DoublesRoundToTheNearestPicometre) {
  // boundary: exact halves go to even; values one ulp off a half go to their own side
  const auto rounded = [](double value, Unit unit) { return round_to_length(value, unit).value().pm(); };
  EXPECT_EQ(rounded(75.3, Unit::micrometre), 75'300'000);
  EXPECT_EQ(rounded(0.5e-6, Unit::micrometre), 0);  // 0.5e-6 lies below one half picometre by less than a double can show
  EXPECT_EQ(rounded(std::ldexp(1.0, -7), Unit::micrometre), 7812);   // 7812.5 pm
  EXPECT_EQ(rounded(std::ldexp(3.0, -7), Unit::micrometre), 23438);  // 23437.5 pm
  EXPECT_EQ(rounded(-std::ldexp(1.0, -7), Unit::micrometre), -7812);
  EXPECT_EQ(rounded(std::nextafter(std::ldexp(1.0, -7), 1.0), Unit::micrometre), 7813);
  EXPECT_EQ(rounded(std::nextafter(std::ldexp(3.0, -7), 0.0), Unit::micrometre), 23437);
}

TEST(Length, DoublesThatAreNoLengths) {
  // boundary: not finite, and just beyond 10 km
  EXPECT_EQ(round_to_length(std::numeric_limits<double>::quiet_NaN(), Unit::millimetre).error().code, ErrorCode::malformed_number);
  EXPECT_EQ(round_to_length(std::numeric_limits<double>::infinity(), Unit::millimetre).error().code, ErrorCode::malformed_number);
  EXPECT_EQ(round_to_length(std::nextafter(1e7, 2e7), Unit::millimetre).error().code, ErrorCode::too_large);
  EXPECT_TRUE(round_to_length(-1e7, Unit::millimetre).ok());
}

TEST(Length, TextGivesTheSameLengthBack) {
  // property: to_text then parse_length is the identity in um and mm
  for (const std::int64_t value : {0L, 1L, -1L, 999'999L, 1'000'000L, 75'310'000L, -4'750'000'001L, 9'999'999'999'999'999L}) {
    for (const Unit unit : {Unit::micrometre, Unit::millimetre}) {
      const Length length = Length::from_pm(value);
      EXPECT_EQ(pm(to_text(length, unit), unit), value);
    }
  }
}

TEST(Length, DesignationUnits) {
  // source: ISO 3310-1 and ASTM E11 print micrometres below 1 mm and millimetres from there
  EXPECT_EQ(to_text(Length::of(75, Unit::micrometre)), "75 \u00b5m");
  EXPECT_EQ(to_text(Length::of(999, Unit::micrometre)), "999 \u00b5m");
  EXPECT_EQ(to_text(Length::of(1, Unit::millimetre)), "1 mm");
  EXPECT_EQ(to_text(Length::of(4750, Unit::micrometre)), "4.75 mm");
}

}  // namespace
}  // namespace sievecloth
