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
  // regression: docs/cli.md, suspects
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
  // boundary: 10,000 names are distinguished from 10,001, but 10,001 not from more
  SuspectNames names;
  for (std::int64_t i = 0; i < k_most_named_suspects; ++i) names.add(suspect(std::to_string(i)));
  EXPECT_EQ(names.count(), k_most_named_suspects);
  names.add(suspect("A"));
  EXPECT_EQ(names.count(), k_most_named_suspects + 1);
  names.add(suspect("B"));
  EXPECT_EQ(names.count(), k_most_named_suspects + 1);
}

TEST(SuspectNames, WhatNobodyCanTellApartIsOneName) {
  // boundary: blanks from spreadsheets, case, and cells without a letter or digit
  SuspectNames names;
  for (const char* name : {"S2", "s 2", "S\u00a02", "S\u200b2", "\u2003s2\u3000"}) names.add(suspect(name));
  EXPECT_EQ(names.count(), 1);
  for (const char* none : {"\u00a0", "\u2003", "\u3000", "-", "?", " . "}) names.add(suspect(none));
  EXPECT_EQ(names.count(), 1);
  names.add(suspect("\u00e9"));
  EXPECT_EQ(names.count(), 2);
}

TEST(SuspectNames, LettersBeyondAsciiAreNotToldApart) {
  // regression: "\u00c41" and "\u00e41" were two suspects; so were a letter with its accent and the letter followed by one
  SuspectNames names;
  for (const char* name : {"\u00c41", "\u00e41", "A\u03081", "\u04141"}) names.add(suspect(name));
  EXPECT_EQ(names.count(), 1);
  names.add(suspect("\u00e42"));
  names.add(suspect("\u00e4b1"));
  EXPECT_EQ(names.count(), 3);
}

TEST(SuspectNames, OneNameAtManyPositionsTakesBoundedMemory) {
  // regression: every position of one field was kept; boundary: beyond k_most_named_suspects no position counts by itself
  const auto at = [](std::string_view field, std::int64_t x) {
    Reading reading = suspect(field);
    reading.x = reading.y = Length::of(x, Unit::millimetre);
    return reading;
  };
  SuspectNames names;
  for (std::int64_t x = 0; x < k_most_named_suspects; ++x) names.add(at("S1", x));
  names.add(at("", k_most_named_suspects + 5));
  EXPECT_EQ(names.count(), 2);
  for (std::int64_t x = 0; x < 3; ++x) names.add(at("S1", k_most_named_suspects + x));
  names.add(at("", k_most_named_suspects + 6));
  EXPECT_EQ(names.count(), 2);
}

TEST(SuspectNames, APositionThatAFieldNamesIsThatField) {
  // regression: a suspect named in one direction and only placed in the other counted twice
  const auto at = [](std::string_view field, std::int64_t x) {
    Reading reading = suspect(field);
    reading.x = Length::of(x, Unit::millimetre);
    reading.y = Length::of(1, Unit::millimetre);
    return reading;
  };
  for (const bool named_first : {true, false}) {
    SuspectNames names;
    names.add(at(named_first ? "S1" : "", 1));
    names.add(at(named_first ? "" : "S1", 1));
    EXPECT_EQ(names.count(), 1);
    names.add(at("", 2));
    EXPECT_EQ(names.count(), 2);
  }
}

}  // namespace
}  // namespace sievecloth
