#include "sievecloth/summary.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>
#include <vector>

namespace sievecloth {
namespace {

constexpr Length um(std::int64_t count) { return Length::of(count, Unit::micrometre); }

Summary summary_of(const std::vector<Length>& readings, const Thresholds& thresholds = {}) {
  Summary summary(thresholds);
  for (const Length reading : readings) summary.add(reading).value();
  return summary;
}

TEST(Summary, UndefinedIsNothing) {
  // identity: no mean without a reading, no standard deviation with fewer than two
  EXPECT_EQ(Summary().mean_um(), std::nullopt);
  EXPECT_EQ(Summary().standard_deviation_um(), std::nullopt);
  EXPECT_EQ(summary_of({um(75)}).mean_um(), 75.0);
  EXPECT_EQ(summary_of({um(75)}).standard_deviation_um(), std::nullopt);
  EXPECT_EQ(summary_of({um(75), um(75)}).standard_deviation_um(), 0.0);
}

TEST(Summary, ThresholdsAreStrict) {
  // boundary: a reading on a threshold is not above it, one picometre more is
  const Thresholds thresholds{um(75), um(91), um(103)};
  const Length pm = Length::from_pm(1);
  const Summary summary = summary_of({um(91), um(91) + pm, um(103), um(103) + pm, um(91) - pm}, thresholds);
  EXPECT_EQ(summary.count_above_intermediate(), 3);
  EXPECT_EQ(summary.count_above_largest(), 1);
}

TEST(Summary, NominalLeavesStatisticsAlone) {
  // identity: mean and s do not depend on the origin of the deviations
  const std::vector<Length> readings{um(61), um(75), um(88), Length::from_pm(75'310'001)};
  const Summary from_zero = summary_of(readings);
  const Summary from_nominal = summary_of(readings, {um(75), {}, {}});
  EXPECT_EQ(from_zero.mean_um(), from_nominal.mean_um());
  EXPECT_EQ(from_zero.standard_deviation_um(), from_nominal.standard_deviation_um());
}

TEST(Summary, OrderAndSplittingLeaveNoTrace) {
  // property: any permutation, any split into parts and any order of merging give equal summaries, bit for bit
  std::mt19937_64 random(20261125);
  const Thresholds thresholds{um(75), um(91), um(103)};
  for (int round = 0; round < 300; ++round) {
    std::vector<Length> readings;
    const int n = static_cast<int>(random() % 60);
    const std::int64_t step = std::array{1L, 1'000L, 1'000'000L, 5'000'000L}[random() % 4];
    for (int i = 0; i < n; ++i) readings.push_back(Length::from_pm((1 + static_cast<std::int64_t>(random() % 40)) * step));
    const Summary whole = summary_of(readings, thresholds);
    std::shuffle(readings.begin(), readings.end(), random);
    std::vector<Summary> parts(1 + random() % 5, Summary(thresholds));
    for (const Length reading : readings) parts[random() % parts.size()].add(reading).value();
    std::shuffle(parts.begin(), parts.end(), random);
    Summary merged(thresholds);
    for (const Summary& part : parts) merged.merge(part).value();
    ASSERT_EQ(merged, whole);
  }
}

TEST(Summary, LargestSums) {
  // boundary: 2^33 readings of 100 m and 1 pm, by doubling, still have an exact mean and s
  Summary summary;
  summary.add(k_longest_reading).value();
  summary.add(Length::from_pm(1)).value();
  for (int doubling = 0; doubling < 32; ++doubling) {
    const Summary half = summary;
    summary.merge(half).value();
  }
  EXPECT_EQ(summary.count(), std::int64_t{1} << 33);
  EXPECT_EQ(summary.mean_um(), 50'000'000.0000005);
  EXPECT_NEAR(*summary.standard_deviation_um(), 5e7, 0.01);  // s^2 = (n / 4) / (n - 1) (100 m)^2
  EXPECT_EQ(Summary(summary).merge(summary).error().code, ErrorCode::too_many_readings);
}

TEST(Summary, RefusesWhatIsNoReading) {
  // boundary: 0 and 100 m plus a picometre are refused, 1 pm and 100 m are taken; a refusal changes nothing
  Summary summary;
  EXPECT_EQ(summary.add(Length()).error().code, ErrorCode::not_positive);
  EXPECT_EQ(summary.add(Length::from_pm(-1)).error().code, ErrorCode::not_positive);
  EXPECT_EQ(summary.add(k_longest_reading + Length::from_pm(1)).error().code, ErrorCode::too_large);
  EXPECT_EQ(summary, Summary());
  EXPECT_TRUE(summary.add(Length::from_pm(1)).ok());
  EXPECT_TRUE(summary.add(k_longest_reading).ok());
  EXPECT_EQ(summary.merge(Summary(Thresholds{um(75), {}, {}})).error().code, ErrorCode::sample_mismatch);
  EXPECT_EQ(summary.merge(Summary(Thresholds{{}, um(75), {}})).error().code, ErrorCode::sample_mismatch);
}

TEST(Summary, CommonStep) {
  // boundary: a step is recognised only from ten readings and three values, and must be above 1 um
  std::vector<Length> fives(7, um(75));
  fives.insert(fives.end(), {um(70), um(80)});
  EXPECT_EQ(summary_of(fives).common_step(), std::nullopt);  // nine readings
  fives.push_back(um(85));
  EXPECT_EQ(summary_of(fives).common_step(), um(5));
  fives.push_back(um(76));
  EXPECT_EQ(summary_of(fives).common_step(), std::nullopt);
  std::vector<Length> two_values(10, um(75));
  two_values.push_back(um(80));
  EXPECT_EQ(summary_of(two_values).common_step(), std::nullopt);
  EXPECT_EQ(summary_of(std::vector<Length>(50, um(75))).common_step(), std::nullopt);
}

TEST(Summary, StepOfTwoMicrometres) {
  // boundary: 1 um is not coarse, 1.000001 um is
  std::vector<Length> readings;
  for (std::int64_t i = 1; i <= 12; ++i) readings.push_back(um(i));
  EXPECT_EQ(summary_of(readings).common_step(), std::nullopt);
  for (Length& reading : readings) reading = Length::from_pm(reading.pm() / 1'000'000 * 1'000'001);
  EXPECT_EQ(summary_of(readings).common_step(), Length::from_pm(1'000'001));
}

}  // namespace
}  // namespace sievecloth
