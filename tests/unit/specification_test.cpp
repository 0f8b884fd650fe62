// boundary: the spellings of sizes, standards and grades that include/sievecloth/specification.hpp and edition.hpp promise.
#include "sievecloth/specification.hpp"

#include <cstdint>
#include <limits>
#include <stdexcept>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace sievecloth {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

const Edition& edition(std::string_view name) { return *find_edition(name).value(); }

/// The designation found, or the error.
std::string found(std::string_view name, std::string_view size) {
  const Result<const Row*> row = find_size(edition(name), size);
  return row ? std::string((*row)->designation) : to_text(row.error());
}

ErrorCode code_of(std::string_view name, std::string_view size) {
  const Result<const Row*> row = find_size(edition(name), size);
  return row ? ErrorCode::internal : row.error().code;
}

TEST(FindSize, NominalApertures) {
  for (const std::string_view size :
       {"75um", "75 um", "75 UM", "75\u00b5m", "75 \u00b5m", "75\u03bcm", "75 \u03bcm", "75\u00a0\u00b5m", "  75 um\t", "75.0 um",
        "075 um", "0.075 mm", "0,075 mm", "0.0750mm", "75,0 \u00b5m"}) {
    for (const Edition* table : built_in_editions())
      EXPECT_EQ(found(table->name, size), "75 \u00b5m") << size << " " << table->name;
  }
  for (const std::string_view size : {"4.75mm", "4.75 mm", "4750 um", "4,75 MM"})
    EXPECT_EQ(found("astm-e11-17", size), "4.75 mm") << size;
  EXPECT_EQ(found("iso-3310-1-2016", "2.50 mm"), "2.5 mm");
  EXPECT_EQ(found("iso-3310-1-2016", "125 mm"), "125 mm");
  EXPECT_EQ(found("iso-3310-1-2016", "20 um"), "20 \u00b5m");
}

TEST(FindSize, SieveNumbers) {
  for (const std::string_view size : {"No. 200", "No.200", "no 200", "NO. 200", "No200", "#200", "# 200", "No. 200.0"}) {
    EXPECT_EQ(found("astm-e11-17", size), "75 \u00b5m") << size;
    EXPECT_EQ(found("astm-e11-04", size), "75 \u00b5m") << size;
  }
  for (const std::string_view size : {"No. 3 1/2", "No.3-1/2", "#3 1/2", "No. 3.5", "No. 7/2"}) {
    EXPECT_EQ(found("astm-e11-17", size), "5.6 mm") << size;
  }
}

TEST(FindSize, Inches) {
  for (const std::string_view size : {"3/8 in.", "3/8 in", "3/8in", "3/8 inch", "3/8 IN.", "3/8\"", "0.375 in.", "6/16 in."}) {
    EXPECT_EQ(found("astm-e11-17", size), "9.5 mm") << size;
  }
  EXPECT_EQ(found("astm-e11-17", "1 1/2 in"), "37.5 mm");
  EXPECT_EQ(found("astm-e11-17", "1-1/2 in."), "37.5 mm");
  EXPECT_EQ(found("astm-e11-17", "3 1/2 in."), "90 mm");
  EXPECT_EQ(found("astm-e11-17", "1.06 in."), "26.5 mm");
  EXPECT_EQ(found("astm-e11-17", "0.530 in."), "13.2 mm");
  EXPECT_EQ(found("astm-e11-17", "0,53 in"), "13.2 mm");
  EXPECT_EQ(found("astm-e11-17", "1 in."), "25 mm");
  EXPECT_EQ(found("astm-e11-17", "5 inches"), "125 mm");
  // boundary: 15 digits are a number, 16 are not
  EXPECT_EQ(found("astm-e11-17", "0.37500000000000 in."), "9.5 mm");
  EXPECT_FALSE(find_size(edition("astm-e11-17"), "0.375000000000000 in.").ok());
}

TEST(FindSize, EveryNameOfEveryRowFindsItsRow) {
  for (const Edition* table : built_in_editions()) {
    for (const Row& row : table->rows) {
      EXPECT_EQ(find_size(*table, row.designation).value(), &row) << table->name << " " << row.designation;
      EXPECT_EQ(find_size(*table, to_text(row.nominal, Unit::micrometre) + "um").value(), &row);
      EXPECT_EQ(find_size(*table, to_text(row.nominal, Unit::millimetre) + "mm").value(), &row);
      if (row.alternative.empty()) continue;
      EXPECT_EQ(find_size(*table, row.alternative).value(), &row) << table->name << " " << row.alternative;
    }
  }
}

// Any nominal aperture can be written in the bytes that a row has for it.
TEST(Designation, HoldsAnyLength) {
  const std::string longest = to_text(Length::from_pm(std::numeric_limits<std::int64_t>::max()));
  EXPECT_EQ(longest.size(), Designation::k_longest);
  EXPECT_EQ(Designation(longest), longest);
  EXPECT_THROW(Designation(longest + "m"), std::length_error);
  EXPECT_TRUE(Designation().empty());
  EXPECT_FALSE(Designation("75 \u00b5m") == "75");
}

// An inch names a designation, never a length: 2 in. is 50 mm, not 50.8 mm, and 0.0029 in. names nothing.
TEST(FindSize, AnInchIsNoLength) {
  EXPECT_EQ(found("astm-e11-17", "2 in."), "50 mm");
  EXPECT_EQ(code_of("astm-e11-17", "0.0029 in."), ErrorCode::unknown_size);
  EXPECT_EQ(code_of("astm-e11-17", "50.8 mm"), ErrorCode::unknown_size);
}

TEST(FindSize, ABareNumberOffersItsReadings) {
  EXPECT_EQ(found("astm-e11-17", "75"), "a size without a unit: found '75', expected 75 \u00b5m (No. 200) or 75 mm (3 in.)");
  EXPECT_EQ(found("astm-e11-17", "200"), "a size without a unit: found '200', expected 75 \u00b5m (No. 200)");
  EXPECT_EQ(found("astm-e11-17", "5"), "a size without a unit: found '5', expected 4 mm (No. 5) or 125 mm (5 in.)");
  EXPECT_EQ(found("astm-e11-17", "3/8"), "a size without a unit: found '3/8', expected 9.5 mm (3/8 in.)");
  EXPECT_EQ(found("astm-e11-17", "3 1/2"),
            "a size without a unit: found '3 1/2', expected 5.6 mm (No. 3 1/2) or 90 mm (3 1/2 in.)");
  EXPECT_EQ(found("iso-3310-1-2016", "200"),
            "a size without a unit: found '200', expected 200 \u00b5m or 75 \u00b5m (No. 200) in ASTM E11-17");
  EXPECT_EQ(code_of("astm-e11-17", "0.4711"), ErrorCode::ambiguous_size);
  EXPECT_THAT(found("astm-e11-17", "0.4711"), HasSubstr("expected a nominal aperture (75 um, 0.075 mm) or an alternative"));
}

TEST(FindSize, AnUnknownSizeNamesItsNeighbours) {
  EXPECT_EQ(
      found("astm-e11-17", "76 um"),
      "ASTM E11-17 has no such size; the nearest are 90 \u00b5m (No. 170) above and 75 \u00b5m (No. 200) below: found '76 um'");
  EXPECT_EQ(found("iso-3310-1-2016", "76 um"),
            "ISO 3310-1:2016 has no such size; the nearest are 80 \u00b5m above and 75 \u00b5m below: found '76 um'");
  EXPECT_EQ(
      found("astm-e11-17", "No. 210"),
      "ASTM E11-17 has no such size; the nearest are 75 \u00b5m (No. 200) above and 63 \u00b5m (No. 230) below: found 'No. 210'");
  EXPECT_THAT(found("astm-e11-17", "0.4 in."), HasSubstr("11.2 mm (7/16 in.) above and 9.5 mm (3/8 in.) below: found '0.4 in.'"));
  EXPECT_EQ(found("astm-e11-17", "200 mm"), "ASTM E11-17 has no such size; the largest is 125 mm (5 in.): found '200 mm'");
  EXPECT_EQ(found("astm-e11-17", "19.999999 um"),
            "ASTM E11-17 has no such size; the smallest is 20 \u00b5m (No. 635): found '19.999999 um'");
  EXPECT_EQ(found("astm-e11-17", "No. 3"), "ASTM E11-17 has no such size; the largest is 5.6 mm (No. 3 1/2): found 'No. 3'");
}

// source: 25.4 mm to the inch (international inch of 1959)
TEST(FindSize, AnInchThatIsNoDesignationNamesTheSizesNearIt) {
  EXPECT_EQ(
      found("astm-e11-17", "0.0029in"),
      "inches name a designation, not a length, and this would be 73.66 \u00b5m: ASTM E11-17 has no such size; the nearest are "
      "75 \u00b5m (No. 200) above and 63 \u00b5m (No. 230) below: found '0.0029in'");
  EXPECT_THAT(found("astm-e11-17", "1/8 in."),
              HasSubstr("3.175 mm: ASTM E11-17 has no such size; the nearest are 3.35 mm (No. 6) above"));
  EXPECT_THAT(found("iso-3310-1-2016", "0.0029in"), HasSubstr("75 \u00b5m above and 71 \u00b5m below"));
  EXPECT_THAT(found("astm-e11-17", "999999999 in."), HasSubstr("the largest is 125 mm (5 in.)"));
  EXPECT_THAT(found("astm-e11-17", "0.0000001 in."), HasSubstr("the smallest is 20 \u00b5m (No. 635)"));
  EXPECT_EQ(found("astm-e11-17", "1.06 in."), "26.5 mm");  // a designation, decimal as the edition writes it
}

// source: mesh = 25.4 mm / (w + d) with the preferred wires of E11-17: 75 + 50 um gives 203.2, 90 + 63 um 166.0
TEST(FindSize, AMeshCountIsNoSize) {
  for (const std::string_view size : {"200 mesh", "200mesh", "Mesh 200", "200 MESH"}) {
    EXPECT_EQ(code_of("astm-e11-17", size), ErrorCode::malformed_size) << size;
    EXPECT_THAT(found("astm-e11-17", size), HasSubstr("75 \u00b5m (No. 200) with 203")) << size;
    EXPECT_THAT(found("astm-e11-17", size), HasSubstr("nothing of how thick the wire is")) << size;
  }
  EXPECT_THAT(found("astm-e11-17", "200 mesh"), Not(HasSubstr("90 \u00b5m")));
  EXPECT_THAT(found("iso-3310-1-2016", "200 mesh"), HasSubstr("75 \u00b5m with 203"));
  EXPECT_THAT(found("astm-e11-17", "5000 mesh"), HasSubstr("20 \u00b5m (No. 635) with 635"));  // the finest: 20 + 20 um
  EXPECT_THAT(found("astm-e11-17", "0.01 mesh"), HasSubstr("125 mm (5 in.) with 0.19"));       // the coarsest: 125 + 8 mm
  for (const std::string_view size : {"mesh", "0 mesh", "mesh x", "200 meshes", "mesh 200 um"})
    EXPECT_THAT(found("astm-e11-17", size), HasSubstr("not a size")) << size;
}

TEST(FindSize, MicronsAreOfferedAsMicrometres) {
  for (const std::string_view size : {"25 micron", "25 microns", "25micron", "25 Microns", "25 mic", "25u", "25 \u00b5"}) {
    EXPECT_EQ(code_of("astm-e11-17", size), ErrorCode::malformed_size) << size;
    EXPECT_THAT(found("astm-e11-17", size), HasSubstr("expected '25 um'")) << size;
  }
  EXPECT_EQ(code_of("astm-e11-17", "26 micron"), ErrorCode::unknown_size);
  EXPECT_THAT(found("astm-e11-17", "26 micron"), HasSubstr("32 \u00b5m (No. 450) above and 25 \u00b5m (No. 500) below"));
  EXPECT_THAT(found("astm-e11-17", "x micron"), HasSubstr("not a size"));
}

TEST(FindSize, NamesOfUnitsInFull) {
  for (const std::string_view size : {"75 micrometre", "75 micrometres", "75 Micrometer", "0.075 millimetre", "0.075 millimeters"})
    EXPECT_EQ(find_size(*find_edition("iso-3310-1-2016").value(), size).value()->nominal, Length::of(75, Unit::micrometre)) << size;
}

// 1 thou = 25.4 um. As a length it never names the sieve of that many inches: 1/2 in. has apertures of 12.5 mm, 500 thou are 12.7 mm.
TEST(FindSize, ThousandthsOfAnInchAreNoSize) {
  for (const std::string_view size : {"2.9 thou", "2.9 mil", "2.9mils"}) {
    EXPECT_EQ(code_of("astm-e11-17", size), ErrorCode::unknown_size) << size;
    EXPECT_THAT(found("astm-e11-17", size), HasSubstr("73.66 \u00b5m")) << size;
  }
  EXPECT_EQ(code_of("astm-e11-17", "500 thou"), ErrorCode::unknown_size);
  EXPECT_THAT(found("iso-3310-1-2016", "500 thou"), HasSubstr("12.7 mm"));
  EXPECT_THAT(found("astm-e11-17", "200#"), HasSubstr("75 \u00b5m (No. 200) with 203"));
}

TEST(FindSize, AnEditionWithoutAlternativesSaysWhatToAskFor) {
  EXPECT_EQ(code_of("iso-3310-1-2016", "No. 200"), ErrorCode::unknown_size);
  EXPECT_EQ(
      found("iso-3310-1-2016", "No. 200"),
      "ISO 3310-1:2016 has no alternative designations; in ASTM E11-17 this is 75 \u00b5m: found 'No. 200', expected '75 \u00b5m'");
  EXPECT_EQ(found("iso-3310-1-1990", "3/8\""),
            "ISO 3310-1:1990 has no alternative designations; in ASTM E11-17 this is 9.5 mm: found '3/8\"', expected '9.5 mm'");
  EXPECT_THAT(found("iso-3310-1-2016", "No. 210"), HasSubstr("expected a nominal aperture, such as 75 um or 4.75 mm"));
}

TEST(FindSize, WhatIsNoSize) {
  for (const std::string_view size : {"",
                                      " ",
                                      "abc",
                                      "um",
                                      "mm",
                                      "in.",
                                      "No.",
                                      "No",
                                      "#",
                                      "-75 um",
                                      "+75 um",
                                      "75 u",
                                      "75 m",
                                      "7.5 cm",
                                      "1e2 um",
                                      "75,5,5 um",
                                      "1.000,5 mm",
                                      "3/8 mm",
                                      "3/0 in.",
                                      "/8 in.",
                                      "3/ in.",
                                      "1 1 1/2 in.",
                                      "0 um",
                                      "0 in.",
                                      "No. 0",
                                      "No. 200 um",
                                      "75 um 3",
                                      "5. mm",
                                      "NaN um",
                                      "inf mm",
                                      "75 \u00b5",
                                      "No. 99999999999999999999",
                                      "99999999999999999999 um",
                                      "0.0000001 um",
                                      "\xff"}) {
    EXPECT_EQ(code_of("astm-e11-17", size), ErrorCode::malformed_size) << size;
  }
  EXPECT_EQ(
      found("astm-e11-17", "3/8 mm"),
      "not a size: found '3/8 mm', expected a nominal aperture (75 um, 0.075 mm) or an alternative designation (No. 200, 3/8 in.)");
}

TEST(FindNominal, LooksThroughAllEditions) {
  const auto nominal = [](std::string_view size) {
    const Result<Length> length = find_nominal(size);
    return length ? to_text(*length) : to_text(length.error());
  };
  EXPECT_EQ(nominal("No. 200"), "75 \u00b5m");
  EXPECT_EQ(nominal("3/8 in."), "9.5 mm");
  EXPECT_EQ(nominal("2.5 mm"), "2.5 mm");
  EXPECT_EQ(nominal("200"), "a size without a unit: found '200', expected 200 \u00b5m or 75 \u00b5m (No. 200)");
  EXPECT_EQ(nominal("76 um"),
            "the set of tables built in has no such size; the nearest are 80 \u00b5m above and 75 \u00b5m (No. 200) below: found "
            "'76 um'");
  EXPECT_THAT(nominal("mash 200"), HasSubstr("not a size: found 'mash 200'"));
}

TEST(FindEdition, ExactNamesAlone) {
  EXPECT_EQ(find_edition("astm-e11-17").value()->title, "ASTM E11-17");
  EXPECT_EQ(find_edition("iso-3310-1-2016").value()->title, "ISO 3310-1:2016");
  EXPECT_EQ(find_edition("iso-3310-1-1990").value()->title, "ISO 3310-1:1990");
  EXPECT_EQ(find_edition("astm-e11-04").value()->title, "ASTM E11-04");
}

TEST(FindEdition, AStandardWithoutItsEditionListsThem) {
  for (const std::string_view name :
       {"astm-e11", "ASTM E11", "e11", "astm", "iso-3310-1", "ISO 3310-1", "iso", "3310-1", "ISO 3310"}) {
    const auto edition = find_edition(name);
    ASSERT_FALSE(edition.ok()) << name;
    EXPECT_EQ(edition.error().code, ErrorCode::edition_missing) << name;
    EXPECT_EQ(edition.error().expected, "one of astm-e11-04, astm-e11-17, iso-3310-1-1990, iso-3310-1-2016");
  }
}

TEST(FindEdition, NearMissesAreNamed) {
  const auto message = [](std::string_view name) {
    const auto edition = find_edition(name);
    EXPECT_FALSE(edition.ok());
    EXPECT_EQ(edition.error().code, ErrorCode::unknown_standard) << name;
    return edition.error().message;
  };
  EXPECT_EQ(message("ASTM E11-17"), "not the name of an edition; astm-e11-17 may be meant");
  EXPECT_EQ(message("e11-17"), "not the name of an edition; astm-e11-17 may be meant");
  EXPECT_EQ(message("ISO 3310-1:2016"), "not the name of an edition; iso-3310-1-2016 may be meant");
  EXPECT_EQ(message("ISO  3310-1 : 2016"), "not the name of an edition; iso-3310-1-2016 may be meant");
  EXPECT_EQ(message("astm-e11-24"), "no table of this edition is built in");
  EXPECT_EQ(message("iso-3310-1-2000"), "no table of this edition is built in");
  EXPECT_EQ(message("iso-3310-2"), "unknown standard");
  EXPECT_EQ(message(""), "unknown standard");
  EXPECT_EQ(message("-"), "unknown standard");
}

TEST(ParseGrade, NamesOnly) {
  EXPECT_EQ(parse_grade("compliance").value(), Grade::compliance);
  EXPECT_EQ(parse_grade("Inspection").value(), Grade::inspection);
  EXPECT_EQ(parse_grade(" calibration ").value(), Grade::calibration);
  EXPECT_EQ(to_text(parse_grade("certification").error()),
            "unknown grade: found 'certification', expected compliance, inspection or calibration");
}

TEST(Specify, AsksForAGradeWhereTheEditionHasGrades) {
  const Edition& graded = edition("astm-e11-17");
  EXPECT_EQ(specify(graded, "No. 200", Grade::inspection).value().row->designation, "75 \u00b5m");
  EXPECT_EQ(specify(graded, "No. 200", std::nullopt).error().code, ErrorCode::grade_missing);
  const Edition& old = edition("iso-3310-1-1990");
  EXPECT_FALSE(specify(old, "75 um", std::nullopt).value().grade);
  EXPECT_EQ(specify(old, "75 um", Grade::inspection).error().code, ErrorCode::grade_not_in_edition);
  EXPECT_EQ(specify(old, "76 um", Grade::inspection).error().code, ErrorCode::unknown_size);
}

TEST(FindSize, BlanksOfTypographers) {
  // boundary: a no-break space and a narrow no-break space precede a unit in printed standards; other spaces are not accepted
  const Edition& e11 = *find_edition("astm-e11-17").value();
  for (const std::string_view size : {"75\u00a0um", "75\u202fum", "75\u202f\u00b5m", "No.\u202f200", "3/8\u00a0in."})
    EXPECT_TRUE(find_size(e11, size).ok()) << size;
  for (const std::string_view size : {"75\u200bum", "75\u3000um", "7\u202f5um"}) EXPECT_FALSE(find_size(e11, size).ok()) << size;
}

TEST(FindSize, ACommaBeforeThreeDigitsHasTwoReadings) {
  // regression: `75,000 um` was read as 75 um; a comma can only be the decimal mark if a lone 0 precedes it
  const Edition& e11 = *find_edition("astm-e11-17").value();
  for (const std::string_view size : {"75,000 um", "75,000um", "1,180 um", "75,000 mm", "1,000 mm", "00,075 mm", "1,060 in."}) {
    const Result<const Row*> row = find_size(e11, size);
    ASSERT_FALSE(row.ok()) << size;
    EXPECT_EQ(row.error().code, ErrorCode::ambiguous_size) << size;
  }
  const Error error = find_size(e11, "75,000 um").error();
  EXPECT_NE(error.expected.find("75000 um"), std::string::npos) << error.expected;
  EXPECT_NE(error.expected.find("75 um"), std::string::npos) << error.expected;
  for (const std::string_view size : {"0,075 mm", "75,0 um", "75,00 um", "75,0000 um", "4,75 mm"})
    EXPECT_TRUE(find_size(e11, size).ok()) << size;
}

}  // namespace
}  // namespace sievecloth
