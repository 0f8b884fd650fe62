// Readings in memory, many at a time: bit-identical to one by one.
#include <gtest/gtest.h>

#include <initializer_list>

#include <array>
#include <cmath>
#include <cstdlib>
#include <limits>
#include <random>
#include <span>
#include <string_view>
#include <utility>
#include <vector>

#include "measurement/vectorised.hpp"
#include "sievecloth/summary.hpp"
#include "support/outcome.hpp"

namespace sievecloth {
namespace {

constexpr Length um(std::int64_t count) { return Length::of(count, Unit::micrometre); }
const Thresholds k_thresholds{um(75), um(91), um(103)};

Summary one_by_one(const std::vector<double>& readings_um, const Thresholds& thresholds) {
  Summary summary(thresholds);
  for (const double reading : readings_um) summary.add(round_to_length(reading, Unit::micrometre).value()).value();
  return summary;
}

Summary one_by_one(const std::vector<std::int32_t>& readings, Length quantum, const Thresholds& thresholds) {
  Summary summary(thresholds);
  for (const std::int32_t reading : readings) summary.add(Length::from_pm(reading * quantum.pm())).value();
  return summary;
}

Summary one_by_one(const std::vector<Length>& readings, const Thresholds& thresholds) {
  Summary summary(thresholds);
  for (const Length reading : readings) summary.add(reading).value();
  return summary;
}

void expect_same(const std::vector<Length>& readings, const Thresholds& thresholds) {
  Summary summary(thresholds);
  ASSERT_TRUE(summary.add(readings));
  ASSERT_EQ(summary, one_by_one(readings, thresholds));
}

void expect_same(const std::vector<double>& readings_um, const Thresholds& thresholds) {
  Summary summary(thresholds);
  ASSERT_TRUE(summary.add_um(readings_um));
  ASSERT_EQ(summary, one_by_one(readings_um, thresholds));
}

void expect_same(const std::vector<std::int32_t>& readings, Length quantum, const Thresholds& thresholds) {
  Summary summary(thresholds);
  ASSERT_TRUE(summary.add_quanta(readings, quantum));
  ASSERT_EQ(summary, one_by_one(readings, quantum, thresholds));
}

// Thresholds of every kind: on a reading, between readings, out of reach, none.
Thresholds any_thresholds(std::mt19937_64& random, std::int64_t around_pm) {
  const auto near = [&] { return Length::from_pm(around_pm + static_cast<std::int64_t>(random() % 2'000'001) - 1'000'000); };
  Thresholds thresholds{near(), near(), near()};
  if (random() % 4 == 0) thresholds.intermediate.reset();
  if (random() % 4 == 0) thresholds.largest.reset();
  if (random() % 8 == 0) thresholds.nominal = Length();
  if (random() % 8 == 0) thresholds.largest = Length::from_pm(-1);
  if (random() % 8 == 0) thresholds.largest = k_longest;
  return thresholds;
}

TEST(SummarySpans, QuantaAreTheSameAsOneByOne) {
  // property: any values, quanta, thresholds and lengths around a block give the same summary as one by one
  std::mt19937_64 random(20261125);
  for (int round = 0; round < 2'000; ++round) {
    const Length quantum =
        Length::from_pm(std::array<std::int64_t, 7>{1, 3, 1'000, 10'000, 254'000, 1'000'000, 1'000'000'000}[random() % 7]);
    const std::int64_t most = std::min<std::int64_t>(INT32_MAX, k_longest_reading.pm() / quantum.pm());
    const std::int64_t centre = 1 + static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(most));
    const std::int64_t width = std::array<std::int64_t, 4>{1, 2, 1'000, most}[random() % 4];
    std::vector<std::int32_t> readings(random() % 3 == 0 ? random() % 5 : random() % 3'000);
    const std::int64_t step = std::array<std::int64_t, 3>{1, 1, 5}[random() % 3];
    for (std::int32_t& reading : readings) {
      const std::int64_t value = centre + static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(width)) * step;
      reading = static_cast<std::int32_t>(std::min(value, most));
    }
    expect_same(readings, quantum, any_thresholds(random, centre * quantum.pm()));
  }
}

TEST(SummarySpans, DoublesAreTheSameAsOneByOne) {
  // property: decimals, arbitrary doubles and picometres, near nominal and far from it, give the same summary as one by one
  std::mt19937_64 random(20261126);
  for (int round = 0; round < 2'000; ++round) {
    const double centre = std::array{20.0, 75.0, 4750.0, 125'000.0, 9e7}[random() % 5];
    const double scale = std::array{1.0, 10.0, 100.0, 1e6, 3.7e5}[random() % 5];
    std::vector<double> readings(random() % 3'000);
    for (double& reading : readings)
      reading = std::round(centre * (0.8 + 0.3 * static_cast<double>(random() % 1'000'000) / 1e6) * scale) / scale;
    expect_same(readings, any_thresholds(random, static_cast<std::int64_t>(centre) * 1'000'000));
  }
}

TEST(SummarySpans, LengthsAreTheSameAsOneByOne) {
  // property: lengths near nominal and far from it, with a common step and without, give the same summary as one by one
  std::mt19937_64 random(20261129);
  for (int round = 0; round < 2'000; ++round) {
    const std::int64_t centre = std::array<std::int64_t, 4>{20, 75, 4'750, 125'000}[random() % 4] * 1'000'000;
    const std::int64_t width = std::array<std::int64_t, 5>{1, 2, 5'000, 3'000'000, centre - 1}[random() % 5];
    const std::int64_t step = std::array<std::int64_t, 3>{1, 5'000'000, 5'000'000}[random() % 3];
    std::vector<Length> readings(random() % 3 == 0 ? random() % 5 : random() % 3'000);
    for (Length& reading : readings) {
      const std::int64_t pm = centre + static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(2 * width)) - width;
      reading = Length::from_pm(pm / step * step + step);
    }
    expect_same(readings, any_thresholds(random, centre));
  }
}

TEST(SummarySpans, TiesRoundAsTheyDoSingly) {
  // boundary: half picometres, exact ones and those that only the rounded product produces
  std::vector<double> readings;
  for (int i = 0; i < 3'000; ++i) readings.push_back(64.0 + i * 0.0000005);
  for (int i = 0; i < 3'000; ++i) readings.push_back(std::ldexp(1.0, -10) * (4096 + i) / 64);
  expect_same(readings, k_thresholds);
}

TEST(SummarySpans, DeviationsThatDoNotFitIntoTheirWord) {
  // boundary: 2^31 - 1 pm and one more, above and below a nominal size that is far larger
  const Thresholds thresholds{um(125'000), um(127'000), um(128'000)};
  for (const double sign : {-1.0, 1.0}) {
    for (const double deviation_um : {2147.483646, 2147.483647, 2147.483648, 2147.483649, 4294.967296, 9000.0}) {
      expect_same(std::vector<double>{125'001.0, 125'000.0 + sign * deviation_um, 124'999.5}, thresholds);
      const auto deviation = Length::from_pm(static_cast<std::int64_t>(std::llround(sign * deviation_um * 1e6)));
      expect_same(std::vector<Length>{um(125'001), um(125'000) + deviation, um(124'999)}, thresholds);
    }
  }
}

TEST(SummarySpans, WhatIsNoReadingIsNamedAndNothingIsTaken) {
  // boundary: NaN, infinities, zero, less than half a picometre, negative and too large values anywhere in the span
  constexpr double k_infinity = std::numeric_limits<double>::infinity();
  Summary summary(k_thresholds);
  summary.add(um(75)).value();
  const Summary before = summary;
  const std::vector<std::pair<double, ErrorCode>> no_readings{{std::nan(""), ErrorCode::malformed_number},
                                                              {k_infinity, ErrorCode::malformed_number},
                                                              {-k_infinity, ErrorCode::malformed_number},
                                                              {0.0, ErrorCode::not_positive},
                                                              {-0.0, ErrorCode::not_positive},
                                                              {-75.0, ErrorCode::not_positive},
                                                              {1e-7, ErrorCode::not_positive},
                                                              {100'000'001.0, ErrorCode::too_large},
                                                              {1e300, ErrorCode::too_large}};
  for (const auto& [broken, code] : no_readings) {
    for (const std::size_t at : std::initializer_list<std::size_t>{0, 1, 1023, 1024, 1025, 2999}) {
      std::vector<double> readings(3'000, 75.31);
      readings[at] = broken;
      EXPECT_EQ(test::refused_at(summary.add_um(readings)), at) << broken;
      EXPECT_EQ(test::code_of(summary.add_um(readings)), code) << broken;
      EXPECT_EQ(summary, before);
    }
  }
  for (const std::int32_t broken : {0, -1, INT32_MIN, 100'000'001}) {
    for (const std::size_t at : std::initializer_list<std::size_t>{0, 1023, 1024, 2999}) {
      std::vector<std::int32_t> readings(3'000, 75);
      readings[at] = broken;
      EXPECT_EQ(test::refused_at(summary.add_quanta(readings, um(1))), at) << broken;
      EXPECT_EQ(test::code_of(summary.add_quanta(readings, um(1))), broken > 0 ? ErrorCode::too_large : ErrorCode::not_positive);
      EXPECT_EQ(summary, before);
    }
  }
}

TEST(SummarySpans, LengthsThatAreNoReadings) {
  // boundary: zero, negative and too large values anywhere in the span are identified; more than 10^10 are refused; nothing is
  // taken
  Summary summary(k_thresholds);
  summary.add(um(75)).value();
  const Summary before = summary;
  for (const Length broken : {Length(), um(-1), k_longest_reading + Length::from_pm(1), k_longest, Length() - k_longest}) {
    for (const std::size_t at : std::initializer_list<std::size_t>{0, 1, 1023, 1024, 1025, 2999}) {
      std::vector<Length> readings(3'000, um(75));
      readings[at] = broken;
      EXPECT_EQ(test::refused_at(summary.add(readings)), at);
      EXPECT_EQ(test::code_of(summary.add(readings)), broken > Length() ? ErrorCode::too_large : ErrorCode::not_positive);
      EXPECT_EQ(summary, before);
    }
  }
  EXPECT_TRUE(summary.add(std::vector<Length>{k_longest_reading, Length::from_pm(1)}));
  Summary::Figures figures;
  figures.count = k_most_readings - 2;
  figures.minimum = figures.maximum = um(75);
  figures.divisor_pm = um(75).pm();
  Summary full = Summary::from_figures(Thresholds{um(75), {}, {}}, figures).value();
  EXPECT_EQ(test::code_of(full.add(std::vector<Length>(3, um(75)))), ErrorCode::too_many_readings);
  EXPECT_TRUE(full.add(std::vector<Length>(2, um(75))));
  EXPECT_EQ(full.count(), k_most_readings);
  EXPECT_TRUE(full.add(std::span<const Length>()));
}

TEST(SummarySpans, VersionIsOfTheProcessor) {
  // identity: the compiler's own processor check; if the environment hides AVX2 from the C library, as in one run of these tests,
  // the other version is used
#if defined(__x86_64__)
  [[maybe_unused]] const char* const told = std::getenv("GLIBC_TUNABLES");
  const bool has = __builtin_cpu_supports("avx2") && __builtin_cpu_supports("bmi") && __builtin_cpu_supports("bmi2");
#if defined(CPU_FEATURE_ACTIVE)
  EXPECT_EQ(has_wide_vectors(), has && (told == nullptr || std::string_view(told).find("-AVX2") == std::string_view::npos));
#else
  EXPECT_EQ(has_wide_vectors(), has);
#endif
#else
  EXPECT_FALSE(has_wide_vectors());
#endif
}

TEST(SummarySpans, QuantumOutOfRange) {
  // boundary: a quantum at or below zero, or above 1 mm, is refused; an empty span contains nothing to refuse
  Summary summary(k_thresholds);
  const std::vector<std::int32_t> readings{75, 76};
  for (const std::int64_t pm : {std::int64_t{0}, std::int64_t{-1}, k_coarsest_quantum.pm() + 1}) {
    EXPECT_EQ(test::code_of(summary.add_quanta(readings, Length::from_pm(pm))), ErrorCode::wrong_argument);
    EXPECT_TRUE(summary.add_quanta({}, Length::from_pm(pm)));
  }
  EXPECT_TRUE(summary.empty());
  EXPECT_TRUE(summary.add_quanta(readings, k_coarsest_quantum));
  EXPECT_EQ(summary.maximum(), Length::of(76, Unit::millimetre));
}

TEST(SummarySpans, SquaresWhereNarrowSumsWrap) {
  // boundary: deviations on either side of 2^27, where 1024 squares no longer fit in 64 bits, up to the largest possible
  for (const std::int64_t deviation : {(1 << 27) - 1, 1 << 27, (1 << 27) + 1, INT32_MAX}) {
    for (const std::size_t count : std::initializer_list<std::size_t>{1, 1023, 1024, 1025}) {
      const std::vector<std::int32_t> readings(count, static_cast<std::int32_t>(deviation));
      Summary summary;
      ASSERT_TRUE(summary.add_quanta(readings, Length::from_pm(1)));
      EXPECT_TRUE(summary.sum_of_squared_deviations() == static_cast<int128>(deviation) * deviation * static_cast<int128>(count));
    }
  }
}

TEST(SummarySpans, ThousandMillionEqualReadings) {
  // identity: n equal readings have the sums n d and n d^2; 10^9 of them pass through the inner loop
  const std::vector<std::int32_t> readings(1'000'000, 10'500);
  Summary summary(k_thresholds);
  for (int i = 0; i < 1'000; ++i) ASSERT_TRUE(summary.add_quanta(readings, Length::from_pm(10'000)));
  EXPECT_EQ(summary.count(), 1'000'000'000);
  EXPECT_TRUE(summary.sum_of_deviations() == static_cast<int128>(30'000'000) * 1'000'000'000);
  EXPECT_TRUE(summary.sum_of_squared_deviations() == static_cast<int128>(30'000'000) * 30'000'000 * 1'000'000'000);
  EXPECT_EQ(summary.count_above_largest(), 1'000'000'000);
  EXPECT_EQ(summary.mean_um(), 105.0);
  EXPECT_EQ(summary.standard_deviation_um(), 0.0);
}

TEST(SummarySpans, StepAcrossBlocks) {
  // boundary: a common step holds until the one reading that breaks it, in whichever block
  for (const std::size_t at : std::initializer_list<std::size_t>{0, 1023, 1024, 4000}) {
    std::vector<std::int32_t> readings(5'000);
    for (std::size_t i = 0; i < readings.size(); ++i) readings[i] = static_cast<std::int32_t>(7'000 + i % 3 * 500);
    expect_same(readings, Length::from_pm(10'000), k_thresholds);
    Summary coarse(k_thresholds);
    ASSERT_TRUE(coarse.add_quanta(readings, Length::from_pm(10'000)));
    EXPECT_EQ(coarse.common_step(), um(5));
    readings[at] += 1;
    expect_same(readings, Length::from_pm(10'000), k_thresholds);
    Summary broken(k_thresholds);
    ASSERT_TRUE(broken.add_quanta(readings, Length::from_pm(10'000)));
    EXPECT_EQ(broken.common_step(), std::nullopt);
  }
}

}  // namespace
}  // namespace sievecloth
