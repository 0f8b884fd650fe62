#include <fmt/format.h>
#include <gtest/gtest.h>

#include "sievecloth/summary.hpp"
#include "support/reference_data.hpp"

namespace sievecloth {
namespace {

struct Certified {
  const char* file;
  int skip;
  std::int64_t n;
  const char* mean;                // as published
  const char* standard_deviation;  // as published, to 15 digits
  std::int64_t moved = 0;          // offset, because readings are above 0; the mean is then the published one plus this
};

class Statistics : public testing::TestWithParam<Certified> {};

TEST_P(Statistics, AllCertifiedDigits) {
  // source: NIST StRD, univariate summary statistics, certified values (Lottery, Lew, Mavro, Michelso, NumAcc1 to NumAcc4)
  const Certified& certified = GetParam();
  Summary summary;
  for (const std::string& text : test::reference_column(certified.file, certified.skip)) {
    const Length value = parse_length(text, Unit::micrometre).value();
    summary.add(value + Length::of(certified.moved, Unit::micrometre)).value();
  }
  ASSERT_EQ(summary.count(), certified.n);
  EXPECT_EQ(fmt::format("{:.15g}", *summary.mean_um()), certified.mean);
  EXPECT_EQ(fmt::format("{:.15g}", *summary.standard_deviation_um()), certified.standard_deviation);
}

INSTANTIATE_TEST_SUITE_P(
    NistStRD, Statistics,
    testing::Values(Certified{"NUMACC1.DAT", 60, 3, "10000002", "1"}, Certified{"NUMACC2.DAT", 60, 1001, "1.2", "0.1"},
                    Certified{"NUMACC3.DAT", 60, 1001, "1000000.2", "0.1"}, Certified{"NUMACC4.DAT", 60, 1001, "10000000.2", "0.1"},
                    Certified{"MICHELSO.DAT", 25, 100, "299.8524", "0.0790105478190518"},
                    Certified{"MAVRO.DAT", 25, 50, "2.001856", "0.000429123454003053"},
                    Certified{"LEW.DAT", 25, 200, "822.565", "277.332168044316", 1000},  // published: -177.435
                    Certified{"LOTTERY3.DAT", 25, 218, "518.95871559633", "291.699727470969"}),
    [](const auto& certified) { return std::string(certified.param.file, 0, std::string(certified.param.file).find('.')); });

TEST(Statistics, Gear) {
  // source: NIST/SEMATECH e-Handbook 1.3.5.8: mean 0.99764, s 0.006278908. The exact s of the data is 0.0062789046: the printed
  // value holds to the accuracy of single precision, 4e-9.
  Summary summary;
  for (const std::string& text : test::reference_column("GEAR.DAT", 25))
    summary.add(parse_length(text, Unit::micrometre).value()).value();
  ASSERT_EQ(summary.count(), 100);
  EXPECT_EQ(fmt::format("{:.6g}", *summary.mean_um()), "0.99764");
  EXPECT_NEAR(*summary.standard_deviation_um(), 0.006278908, 4e-9);
}

}  // namespace
}  // namespace sievecloth
