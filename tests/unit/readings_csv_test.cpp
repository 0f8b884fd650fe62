#include "sievecloth/readings_csv.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <functional>
#include <string>
#include <vector>

namespace sievecloth {
namespace {

using testing::HasSubstr;

struct Outcome {
  std::vector<Reading> readings;
  Errors errors;
};

Outcome read(std::string_view text, CsvOptions options = {}, std::size_t piece = std::string_view::npos) {
  Outcome outcome;
  options.file = "cloth.csv";
  CsvReader reader(options, [&](const Reading& reading) { outcome.readings.push_back(reading); });
  while (!text.empty()) {
    reader.feed(text.substr(0, piece));
    text.remove_prefix(std::min(piece, text.size()));
  }
  const Result<std::int64_t> rows = reader.finish();
  if (!rows.ok()) outcome.errors = rows.errors();
  return outcome;
}

// The only error, as `code line column`.
std::string complaint(std::string_view text, CsvOptions options = {}) {
  const Outcome outcome = read(text, options);
  if (outcome.errors.size() != 1) return std::to_string(outcome.errors.size()) + " complaints";
  const Error& error = outcome.errors.front();
  EXPECT_EQ(error.where.file, "cloth.csv");
  return std::to_string(static_cast<int>(error.code)) + " " + std::to_string(error.where.line) + " " +
         std::to_string(error.where.column);
}

TEST(ReadingsCsv, EveryColumn) {
  // identity: each cell arrives in its own place, exactly
  const Outcome outcome = read(
      "# a "
      "note\ndirection,aperture_um,wire_mm,role,field,x_mm,y_mm,gap\nwarp,75.3,0.05,sample,F1,-1.5,2,012\nshute,76,,suspect,,,,\n");
  ASSERT_EQ(outcome.readings.size(), 2u);
  const Reading& first = outcome.readings[0];
  EXPECT_EQ(first.direction, Direction::warp);
  EXPECT_EQ(first.aperture, Length::from_pm(75'300'000));
  EXPECT_EQ(first.wire, Length::of(50, Unit::micrometre));
  EXPECT_EQ(first.field, "F1");
  EXPECT_EQ(first.x, Length::from_pm(-1'500'000'000));
  EXPECT_EQ(first.gap, 12);
  EXPECT_EQ(first.line, 3);
  EXPECT_EQ(outcome.readings[1].direction, Direction::weft);
  EXPECT_EQ(outcome.readings[1].role, Role::suspect);
  EXPECT_EQ(outcome.readings[1].wire, std::nullopt);
  EXPECT_EQ(outcome.readings[1].gap, std::nullopt);
}

TEST(ReadingsCsv, NumbersOfGaps) {
  // boundary: whole numbers from 0 to 999,999,999, with leading zeros; nothing else
  for (const std::string good : {"0", "999999999", "0000000000007", "\"3\"", " 4 "})
    EXPECT_EQ(read("direction,aperture_um,gap\nwarp,75," + good + "\n").readings.size(), 1u) << good;
  for (const std::string bad : {"1000000000", "-1", "1.0", "1e3", "x", "99999999999999999999999"})
    EXPECT_EQ(complaint("direction,aperture_um,gap\nwarp,75," + bad + "\n"), "223 2 9") << bad;
}

TEST(ReadingsCsv, WaysToWriteTheSame) {
  // identity: separators, decimal marks, quotes, blanks, line ends, BOM and units do not change the reading
  for (const char* text :
       {"direction,aperture_um\nwarp,75.3\n", "direction;aperture_um\r\nwarp;75,3\r\n", "direction\taperture_um\nwarp\t75,3\n",
        "\xEF\xBB\xBF\"direction\",\"aperture_um\"\n\"warp\",\"75.3\"\n\n\n", "direction , aperture_mm\n warp , 0.0753 \n",
        "aperture_um;direction\n\"75,3\";warp\n"}) {
    const Outcome outcome = read(text);
    ASSERT_EQ(outcome.readings.size(), 1u) << text;
    EXPECT_EQ(outcome.readings[0].aperture, Length::from_pm(75'300'000)) << text;
    EXPECT_TRUE(outcome.errors.empty()) << text;
  }
}

TEST(ReadingsCsv, PiecesOfAnySize) {
  // property: the points at which the input is split affect neither readings nor errors
  const std::string text =
      "\xEF\xBB\xBF"
      "direction;aperture_um;field\r\nwarp;75,3;\"a;\"\"\xC2\xB5\"\r\n#n\r\nweft;7x;b\r\nweft;80;b\r\n";
  const Outcome whole = read(text);
  ASSERT_EQ(whole.errors.size(), 1u);
  for (std::size_t piece = 1; piece < text.size(); ++piece) {
    const Outcome cut = read(text, {}, piece);
    ASSERT_EQ(cut.readings.size(), whole.readings.size());
    EXPECT_EQ(cut.readings[0].field, "a;\"\xC2\xB5");
    ASSERT_EQ(cut.errors.size(), 1u);
    EXPECT_EQ(to_text(cut.errors[0]), to_text(whole.errors[0]));
  }
}

TEST(ReadingsCsv, UnitsFromTheOption) {
  // identity: a column without a unit uses that of the option; with neither it is an error; with
  // both they must agree, so that one option serves files of which some name the unit
  EXPECT_EQ(read("direction,aperture\nwarp,3\n", {.unit = Unit::inch}).readings.at(0).aperture, Length::from_pm(76'200'000'000));
  EXPECT_EQ(complaint("direction,aperture\nwarp,3\n"), "214 1 11");
  EXPECT_EQ(complaint("direction,aperture_um\nwarp,3\n", {.unit = Unit::inch}), "130 1 1");
  EXPECT_EQ(read("direction,aperture_um\nwarp,3\n", {.unit = Unit::micrometre}).readings.at(0).aperture, Length::from_pm(3'000'000));
}

TEST(ReadingsCsv, HeadersThatCannotBeUnderstood) {
  // boundary: each way in which a header can be wrong, with its position
  EXPECT_EQ(complaint(""), "210 1 1");
  EXPECT_EQ(complaint("direction,aperture_um\n"), "240 2 1");
  EXPECT_EQ(complaint("direction,aperture_um,note\nwarp,1,x\n"), "211 1 23");
  EXPECT_EQ(complaint("direction,aperture_um,aperture_mm\nwarp,1,1\n"), "212 1 23");
  EXPECT_EQ(complaint("aperture_um\n1\n"), "213 1 1");
  EXPECT_EQ(complaint("direction,x_mm,aperture_um\nwarp,1,1\n"), "213 1 1");
  EXPECT_EQ(complaint("direction,role,wire_um\nwarp,,1\n"), "213 1 1");
  EXPECT_EQ(complaint("direction,aperture_um,x_um\nwarp,1,1\n"), "211 1 23");  // positions are in mm only
  EXPECT_TRUE(read("direction,aperture_um,note\nwarp,1,x\n", {.ignore_columns = true}).errors.empty());
}

TEST(ReadingsCsv, NamesAndUnitsAsPeopleWriteThem) {
  // identity: one quantity in one unit, however its column is named; both characters for micro, and the byte of Windows-1252
  for (const char* name : {"aperture_um", "Aperture (um)", "APERTURE [\u00b5m]", "aperture(\u03bcm)", "aperture / um",
                           "Aperture um", "aperture _ \u00b5m", "\"Aperture, um\"", "aperture (\xB5m)", "\"aperture, \xB5m\""}) {
    const Outcome outcome = read(std::string("Direction,") + name + "\nWARP,75\n");
    ASSERT_TRUE(outcome.errors.empty()) << name << to_text(outcome.errors.front());
    EXPECT_EQ(outcome.readings.at(0).aperture, Length::from_pm(75'000'000)) << name;
  }
  EXPECT_EQ(read("direction,wire (in)\nwarp,.00307\n").readings.at(0).wire, Length::from_pm(77'978'000));
}

TEST(ReadingsCsv, NamesThatCouldBeOthers) {
  // boundary: a unit that could be a word or is none, two columns for one thing, a byte that is a micro sign only in a unit
  for (const char* name : {"aperture in", "aperture cm", "aperture (nm)", "aperture um um", "apertures_um", "aperture_", "x (um)"})
    EXPECT_EQ(complaint(std::string("direction,wire_um,") + name + "\nwarp,1,75\n"), "211 1 19") << name;
  EXPECT_EQ(complaint("direction,Aperture (um),aperture_mm\nwarp,1,1\n"), "212 1 25");
  EXPECT_EQ(complaint("direction,aperture (\xB5)\nwarp,1\n"), "201 1 21");
  EXPECT_EQ(complaint("direction,aperture_um,Pr\xFC"
                      "fer\nwarp,1,x\n",
                      {.ignore_columns = true}),
            "201 1 25");
  EXPECT_EQ(complaint("# \xB5m\ndirection,aperture_um\nwarp,1\n"), "201 1 3");
  EXPECT_EQ(complaint("direction,aperture_um,field\nwarp,1,\xB5m\n"), "201 2 8");
  EXPECT_THAT(to_text(read("direction,aperture_um,field\nwarp,1,\xE4\n").errors.at(0)), HasSubstr("CSV UTF-8"));
}

TEST(ReadingsCsv, ColumnsWithNamesOfTheirOwn) {
  // identity: a column is found by the name that the options give, whatever its case, with the unit behind it or that of the option
  CsvOptions options{
      .unit = Unit::micrometre,
      .columns = {{"Richtung", "direction"}, {"Maschenweite", "aperture"}, {"Draht (mm)", "wire"}, {"x_mm", "field"}}};
  const Outcome outcome = read("MASCHENWEITE;Richtung;draht (mm);X_mm\n75,5;Weft;0,05;A\n", options);
  ASSERT_TRUE(outcome.errors.empty()) << to_text(outcome.errors.front());
  const Reading& reading = outcome.readings.at(0);
  EXPECT_EQ(reading.direction, Direction::weft);
  EXPECT_EQ(reading.aperture, Length::from_pm(75'500'000));
  EXPECT_EQ(reading.wire, Length::from_pm(50'000'000));
  EXPECT_EQ(reading.field, "A");
  EXPECT_FALSE(reading.x);
}

TEST(ReadingsCsv, NamesThatTheHeaderLacksOrRepeats) {
  // boundary: a named column that is not there, twice, or beside the usual one; a unit twice or not at all; a content that cannot
  // be
  const auto named = [](std::string name, std::string holds) {
    return CsvOptions{.columns = {{std::move(name), std::move(holds)}}};
  };
  EXPECT_EQ(complaint("direction,aperture_um\nwarp,1\n", named("Weite", "wire")), "213 1 1");
  EXPECT_THAT(to_text(read("direction,aperture_um\nwarp,1\n", named("Weite", "wire")).errors.at(0)),
              HasSubstr("direction, aperture_um"));
  EXPECT_EQ(complaint("direction,A (um),a (um)\nwarp,1,1\n", named("a (um)", "aperture")), "212 1 18");
  EXPECT_EQ(complaint("direction,a (um),aperture_um\nwarp,1,1\n", named("a (um)", "aperture")), "212 1 18");
  EXPECT_EQ(complaint("direction,Weite\nwarp,1\n", named("Weite", "aperture")), "214 1 11");
  CsvOptions twice = named("Weite (mm)", "aperture");
  twice.unit = Unit::micrometre;
  EXPECT_EQ(complaint("direction,Weite (mm)\nwarp,1\n", twice), "130 1 1");
  EXPECT_EQ(complaint("direction,aperture_um,b\nwarp,1,\n", named("b", "colour")).substr(0, 1), "2");
}

TEST(ReadingsCsv, WideTables) {
  // identity: a row gives up to one reading of each direction; what is common to the row is common to both
  const CsvOptions options{.columns = {{"K (um)", "aperture", Direction::warp},
                                       {"KD (um)", "wire", Direction::warp},
                                       {"S (um)", "aperture", Direction::weft},
                                       {"Kn", "gap", Direction::warp}}};
  const Outcome outcome =
      read("K (um),KD (um),S (um),Kn,field,role,operator\n75,50,76,3,A,,Anna\n,,74,,B,suspect,\n77,,,4,,,\n", options);
  ASSERT_TRUE(outcome.errors.empty()) << to_text(outcome.errors.front());
  ASSERT_EQ(outcome.readings.size(), 4u);
  const auto shown = [](const Reading& reading) {
    return std::string(to_text(reading.direction)) + " " + (reading.aperture ? to_text(*reading.aperture, Unit::micrometre) : "-") +
           " " + (reading.wire ? to_text(*reading.wire, Unit::micrometre) : "-") + " " + reading.field +
           (reading.role == Role::suspect ? "!" : "") + reading.operator_name + " " + std::to_string(reading.gap.value_or(-1)) +
           " " + std::to_string(reading.line);
  };
  EXPECT_EQ(shown(outcome.readings[0]), "warp 75 50 AAnna 3 2");
  EXPECT_EQ(shown(outcome.readings[1]), "weft 76 - AAnna -1 2");
  EXPECT_EQ(shown(outcome.readings[2]), "weft 74 - B! -1 3");
  EXPECT_EQ(shown(outcome.readings[3]), "warp 77 -  4 4");
  EXPECT_EQ(complaint("K (um),KD (um),S (um),Kn\n75,50,x,\n", options), "223 2 7");
  EXPECT_EQ(complaint("K (um),KD (um),S (um),Kn\n,,,\n75,,,\n", options), "235 2 1");
  EXPECT_EQ(complaint("K (um),KD (um),S (um),Kn,direction\n75,,,,warp\n", options), "213 1 1");
  EXPECT_EQ(complaint("K (um),KD (um),S (um),Kn,wire_um\n75,,,,\n", options), "2 complaints");  // twice, and of no direction
}

TEST(ReadingsCsv, FilesOfOneDirection) {
  // boundary: no column of directions is needed, and one that is there must agree in every row; an empty line is no row
  const CsvOptions options{.direction = Direction::weft};
  const Outcome outcome = read("aperture_um\n75\n.5\n", options);
  ASSERT_EQ(outcome.readings.size(), 2u);
  EXPECT_EQ(outcome.readings[1].direction, Direction::weft);
  EXPECT_EQ(outcome.readings[1].aperture, Length::from_pm(500'000));
  EXPECT_EQ(complaint("aperture_um\n75\n\n76\n", options), "235 3 1");
  EXPECT_EQ(complaint("aperture_um,wire_um\n75,\n,\n76,\n", options), "235 3 1");
  EXPECT_TRUE(read("direction,aperture_um\nweft,75\nshute,76\n", options).errors.empty());
  EXPECT_EQ(complaint("direction,aperture_um\nweft,75\nwarp,76\n", options), "230 3 1");
}

TEST(ReadingsCsv, CellsThatAreNoReadings) {
  // boundary: each way in which a row can be wrong, with its line and column
  const std::string header = "direction,aperture_um,wire_um\n";
  EXPECT_EQ(complaint(header + "wrap,75,50\n"), "230 2 1");
  EXPECT_EQ(complaint(header + ",75,50\n"), "230 2 1");
  for (const char* number : {"NaN", "inf", "1e5", "+75", "75um", "0x4b", "7 5"}) {
    EXPECT_EQ(complaint(header + "warp," + number + ",50\n"), "223 2 6") << number;
  }
  EXPECT_EQ(complaint(header + "warp,0,50\n"), "224 2 6");
  EXPECT_EQ(complaint(header + "warp,-75,50\n"), "224 2 6");
  EXPECT_EQ(complaint(header + "warp,75.0000000000001,50\n"), "226 2 6");
  EXPECT_EQ(complaint(header + "warp,75\n"), "220 2 1");
  EXPECT_EQ(complaint(header + "warp,1,234.5,50\n"), "220 2 1");
  EXPECT_EQ(complaint(header + "warp,\"75,3\",50\n"), "227 2 6");
  EXPECT_EQ(complaint(header + "warp,\"75,50\n"), "221 2 6");
  EXPECT_EQ(complaint(header + "warp,\"75\"x,50\n"), "222 2 6");
  EXPECT_EQ(complaint(header + "warp,75,50\n\nwarp,75,50\n"), "235 3 1");
  EXPECT_EQ(complaint("direction;aperture_um\nwarp;75,3\nwarp;75.3\n"), "227 3 6");
  EXPECT_EQ(complaint("direction;aperture_um\nwarp;1.234,5\n"), "223 2 6");
  EXPECT_EQ(complaint("direction,aperture_um,role\nwarp,75,other\n"), "231 2 9");
  EXPECT_EQ(complaint("direction,aperture_um,wire_um,role\nwarp,75,50,suspect\n"), "234 2 1");
  EXPECT_EQ(complaint("direction,aperture_um,x_mm,y_mm\nwarp,75,1,\n"), "232 2 1");
  EXPECT_EQ(complaint("direction,aperture_um,x_mm,y_mm\nwarp,75,1,2\nweft,75,1,2\nwarp,76,1.0,2\n"), "233 4 1");
  EXPECT_EQ(complaint("direction,aperture_um,field\nwarp,75,\xFF\n"), "201 2 9");
}

TEST(ReadingsCsv, TextsThatAreNone) {
  // boundary: encodings and line ends that would be misread, and a line without a line end
  EXPECT_EQ(complaint(std::string_view("\xFF\xFE"
                                       "d\0i",
                                       5)),
            "201 1 2");
  EXPECT_EQ(complaint(std::string_view("d\0i\0", 4)), "201 1 1");
  EXPECT_EQ(complaint(std::string("direction,aperture_um\nwarp,7\0", 30)), "201 2 7");
  EXPECT_EQ(complaint("direction,aperture_um\rwarp,75\r"), "236 1 22");
  EXPECT_EQ(complaint("direction,aperture_um\nwarp," + std::string(1 << 20, '7') + "\n"), "202 2 1");
  EXPECT_EQ(complaint("direction,aperture_um\nwarp," + std::string(1 << 20, '7')), "202 2 1");
}

TEST(ReadingsCsv, LongestReading) {
  // boundary: 100 m is read, a picometre more is not
  EXPECT_TRUE(read("direction,aperture_mm\nwarp,100000\n").errors.empty());
  EXPECT_EQ(complaint("direction,aperture_mm\nwarp,100000.000000001\n"), "225 2 6");
}

TEST(ReadingsCsv, TwentyComplaintsAtOnce) {
  // boundary: twenty errors are reported together, in order; a twenty-first is not read
  std::string text = "direction,aperture_um\n";
  for (int i = 0; i < 30; ++i) text += "warp,x\n";
  const Outcome outcome = read(text);
  ASSERT_EQ(outcome.errors.size(), k_most_complaints);
  EXPECT_EQ(outcome.errors.back().where.line, 21);
}

TEST(ReadingsCsv, ComplaintsSayWhereAndWhat) {
  // identity: the form `FILE:LINE:COLUMN: what: found, expected`, control characters made visible
  const Outcome outcome = read("direction,aperture_um\nwr\x1b[31map,75\n");
  ASSERT_EQ(outcome.errors.size(), 1u);
  EXPECT_THAT(to_text(outcome.errors[0]),
              testing::StartsWith("cloth.csv:2:1: unknown direction: found 'wr\\x1b[31map', expected warp or weft"));
}

TEST(ReadingsCsv, ColumnsCountCharacters) {
  // boundary: a two-byte character before the cell counts once
  EXPECT_EQ(complaint("field,direction,aperture_um\n\xC2\xB5,warp,x\n"), "223 2 8");
}

}  // namespace
}  // namespace sievecloth
