#include "measurement/suspect_names.hpp"

#include <gtest/gtest.h>

namespace sievecloth {
namespace {

Reading suspect(std::string_view field) {
  Reading reading;
  reading.role = Role::suspect;
  reading.aperture = Length::of(90, Unit::micrometre);
  reading.field = field;
  return reading;
}

TEST(SuspectNames, OnlyASuspectWithAnApertureIsMeasured) {
  // rule: docs/cli.md, suspects
  SuspectNames names;
  names.add(suspect("A"));
  names.add(suspect("a"));
  names.add(suspect(""));
  Reading not_measured = suspect("B");
  not_measured.aperture.reset();
  names.add(not_measured);
  Reading no_suspect = suspect("C");
  no_suspect.role = Role::sample;
  names.add(no_suspect);
  EXPECT_EQ(names.count(), 1);
}

TEST(SuspectNames, CountsOneMoreThanItCanTellApart) {
  // boundary: 10,000 names are told from 10,001 of them, and those from no more
  SuspectNames names;
  for (std::int64_t i = 0; i < k_most_named_suspects; ++i) names.add(suspect(std::to_string(i)));
  EXPECT_EQ(names.count(), k_most_named_suspects);
  names.add(suspect("A"));
  EXPECT_EQ(names.count(), k_most_named_suspects + 1);
  names.add(suspect("B"));
  EXPECT_EQ(names.count(), k_most_named_suspects + 1);
}

}  // namespace
}  // namespace sievecloth
