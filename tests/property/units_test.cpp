#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "sievecloth/readings_csv.hpp"
#include "sievecloth/report.hpp"
#include "support/judging.hpp"

namespace sievecloth {
namespace {

using namespace test;

Sample read(const Specification& specification, const std::string& text) {
  Sample sample = make_sample(specification);
  CsvReader reader({}, [&](const Reading& reading) { sample.add(reading).value(); });
  reader.feed(text);
  EXPECT_GT(reader.finish().value(), 0);
  return sample;
}

TEST(Units, MicrometresMillimetresAndInchesGiveTheSameBits) {
  // property: the same apertures written in um, mm and in, in any order, leave sample, verdict and JSON unchanged; seed 25
  const Specification specification = test::specification("astm-e11-17", "No. 200", Grade::inspection);
  std::mt19937_64 random(25);
  for (int round = 0; round < 50; ++round) {
    std::vector<Length> readings;
    for (int i = 0; i < 120; ++i) readings.push_back(Length::from_pm(25'400 * (2000 + static_cast<std::int64_t>(random() % 2000))));
    std::vector<std::string> answers;
    for (const Unit unit : {Unit::micrometre, Unit::millimetre, Unit::inch}) {
      std::shuffle(readings.begin(), readings.end(), random);
      std::string text = fmt::format("direction,aperture_{0}\n", to_text(unit));
      for (const Length reading : readings) text += fmt::format("warp,{}\n", to_text(reading, unit));
      const Sample sample = read(specification, text);
      EXPECT_EQ(sample[Direction::warp].aperture.count(), 120);
      answers.push_back(to_json(assess(specification, sample, viewed()).value()));
    }
    EXPECT_EQ(answers[0], answers[1]);
    EXPECT_EQ(answers[0], answers[2]);
  }
}

}  // namespace
}  // namespace sievecloth
