// boundary: the strictness promised in include/sievecloth/table_file.hpp; positions counted by hand in the tables below.
#include "sievecloth/table_file.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <iterator>

#include "sievecloth/specification.hpp"

namespace sievecloth {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::SizeIs;

/// An owner's table. Lines are counted in the tests.
constexpr std::string_view k_table = R"(schema: sievecloth-table/1
standard: house
edition: "3"
title: House rules 3
unit: um
rests_on: our own drawing
sources:
  - {id: drawing, title: "Drawing 12"}
  - {id: letter, title: "Letter of 3 May"}
defaults:
  rows: {provenance: seen, source: drawing}
  wire: {provenance: memory, source: letter}
rules:
  graded: true
  spread: {factor: true, settled: true, tail: {compliance: "0.01", inspection: "0.005", calibration: "0.00135"}, provenance: seen, source: drawing}
  share: {percent: "5", provenance: seen, source: drawing}
  resolution: {floor: "0.5", fraction_of_average: "3", provenance: seen, source: drawing}
  count_scale: {compliance: area_of_cloth, inspection: sieving_area, calibration: fixed, provenance: seen, source: drawing}
  wire_count: {value: "12", provenance: seen, source: letter}
rows:
  - {nominal: "90", alternative: "No. 170", average_tolerance: "4.6", intermediate_limit: "108", maximum_tolerance: "32", maximum_individual: "122",
     standard_deviation_limit: {compliance: "11.27", calibration: {value: "9.8", provenance: doubtful, source: letter}},
     counts: {compliance: "1000", inspection: "all", provenance: inferred, source: letter}, wire: {preferred: "63", minimum: "54", maximum: "72"}}
  - {nominal: "75.5", average_tolerance: "4.1", intermediate_limit: "91", maximum_tolerance: "29", provenance: computed, source: letter,
     standard_deviation_limit: "9", counts: "100", wire: {preferred: "50", minimum: "43", maximum: "58"}}
errata:
  - {sizes: ["90"], value: wire.maximum, date: "2026-11-25", printed: "70", used: "72", reason: misprint}
)";

std::string with(std::string_view from, std::string_view to) {
  std::string text(k_table);
  const std::size_t at = text.find(from);
  if (at == std::string::npos) throw std::runtime_error("not in the table: " + std::string(from));
  return text.replace(at, from.size(), to);
}

std::vector<std::string> complaints(std::string_view yaml) {
  const Result<TableFile> table = read_table(yaml, "t.yaml");
  std::vector<std::string> texts;
  if (table) return texts;
  for (const Error& error : table.errors()) texts.push_back(to_text(error));
  return texts;
}

TEST(TableFile, ReadsAnOwnersTable) {
  const TableFile file = read_table(k_table, "t.yaml").value();
  const Edition& table = file.edition();
  EXPECT_EQ(table.name, "house-3");
  EXPECT_EQ(table.title, "House rules 3 (owner's table)");
  EXPECT_EQ(table.rests_on, "our own drawing");
  EXPECT_EQ(table.table_set, "own table");
  ASSERT_THAT(table.sources, SizeIs(2));
  EXPECT_EQ(table.sources[1].title, "Letter of 3 May");
  ASSERT_THAT(table.errata, SizeIs(1));
  EXPECT_EQ(table.errata[0].where, "90 \u00b5m, wire.maximum");
  EXPECT_EQ(table.errata[0].used, "72");
}

TEST(TableFile, ReadsEveryRule) {
  const TableFile file = read_table(k_table, "t.yaml").value();
  const Rules& rules = file.edition().rules;
  EXPECT_TRUE(rules.graded);
  EXPECT_TRUE(rules.spread.factor);
  EXPECT_TRUE(rules.spread.settled);
  EXPECT_THAT(rules.spread.tail_millionths.values, ElementsAre(10000, 5000, 1350));
  EXPECT_EQ(rules.share->percent, 5);
  EXPECT_EQ(rules.resolution->floor, Length::from_pm(500'000));
  EXPECT_EQ(rules.resolution->fraction_of_average, 3);
  EXPECT_THAT(rules.counts.scale.values, ElementsAre(CountScale::area_of_cloth, CountScale::sieving_area, CountScale::fixed));
  EXPECT_EQ(rules.wire_count.value, 12);
  EXPECT_EQ(rules.wire_count.basis.source, 1);
}

TEST(TableFile, TheNearestBasisSpeaks) {
  const TableFile file = read_table(k_table, "t.yaml").value();
  const Row& first = file.edition().rows[0];
  EXPECT_EQ(first.average_tolerance.basis.provenance, Provenance::second_hand);        // of all rows: seen, by its owner
  EXPECT_EQ(first.wire.minimum.basis.provenance, Provenance::memory);                  // of the column
  EXPECT_EQ(first.counts[Grade::compliance]->basis.provenance, Provenance::inferred);  // of the group
  EXPECT_EQ(first.standard_deviation_limit[Grade::calibration]->basis.provenance, Provenance::doubtful);  // of the value
  EXPECT_EQ(first.standard_deviation_limit[Grade::calibration]->basis.source, 1);
  EXPECT_EQ(first.standard_deviation_limit[Grade::compliance]->basis.provenance, Provenance::second_hand);
  const Row& second = file.edition().rows[1];
  EXPECT_EQ(second.wire.minimum.basis.provenance, Provenance::second_hand);  // of the row, before the column's
}

TEST(TableFile, WhatAnOwnerSawNobodyElseVerified) {
  // boundary: those provenance words that would make a verdict plain count as second-hand in an owner's table
  for (const auto& [word, counted] : {std::pair("seen", Provenance::second_hand), std::pair("computed", Provenance::second_hand),
                                      std::pair("confirmed", Provenance::confirmed), std::pair("memory", Provenance::memory)}) {
    const TableFile file = read_table(with("rows: {provenance: seen, source: drawing}",
                                           "rows: {provenance: " + std::string(word) + ", source: drawing}"),
                                      "t")
                               .value();
    EXPECT_EQ(file.edition().rows[0].average_tolerance.basis.provenance, counted);
    EXPECT_FALSE(is_verified(file.edition().rules.wire_count.basis.provenance));
  }
}

TEST(TableFile, LooksForTypingErrors) {
  // property: values ten times too large or small, or of another size, raise doubts about their row only, unless explained by the
  // errata
  std::string sound = with("standard_deviation_limit: \"9\", counts: \"100\"",
                           "standard_deviation_limit: {compliance: \"10.23\"}, counts: {compliance: \"1000\"}");
  constexpr std::string_view k_gap = "calibration: {value: \"9.8\"";  // the larger size lacks the limit of one grade
  sound.replace(sound.find(k_gap), 0, "inspection: \"9.8\", ");
  const auto doubts = [&](std::string_view from, std::string_view to) {
    std::string text = sound;
    for (std::size_t at = 0; (at = text.find(from, at)) != std::string::npos; at += to.size()) text.replace(at, from.size(), to);
    std::vector<std::string> found;
    const TableFile file = read_table(text, "t.yaml").value();
    for (const ImplausibleValue& implausible : file.edition().doubts)
      found.push_back(to_text(implausible.nominal) + " " + std::string(implausible.value));
    return found;
  };
  EXPECT_THAT(doubts("House", "House"), SizeIs(0));
  EXPECT_THAT(doubts("average_tolerance: \"4.1\"", "average_tolerance: \"14\""),
              ::testing::Contains("75.5 \u00b5m average_tolerance"));
  EXPECT_THAT(doubts("maximum_tolerance: \"29\"", "maximum_tolerance: \"290\""),
              ::testing::Contains("75.5 \u00b5m maximum_tolerance"));
  EXPECT_THAT(doubts("\"10.23\"", "\"102.3\""), ::testing::Contains("75.5 \u00b5m standard_deviation_limit.compliance"));
  EXPECT_THAT(doubts("maximum: \"58\"", "maximum: \"85\""), ElementsAre("75.5 \u00b5m wire.maximum"));
  const auto spreads = [&](std::string_view inspection) {
    const std::string to = "{compliance: \"10.23\", inspection: \"" + std::string(inspection) + "\", calibration: \"9.0\"}";
    return doubts("{compliance: \"10.23\"}", to);
  };
  EXPECT_THAT(spreads("9.0"), SizeIs(0));
  EXPECT_THAT(doubts("{compliance: \"10.23\"}", "{compliance: \"10.23\", calibration: \"9.0\"}"),
              ::testing::Contains("75.5 \u00b5m standard_deviation_limit.inspection"));  // left out between two that have it
  EXPECT_THAT(spreads("9.1"), ElementsAre("75.5 \u00b5m standard_deviation_limit.inspection"));  // above calibration's
  EXPECT_THAT(doubts("counts: {compliance: \"1000\"}", "counts: {compliance: \"all\"}"),
              ElementsAre("75.5 \u00b5m counts.compliance",
                          "90 \u00b5m counts.compliance"));  // all of them below a size that requires a number
  EXPECT_THAT(doubts("intermediate_limit: \"91\"", "intermediate_limit: \"99\""), ElementsAre("75.5 \u00b5m intermediate_limit"));
  EXPECT_THAT(doubts("wire: {preferred: \"50\", minimum: \"43\", maximum: \"58\"}",
                     "wire: {preferred: \"5.0\", minimum: \"4.3\", maximum: \"5.8\"}"),
              ElementsAre("75.5 \u00b5m wire.preferred"));
  EXPECT_THAT(doubts("\"72\"", "\"82\""), SizeIs(0));  // listed in the errata
}

TEST(TableFile, ReadsValuesByGradeAndForAllGrades) {
  const TableFile file = read_table(k_table, "t.yaml").value();
  const Row& first = file.edition().rows[0];
  EXPECT_EQ(first.nominal, Length::of(90, Unit::micrometre));
  EXPECT_FALSE(first.standard_deviation_limit[Grade::inspection]);
  EXPECT_EQ(first.counts[Grade::inspection]->value, k_all);
  EXPECT_FALSE(first.counts[Grade::calibration]);
  EXPECT_EQ(first.intermediate_limit->value, Length::of(108, Unit::micrometre));
  const Row& second = file.edition().rows[1];
  EXPECT_EQ(second.designation, "75.5 \u00b5m");
  EXPECT_TRUE(second.alternative.empty());
  for (const Grade grade : k_grades) {
    EXPECT_EQ(second.standard_deviation_limit[grade]->value, Length::of(9, Unit::micrometre));
    EXPECT_EQ(second.counts[grade]->value, 100);
  }
}

TEST(TableFile, OutlivesItsTextAndMoves) {
  auto text = std::make_unique<std::string>(k_table);
  TableFile file = read_table(*text, "t.yaml").value();
  text.reset();
  const Edition* before = &file.edition();
  const TableFile moved = std::move(file);
  EXPECT_EQ(&moved.edition(), before);
  EXPECT_EQ(find_size(moved.edition(), "#170").value()->designation, "90 \u00b5m");
}

struct Wrong {
  std::string_view from;
  std::string_view to;
  std::string_view complaint;

  friend void PrintTo(const Wrong& wrong, std::ostream* out) { *out << wrong.complaint; }
};

class Strictness : public ::testing::TestWithParam<Wrong> {};

TEST_P(Strictness, OneMistakeOneComplaint) {
  EXPECT_THAT(complaints(with(GetParam().from, GetParam().to)), ElementsAre(HasSubstr(std::string(GetParam().complaint))));
}

INSTANTIATE_TEST_SUITE_P(
    TableFile, Strictness,
    ::testing::Values(
        Wrong{"sievecloth-table/1", "sievecloth-table/2",
              "t.yaml:1:9: unknown word: found 'sievecloth-table/2', expected one of sievecloth-table/1"},
        Wrong{"unit: um", "unit: mm", "t.yaml:5:7: unknown word: found 'mm', expected one of um"},
        Wrong{"standard: house", "standard: House", "t.yaml:2:11: not a part of a name: found 'House'"},
        Wrong{"title: House rules 3\n", "", "t.yaml:1:1: the file lacks the key 'title'"},
        Wrong{"title: House rules 3", "title:", "t.yaml:4:1: key without a value: found 'title'"},
        Wrong{"unit: um\n", "unit: um\nunits: um\n", "t.yaml:6:1: unknown key in the file: found 'units'"},
        Wrong{"unit: um\n", "unit: um\nunit: um\n", "t.yaml:6:1: key given twice, first in line 5: found 'unit'"},
        Wrong{"average_tolerance: \"4.6\"", "average_tolerance: 4.6",
              "t.yaml:21:64: a number without quotes: found '4.6', expected \"4.6\""},
        Wrong{"average_tolerance: \"4.6\"", "average_tolerance: \"4,6\"",
              "t.yaml:21:64: not a number in plain digits: found '4,6'"},
        Wrong{"average_tolerance: \"4.6\"", "average_tolerance: \"0\"", "t.yaml:21:64: not above 0: found '0'"},
        Wrong{"average_tolerance: \"4.6\"", "average_tolerance: \"-1\"", "t.yaml:21:64: not above 0: found '-1'"},
        Wrong{"average_tolerance: \"4.6\"", "average_tolerance: \"4.60000001\"", "t.yaml:21:64: finer than a picometre"},
        Wrong{"average_tolerance: \"4.6\", ", "", "t.yaml:21:5: a row lacks the key 'average_tolerance'"},
        Wrong{"average_tolerance: \"4.6\"", "average_tolerance: ", "t.yaml:21:45: key without a value: found 'average_tolerance'"},
        Wrong{"nominal: \"90\"", "nominal: \"90\", nominal: \"90\"",
              "t.yaml:21:21: key given twice, first in line 21: found 'nominal'"},
        Wrong{"maximum_individual: \"122\"", "maximum_individual: \"123\"",
              "maximum_individual is not nominal + maximum_tolerance: found '123', expected 122"},
        Wrong{"intermediate_limit: \"91\"", "intermediate_limit: \"79.5\"",
              "t.yaml:24:69: intermediate_limit out of range: found '79.5', expected an aperture from 79.6 to 104.5"},
        Wrong{"intermediate_limit: \"91\", ", "",
              "t.yaml:24:5: a row lacks the key 'intermediate_limit', which the rule 'share' needs"},
        Wrong{"maximum_tolerance: \"29\"", "maximum_tolerance: \"4\"", "t.yaml:24:5: maximum_tolerance below average_tolerance"},
        Wrong{"minimum: \"43\"", "minimum: \"53\"", "t.yaml:25:58: a wire range that does not hold its preferred diameter"},
        Wrong{"preferred: \"50\", ", "", "t.yaml:25:58: wire lacks the key 'preferred'"},
        Wrong{"\"No. 170\"", "\"170 mesh\"", "t.yaml:21:34: not an alternative designation: found '170 mesh'"},
        Wrong{"\"No. 170\"", "\"170 um\"", "t.yaml:21:34: not an alternative designation: found '170 um'"},
        Wrong{"counts: \"100\"", "counts: \"some\"", "t.yaml:25:45: not a whole number in plain digits: found 'some'"},
        Wrong{"counts: \"100\"", "counts: 100", "t.yaml:25:45: a number without quotes: found '100'"},
        Wrong{"counts: \"100\"", "counts: {certification: \"100\"}", "t.yaml:25:46: unknown key in counts: found 'certification'"},
        Wrong{"value: \"9.8\", ", "", "t.yaml:22:67: a value lacks the key 'value'"},
        Wrong{"provenance: doubtful, ", "", "t.yaml:22:67: provenance and source come together"},
        Wrong{"provenance: doubtful", "provenance: certain",
              "unknown word: found 'certain', expected one of seen, confirmed, second-hand, computed, inferred"},
        Wrong{"source: letter}},\n", "source: phone}},\n", "a source that is not listed: found 'phone'"},
        Wrong{"graded: true", "graded: yes", "t.yaml:14:11: neither true nor false: found 'yes'"},
        Wrong{"settled: true, ", "", "t.yaml:15:11: settled and tail belong to a factor, and a factor needs both"},
        Wrong{"\"0.00135\"", "\"0.9\"", "not a lower tail: found '0.9', expected 0.000001 to 0.5"},
        Wrong{"percent: \"5\"", "percent: \"100\"",
              "t.yaml:16:20: not a whole number in plain digits: found '100', expected 1 to 99"},
        Wrong{"calibration: fixed", "calibration: growing",
              "unknown word: found 'growing', expected one of fixed, sieving_area, area_of_cloth"},
        Wrong{"value: \"12\"", "value: \"0\"", "t.yaml:19:23: not a whole number in plain digits: found '0'"},
        Wrong{"date: \"2026-11-25\"", "date: \"25.11.2026\"",
              "t.yaml:27:48: not a date: found '25.11.2026', expected a day of the calendar as YYYY-MM-DD"},
        Wrong{"date: \"2026-11-25\"", "date: \"2026-02-29\"", "t.yaml:27:48: not a date: found '2026-02-29'"},
        Wrong{"sizes: [\"90\"]", "sizes: [\"91\"]", "t.yaml:27:14: a size that no row has: found '91'"},
        Wrong{"value: wire.maximum", "value: wire.middle", "t.yaml:27:28: unknown word: found 'wire.middle'"},
        Wrong{"rows:\n  - {", "rows:\n  - [", "t.yaml:23:146: not YAML: illegal flow end"},
        Wrong{"unit: um", "unit: &u um", "t.yaml:5:7: an anchor (&) cannot be used here"}));

// The last values within each range; values beyond are refused above or here.
TEST(TableFile, RangesHoldTheirEnds) {
  constexpr std::string_view limits = "average_tolerance: \"4.1\", intermediate_limit: \"91\", maximum_tolerance: \"29\"";
  for (const auto& [from, to] : std::vector<std::pair<std::string_view, std::string_view>>{
           {limits, "average_tolerance: \"75.499999\", intermediate_limit: \"150.999999\", maximum_tolerance: \"75.499999\""},
           {"intermediate_limit: \"91\"", "intermediate_limit: \"79.6\""},
           {"intermediate_limit: \"91\"", "intermediate_limit: \"104.5\""},
           {"minimum: \"43\"", "minimum: \"50\""},
           {"maximum: \"58\"", "maximum: \"50\""},
           {"counts: \"100\"", "counts: \"1\""},
           {"value: \"12\"", "value: \"1\""},
           {"percent: \"5\"", "percent: \"1\""},
           {"percent: \"5\"", "percent: \"99\""},
           {"\"0.00135\"", "\"0.5\""},
           {"\"0.00135\"", "\"0.000001\""}}) {
    EXPECT_THAT(complaints(with(from, to)), ::testing::IsEmpty()) << to;
  }
  EXPECT_THAT(complaints(with(limits, "average_tolerance: \"75.5\", intermediate_limit: \"151\", maximum_tolerance: \"75.5\"")),
              ElementsAre("t.yaml:24:5: average_tolerance as large as the aperture"));
  EXPECT_THAT(complaints(with("intermediate_limit: \"91\"", "intermediate_limit: \"104.6\"")), SizeIs(1));
  EXPECT_THAT(complaints(with("maximum: \"58\"", "maximum: \"49\"")), SizeIs(1));
  EXPECT_THAT(complaints(with("counts: \"100\"", "counts: \"0\"")), SizeIs(1));
  EXPECT_THAT(complaints(with("percent: \"5\"", "percent: \"0\"")), SizeIs(1));
  EXPECT_THAT(complaints(with("\"0.00135\"", "\"0.500001\"")), SizeIs(1));
  EXPECT_THAT(complaints(with("\"0.00135\"", "\"0\"")), SizeIs(1));
}

TEST(TableFile, RowsMustFall) {
  EXPECT_THAT(complaints(with("nominal: \"75.5\"", "nominal: \"90\"")),
              ElementsAre("t.yaml:24:15: rows out of order: found '90', expected a size below 90",
                          HasSubstr("t.yaml:24:67: intermediate_limit out of range")));
  EXPECT_THAT(complaints(with("nominal: \"75.5\"", "nominal: \"106\"")),
              ::testing::Contains(HasSubstr("t.yaml:24:15: rows out of order")));
}

TEST(TableFile, SourcesAreListedOnce) {
  EXPECT_THAT(complaints(with("{id: letter,", "{id: drawing,")),
              ::testing::Contains("t.yaml:9:10: source listed twice: found 'drawing'"));
}

TEST(TableFile, AnEditionWithoutGradesHasNoValuesByGrade) {
  EXPECT_THAT(complaints(with("graded: true", "graded: false")),
              ElementsAre("t.yaml:22:32: values by grade in an edition without grades",
                          "t.yaml:23:14: values by grade in an edition without grades"));
}

// A limit without its rule, and rules without limits.
TEST(TableFile, LimitsNeedTheirRules) {
  std::string text = with(
      "  spread: {factor: true, settled: true, tail: {compliance: \"0.01\", inspection: \"0.005\", calibration: \"0.00135\"}, "
      "provenance: seen, source: drawing}\n",
      "");
  EXPECT_THAT(complaints(text), ElementsAre(HasSubstr("t.yaml:21:32: standard_deviation_limit without the rule 'spread'"),
                                            HasSubstr("t.yaml:24:32: standard_deviation_limit without the rule 'spread'")));
}

TEST(TableFile, AllComplaintsComeAtOnceInTheOrderOfTheFile) {
  std::string text = with("unit: um", "unit: mm");
  const std::size_t at = text.find("maximum: \"58\"");
  text.replace(at, 13, "maximum: 58");
  text.replace(text.find("graded: true"), 12, "graded: maybe");
  EXPECT_THAT(complaints(text), ElementsAre(HasSubstr("t.yaml:5:7"), HasSubstr("t.yaml:14:11"), HasSubstr("t.yaml:25:")));
}

TEST(TableFile, ThirtyMistakesGiveTwentyComplaints) {
  std::string text(k_table.substr(0, k_table.find("rows:\n  - {nominal") + 6));
  for (int i = 0; i < 30; ++i) text += "  - {}\n";
  EXPECT_THAT(complaints(text), SizeIs(20));
}

TEST(TableFile, AlternativesAreUnique) {
  const auto twice = complaints(with("nominal: \"75.5\",", "nominal: \"75.5\", alternative: \"#170\","));
  EXPECT_THAT(twice, ElementsAre(HasSubstr("t.yaml:24:36: alternative designation of 90 \u00b5m again: found '#170'")));
}

// A row holds a name of up to 23 bytes; `No. 170` with extra blanks can have any length.
TEST(TableFile, AnAlternativeFitsItsRow) {
  const auto of_length = [](std::size_t bytes) { return "No." + std::string(bytes - 6, ' ') + "170"; };
  const std::string longest = of_length(Designation::k_longest);
  const Result<TableFile> table = read_table(with("\"No. 170\"", "\"" + longest + "\""), "t.yaml");
  ASSERT_TRUE(table.ok()) << to_text(table.error());
  EXPECT_EQ(table->edition().rows.front().alternative, longest);
  const auto longer = complaints(with("\"No. 170\"", "\"" + of_length(Designation::k_longest + 1) + "\""));
  EXPECT_THAT(longer, ElementsAre(AllOf(HasSubstr("too long an alternative designation"), HasSubstr("up to 23 bytes"))));
}

TEST(TableFile, SharedSourcesReplaceOwnOnes) {
  constexpr std::string_view shared =
      "schema: sievecloth-sources/1\ntable_set: \"7\"\nsources: [{id: drawing, title: Drawing}, {id: letter, title: Letter}]\n";
  const Result<TableFile> both = read_table(k_table, "t.yaml", shared);
  ASSERT_FALSE(both.ok());
  EXPECT_THAT(to_text(both.error()), HasSubstr("t.yaml:7:1: unknown key in the file: found 'sources'"));
  const std::string_view own = "sources:\n  - {id: drawing, title: \"Drawing 12\"}\n  - {id: letter, title: \"Letter of 3 May\"}\n";
  const TableFile file = read_table(with(own, ""), "t.yaml", shared).value();
  EXPECT_EQ(file.edition().table_set, "7");
  EXPECT_EQ(file.edition().sources[1].title, "Letter");
  EXPECT_THAT(complaints(with(own, "")),
              ElementsAre(HasSubstr("the file lacks the key 'sources'"), HasSubstr("not listed"), ::testing::_, ::testing::_,
                          ::testing::_, ::testing::_, ::testing::_, ::testing::_, ::testing::_, ::testing::_, ::testing::_));
  const Result<TableFile> broken = read_table(with(own, ""), "t.yaml", "schema: other\n");
  ASSERT_FALSE(broken.ok());
  EXPECT_EQ(broken.error().where.file, "sources.yaml");
}

// The example in docs/tables.md.
TEST(TableFile, TheDocumentedExampleReads) {
  std::ifstream file(SIEVECLOTH_TABLES "/../docs/tables.md");
  const std::string page{std::istreambuf_iterator<char>(file), {}};
  constexpr std::string_view begin = "```yaml\n";
  const std::size_t from = page.find(begin);
  ASSERT_NE(from, std::string::npos);
  const std::string yaml = page.substr(from + begin.size(), page.find("```\n", from + begin.size()) - from - begin.size());
  EXPECT_THAT(complaints(yaml), ElementsAre());
  EXPECT_EQ(read_table(yaml, "example").value().edition().name, "house-3");
}

TEST(TableFile, WhatIsNoTableAtAll) {
  EXPECT_THAT(complaints(""), ElementsAre("t.yaml:1:1: an empty document: expected lines such as `key: value`"));
  EXPECT_THAT(complaints("just text"), ElementsAre("t.yaml:1:1: a single value where the file must stand: found 'just text'"));
  EXPECT_THAT(complaints("[1, 2]"), ElementsAre("t.yaml:1:1: a list where the file must stand"));
  EXPECT_THAT(complaints(std::string_view("\xFF\xFE\x73\x00", 4)), ElementsAre(HasSubstr("t.yaml:1:1: not a text in UTF-8")));
}

TEST(TableFile, LooksForWhatWasForgotten) {
  // regression: a limit missing from a row between others, or from one grade of it, was taken for one that the edition does not
  // require
  const auto row = [](std::string_view nominal, std::string_view limits, std::string_view wire) {
    const double w = std::stod(std::string(nominal));
    const double x = 2.0 / 3 * std::pow(w, 0.75) + 4 * std::pow(w, 0.25), y = std::pow(w, 0.98) / 27 + 1.6;
    return "  - {nominal: \"" + std::string(nominal) + "\", average_tolerance: \"" + std::to_string(y).substr(0, 4) +
           "\", maximum_tolerance: \"" + std::to_string(static_cast<int>(x)) + "\"" + std::string(limits) +
           ", wire: " + std::string(wire) + "}\n";
  };
  const auto found = [&](std::string_view of_75) {
    const std::string text =
        "schema: sievecloth-table/1\nstandard: own\nedition: \"1\"\ntitle: Own 1\nunit: um\nrests_on: a drawing\n"
        "sources:\n  - {id: d, title: drawing}\ndefaults: {rows: {provenance: seen, source: d}, wire: {provenance: seen, source: "
        "d}}\n"
        "rules: {graded: true, spread: {factor: false, provenance: seen, source: d}, count_scale: {inspection: fixed, compliance: "
        "fixed, calibration: fixed, provenance: seen, source: d}, wire_count: {value: \"10\", "
        "provenance: seen, source: d}}\nrows:\n" +
        row("90", ", standard_deviation_limit: {compliance: \"11.27\", inspection: \"9.56\"}",
            "{preferred: \"63\", minimum: \"54\", maximum: \"72\"}") +
        row("75", of_75, "{preferred: \"50\", minimum: \"43\", maximum: \"58\"}") +
        row("63", ", standard_deviation_limit: {compliance: \"9.27\", inspection: \"7.79\"}",
            "{preferred: \"45\", minimum: \"38\", maximum: \"52\"}");
    const Result<TableFile> file = read_table(text, "t.yaml");
    std::vector<std::string> doubts;
    if (!file.ok()) return std::vector{to_text(file.error())};
    for (const ImplausibleValue& implausible : file->edition().doubts)
      doubts.push_back(to_text(implausible.nominal) + " " + std::string(implausible.value));
    return doubts;
  };
  EXPECT_THAT(found(", standard_deviation_limit: {compliance: \"10.23\", inspection: \"8.64\"}"), SizeIs(0));
  EXPECT_THAT(found(", standard_deviation_limit: {compliance: \"10.23\"}"),
              ::testing::Contains("75 \u00b5m standard_deviation_limit.inspection"));
  EXPECT_THAT(found(""), ::testing::Contains("75 \u00b5m standard_deviation_limit.compliance"));
}

}  // namespace
}  // namespace sievecloth
