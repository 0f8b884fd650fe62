// source: tests/data/standards/*.csv (transcriptions of ASTM E11-17 and ISO 3310-1:2016; ASTM E11-04 from memory), cell by cell.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>
#include <map>
#include <set>
#include <string>

#include "sievecloth/edition.hpp"
#include "support/changed_cells.hpp"
#include "support/standards_csv.hpp"

namespace sievecloth {
namespace {

using test::CsvRow;
using test::pm_of_um;
using test::standards_csv;

const Edition& edition(std::string_view name) { return *find_edition(name).value(); }

std::string source_of(const Edition& table, Basis basis) { return std::string(table.source(basis).id); }

void expect_limit(const CsvRow& csv, const std::string& column, Length value) {
  EXPECT_EQ(value.pm(), pm_of_um(csv.at(column))) << csv.at("nominal_um") << " " << column;
}

void expect_optional_limit(const CsvRow& csv, const std::string& column, const std::optional<Limit>& limit) {
  ASSERT_EQ(limit.has_value(), !csv.at(column).empty()) << csv.at("nominal_um") << " " << column;
  if (limit) expect_limit(csv, column, limit->value);
}

void expect_count(const CsvRow& csv, const std::string& column, const std::optional<Count>& count) {
  ASSERT_TRUE(count.has_value()) << csv.at("nominal_um");
  const std::int64_t value = csv.at(column) == "all" ? k_all : pm_of_um(csv.at(column)) / 1'000'000;
  EXPECT_EQ(count->value, value) << csv.at("nominal_um") << " " << column;
}

/// Decimal text in millionths: `0.0029` is 2900.
std::int64_t millionths(const std::string& text) { return pm_of_um(text); }

/// An alternative designation in inches, in millionths of an inch: `1 1/2 in.` is 1500000.
std::int64_t millionths_of_inch(const std::string& alternative) {
  const std::string number = alternative.substr(0, alternative.find(" in."));
  const std::size_t slash = number.find('/');
  if (slash == std::string::npos) return millionths(number);
  const std::size_t gap = number.find(' ');
  const std::int64_t whole = gap == std::string::npos ? 0 : millionths(number.substr(0, gap));
  const std::size_t top = gap == std::string::npos ? 0 : gap + 1;
  return whole + millionths(number.substr(top, slash - top)) * 1'000'000 / millionths(number.substr(slash + 1));
}

/// Runs `check` over the rows of an edition and their lines in the transcription.
template <class Check>
void expect_each_row(const Edition& table, const std::vector<CsvRow>& csv, std::size_t count, Check check) {
  ASSERT_EQ(csv.size(), count);
  ASSERT_EQ(table.rows.size(), count);
  for (std::size_t i = 0; i < count; ++i) check(table.rows[i], csv[i]);
}

void expect_row_of_e11_17(const Row& row, const CsvRow& cells) {
  expect_limit(cells, "nominal_um", row.nominal);
  EXPECT_EQ(row.designation, cells.at("designation"));
  EXPECT_EQ(row.alternative, cells.at("alternative"));
  expect_limit(cells, "average_tolerance_um", row.average_tolerance.value);
  expect_limit(cells, "maximum_tolerance_um", row.maximum_tolerance.value);
  expect_limit(cells, "maximum_individual_um", row.largest_aperture());
  EXPECT_FALSE(row.intermediate_limit);
  for (const Grade grade : k_grades) {
    const std::string name(to_text(grade));
    expect_count(cells, name + "_n", row.counts[grade]);
    expect_optional_limit(cells, name + "_s_um", row.standard_deviation_limit[grade]);
  }
  expect_limit(cells, "wire_typical_um", row.wire.preferred.value);
  expect_limit(cells, "wire_min_um", row.wire.minimum.value);
  if (cells.at("nominal_um") == "19000") {  // the misprint that the errata list
    EXPECT_EQ(cells.at("wire_max_um"), "3500");
    EXPECT_EQ(row.wire.maximum.value, Length::of(3600, Unit::micrometre));
  } else {
    expect_limit(cells, "wire_max_um", row.wire.maximum.value);
  }
}

TEST(AstmE11_17, EveryCell) { expect_each_row(edition("astm-e11-17"), standards_csv("astm-e11-17"), 56, expect_row_of_e11_17); }

TEST(AstmE11_17, OpeningsInInchesNameTheSameSizes) {
  const std::set<std::string> coarse_prints{"45", "32"};  // 0.0017 and 0.0012 in., 4.0 % and 4.8 % below the nominal aperture
  for (const CsvRow& cells : standards_csv("astm-e11-17")) {
    const std::int64_t opening_pm = millionths(cells.at("opening_in")) * 25'400;
    const std::int64_t nominal_pm = pm_of_um(cells.at("nominal_um"));
    const std::int64_t off_pm = std::abs(opening_pm - nominal_pm);
    EXPECT_EQ(off_pm * 100 < nominal_pm * 3, coarse_prints.count(cells.at("nominal_um")) == 0) << cells.at("designation");
    EXPECT_LT(off_pm * 100, nominal_pm * 5) << cells.at("designation");
    const std::string& alternative = cells.at("alternative");
    if (alternative.starts_with("No.")) continue;
    // Printed to a thousandth: 7/16 in. as 0.438, 5/16 in. as 0.312.
    EXPECT_LE(std::abs(millionths(cells.at("opening_in")) - millionths_of_inch(alternative)), 500) << alternative;
  }
}

TEST(AstmE11_17, Provenance) {
  const Edition& table = edition("astm-e11-17");
  for (const Row& row : table.rows) {
    EXPECT_EQ(row.average_tolerance.basis.provenance, Provenance::second_hand);
    EXPECT_EQ(row.maximum_tolerance.basis.provenance, Provenance::second_hand);
    const bool misprint = row.designation == "19 mm";
    EXPECT_EQ(row.wire.maximum.basis.provenance, misprint ? Provenance::doubtful : Provenance::second_hand) << row.designation;
    for (const Grade grade : k_grades) {
      EXPECT_EQ(row.counts[grade]->basis.provenance, Provenance::second_hand);
      EXPECT_EQ(source_of(table, row.counts[grade]->basis), "transcription");
      if (!row.standard_deviation_limit[grade]) continue;
      const bool off_trend = grade == Grade::compliance && (row.designation == "37.5 mm" || row.designation == "31.5 mm");
      const bool off_rule = grade == Grade::calibration && row.designation == "25 \u00b5m";
      EXPECT_EQ(row.standard_deviation_limit[grade]->basis.provenance,
                off_trend || off_rule ? Provenance::doubtful : Provenance::second_hand)
          << row.designation;
    }
  }
}

void expect_row_of_iso_2016(const Row& row, const CsvRow& cells) {
  expect_limit(cells, "nominal_um", row.nominal);
  EXPECT_EQ(row.designation, cells.at("designation"));
  EXPECT_TRUE(row.alternative.empty());
  expect_limit(cells, "average_tolerance_um", row.average_tolerance.value);
  expect_limit(cells, "maximum_tolerance_um", row.maximum_tolerance.value);
  EXPECT_FALSE(row.intermediate_limit);
  for (const Grade grade : k_grades) {
    expect_optional_limit(cells, "standard_deviation_limit_um", row.standard_deviation_limit[grade]);
  }
  expect_limit(cells, "wire_preferred_um", row.wire.preferred.value);
  expect_limit(cells, "wire_min_um", row.wire.minimum.value);
  expect_limit(cells, "wire_max_um", row.wire.maximum.value);
}

TEST(Iso3310_1_2016, EveryCell) {
  expect_each_row(edition("iso-3310-1-2016"), standards_csv("iso-3310-1-2016"), 99, expect_row_of_iso_2016);
}

TEST(Iso3310_1_2016, Provenance) {
  const auto csv = standards_csv("iso-3310-1-2016");
  const Edition& table = edition("iso-3310-1-2016");
  for (std::size_t i = 0; i < csv.size(); ++i) {
    const Row& row = table.rows[i];
    EXPECT_EQ(row.average_tolerance.basis.provenance, Provenance::second_hand);
    EXPECT_EQ(row.wire.maximum.basis.provenance, Provenance::second_hand);
    const bool repaired = !csv[i].at("note").empty();  // the rows whose smallest wire the source misprints
    EXPECT_EQ(row.wire.minimum.basis.provenance, repaired ? Provenance::inferred : Provenance::second_hand) << row.designation;
    const auto& limit = row.standard_deviation_limit[Grade::inspection];
    const bool rounded = limit && limit->value == Length::of(1000, Unit::micrometre);
    EXPECT_EQ(row.counts[Grade::inspection]->basis.provenance, Provenance::inferred);
    if (!limit) continue;
    EXPECT_EQ(limit->basis.provenance, rounded ? Provenance::doubtful : Provenance::second_hand) << row.designation;
  }
}

/// The greater of the two ASTM E11-17 counts for the sizes on either side, or the count for the size itself.
std::int64_t count_by_size(const std::vector<CsvRow>& e11, const std::string& column, std::int64_t nominal_pm) {
  const auto count = [&](const CsvRow& cells) -> std::int64_t {
    return cells.at(column) == "all" ? k_all : pm_of_um(cells.at(column)) / 1'000'000;
  };
  std::int64_t above = 0;
  for (const CsvRow& cells : e11) {
    const std::int64_t size = pm_of_um(cells.at("nominal_um"));
    if (size == nominal_pm) return count(cells);
    if (size < nominal_pm) return std::max(above, count(cells));
    above = count(cells);
  }
  throw std::runtime_error("smaller than every size of ASTM E11-17");
}

void expect_counts_of_iso_2016(const Row& row, const std::vector<CsvRow>& e11) {
  const std::int64_t inspection = count_by_size(e11, "inspection_n", row.nominal.pm());
  EXPECT_EQ(row.counts[Grade::inspection]->value, inspection) << row.designation;
  EXPECT_EQ(row.counts[Grade::compliance]->value, inspection) << row.designation;
  EXPECT_EQ(row.counts[Grade::calibration]->value, count_by_size(e11, "calibration_n", row.nominal.pm())) << row.designation;
}

TEST(Iso3310_1_2016, CountsAreThoseOfAstmE11_17BySize) {
  const auto e11 = standards_csv("astm-e11-17");
  for (const Row& row : edition("iso-3310-1-2016").rows) expect_counts_of_iso_2016(row, e11);
}

void expect_row_of_e11_04(const Row& row, const CsvRow& cells) {
  expect_limit(cells, "nominal_um", row.nominal);
  expect_limit(cells, "average_tolerance_um", row.average_tolerance.value);
  ASSERT_TRUE(row.intermediate_limit);
  expect_limit(cells, "five_percent_um", row.intermediate_limit->value);
  expect_limit(cells, "maximum_individual_um", row.largest_aperture());
  expect_limit(cells, "wire_nominal_um", row.wire.preferred.value);
  for (const Grade grade : k_grades) {
    EXPECT_FALSE(row.counts[grade]);
    EXPECT_FALSE(row.standard_deviation_limit[grade]);
  }
}

TEST(AstmE11_04, EveryCell) {
  const auto csv = standards_csv("astm-e11-04");
  const auto e11_17 = standards_csv("astm-e11-17");
  const Edition& table = edition("astm-e11-04");
  expect_each_row(table, csv, 56, expect_row_of_e11_04);
  for (std::size_t i = 0; i < csv.size(); ++i) {
    const Row& row = table.rows[i];
    const CsvRow& cells = csv[i];
    expect_limit(e11_17[i], "nominal_um", row.nominal);
    EXPECT_EQ(row.alternative, e11_17[i].at("alternative"));
    const bool confirmed = cells.at("average_tolerance_provenance") == "confirmed";
    EXPECT_EQ(row.average_tolerance.basis.provenance, confirmed ? Provenance::confirmed : Provenance::memory) << row.designation;
    EXPECT_EQ(source_of(table, row.average_tolerance.basis), confirmed ? "gost-r-51761" : "recollection") << row.designation;
    EXPECT_EQ(cells.at("other_provenance"), "memory");
    EXPECT_EQ(row.maximum_tolerance.basis.provenance, Provenance::memory);
    EXPECT_EQ(row.intermediate_limit->basis.provenance, Provenance::memory);
    EXPECT_EQ(row.wire.preferred.basis.provenance, row.designation == "38 \u00b5m" ? Provenance::doubtful : Provenance::memory);
  }
}

// From memory: the average wire lies within 5 % of nominal above 600 um, 7.5 % from 600 um to 125 um, 10 % below 125 um.
void expect_wires_of_e11_04(const Row& row) {
  const std::int64_t per_mille = row.nominal > Length::of(600, Unit::micrometre)    ? 50
                                 : row.nominal >= Length::of(125, Unit::micrometre) ? 75
                                                                                    : 100;
  const std::int64_t pm = row.wire.preferred.value.pm();
  EXPECT_EQ(row.wire.minimum.value.pm() * 1000, pm * (1000 - per_mille)) << row.designation;
  EXPECT_EQ(row.wire.maximum.value.pm() * 1000, pm * (1000 + per_mille)) << row.designation;
}

TEST(AstmE11_04, WireRanges) {
  for (const Row& row : edition("astm-e11-04").rows) expect_wires_of_e11_04(row);
}

void expect_size_and_wires_of_2016(const Row& old, const Row& row) {
  EXPECT_EQ(old.nominal, row.nominal);
  EXPECT_EQ(old.wire.preferred.value, row.wire.preferred.value);
  EXPECT_EQ(old.wire.minimum.value, row.wire.minimum.value);
  EXPECT_EQ(old.wire.maximum.value, row.wire.maximum.value);
  for (const Grade grade : k_grades) {
    EXPECT_FALSE(old.counts[grade]);
    EXPECT_FALSE(old.standard_deviation_limit[grade]);
  }
}

TEST(Iso3310_1_1990, HasTheSizesAndWiresOf2016) {
  const Edition& old = edition("iso-3310-1-1990");
  const Edition& table = edition("iso-3310-1-2016");
  ASSERT_EQ(old.rows.size(), table.rows.size());
  for (std::size_t i = 0; i < old.rows.size(); ++i) expect_size_and_wires_of_2016(old.rows[i], table.rows[i]);
}

TEST(Iso3310_1_1990, Provenance) {
  const std::set<std::string_view> seen{"11.2 mm", "8 mm", "5.6 mm", "4 mm", "2.8 mm", "2 mm"};
  const Edition& table = edition("iso-3310-1-1990");
  for (const Row& row : table.rows) {
    const bool published = seen.count(row.designation) == 1;
    for (const Basis basis : {row.average_tolerance.basis, row.maximum_tolerance.basis, row.intermediate_limit->basis}) {
      EXPECT_EQ(basis.provenance, published ? Provenance::seen : Provenance::computed) << row.designation;
      EXPECT_EQ(source_of(table, basis), published ? "ph-eur-2.1.4" : "iso-3310-1-formulas") << row.designation;
    }
    const bool wire_published = published && row.designation != "2 mm";
    for (const Basis basis : {row.wire.preferred.basis, row.wire.minimum.basis, row.wire.maximum.basis}) {
      EXPECT_EQ(basis.provenance, wire_published ? Provenance::seen : Provenance::inferred) << row.designation;
    }
  }
}

// The decision rules, as specified in the design of the four tables.
void expect_rules(const Rules& e11, const Rules& iso, const Rules& old_iso, const Rules& old_e11) {
  EXPECT_TRUE(e11.graded);
  EXPECT_FALSE(e11.spread.factor);
  EXPECT_EQ(e11.spread.basis.provenance, Provenance::inferred);
  EXPECT_FALSE(e11.share);
  EXPECT_FALSE(e11.resolution);
  EXPECT_EQ(e11.counts.scale[Grade::compliance], CountScale::area_of_cloth);
  EXPECT_EQ(e11.counts.scale[Grade::inspection], CountScale::fixed);
  EXPECT_EQ(e11.counts.scale[Grade::calibration], CountScale::fixed);
  EXPECT_EQ(e11.counts.basis.provenance, Provenance::memory);
  EXPECT_EQ(e11.wire_count.value, 10);
  EXPECT_EQ(e11.wire_count.basis.provenance, Provenance::memory);

  EXPECT_TRUE(iso.graded);
  EXPECT_TRUE(iso.spread.factor);
  EXPECT_FALSE(iso.spread.settled);
  EXPECT_THAT(iso.spread.tail_millionths.values, ::testing::ElementsAre(5000, 5000, 1350));
  EXPECT_EQ(iso.spread.basis.provenance, Provenance::inferred);
  ASSERT_TRUE(iso.resolution);
  EXPECT_EQ(iso.resolution->floor, Length::of(1, Unit::micrometre));
  EXPECT_EQ(iso.resolution->fraction_of_average, 4);
  EXPECT_EQ(iso.resolution->basis.provenance, Provenance::seen);
  EXPECT_THAT(iso.counts.scale.values, ::testing::Each(CountScale::sieving_area));
  EXPECT_EQ(iso.counts.basis.provenance, Provenance::seen);
  EXPECT_EQ(iso.wire_count.value, 10);
  EXPECT_EQ(iso.wire_count.basis.provenance, Provenance::inferred);

  EXPECT_FALSE(old_iso.graded);
  ASSERT_TRUE(old_iso.share);
  EXPECT_EQ(old_iso.share->percent, 6);
  EXPECT_EQ(old_iso.share->basis.provenance, Provenance::seen);
  ASSERT_TRUE(old_iso.resolution);
  EXPECT_EQ(old_iso.resolution->basis.provenance, Provenance::inferred);
  EXPECT_EQ(old_iso.resolution->floor, Length::of(1, Unit::micrometre));
  EXPECT_EQ(old_iso.resolution->fraction_of_average, 4);
  EXPECT_EQ(old_iso.wire_count.value, 10);
  EXPECT_EQ(old_iso.wire_count.basis.provenance, Provenance::inferred);
  EXPECT_THAT(old_iso.counts.scale.values, ::testing::Each(CountScale::fixed));

  EXPECT_FALSE(old_e11.graded);
  ASSERT_TRUE(old_e11.share);
  EXPECT_EQ(old_e11.share->percent, 5);
  EXPECT_FALSE(old_e11.resolution);
  EXPECT_EQ(old_e11.wire_count.value, 10);
  EXPECT_EQ(old_e11.wire_count.basis.provenance, Provenance::memory);
}

TEST(Rules, OfEachEdition) {
  expect_rules(edition("astm-e11-17").rules, edition("iso-3310-1-2016").rules, edition("iso-3310-1-1990").rules,
               edition("astm-e11-04").rules);
}

// ---- is every number covered? Each is changed by one in its last digit, up and down, and a test above must fail.

TEST(EveryNumberIsWatched, InAstmE11_17) {
  const auto csv = standards_csv("astm-e11-17");
  int tried = 0;
  const auto passed = test::unnoticed(
      edition("astm-e11-17"), [&](const Row& row, std::size_t i) { expect_row_of_e11_17(row, csv[i]); }, tried);
  EXPECT_THAT(passed, ::testing::IsEmpty());
  int limits = 0;
  for (const CsvRow& cells : csv) {
    for (const Grade grade : k_grades) limits += cells.at(std::string(to_text(grade)) + "_s_um").empty() ? 0 : 1;
  }
  EXPECT_EQ(tried, 2 * (56 * (6 + 3) + limits));  // six lengths and three counts of each size, and the limits of the spread
}

TEST(EveryNumberIsWatched, InIso3310_1_2016) {
  const auto csv = standards_csv("iso-3310-1-2016");
  const auto e11 = standards_csv("astm-e11-17");
  int tried = 0;
  const auto check = [&](const Row& row, std::size_t i) {
    expect_row_of_iso_2016(row, csv[i]);
    expect_counts_of_iso_2016(row, e11);
  };
  EXPECT_THAT(test::unnoticed(edition("iso-3310-1-2016"), check, tried), ::testing::IsEmpty());
  EXPECT_GT(tried, 2 * 99 * 9);
}

TEST(EveryNumberIsWatched, InAstmE11_04) {
  const auto csv = standards_csv("astm-e11-04");
  int tried = 0;
  const auto check = [&](const Row& row, std::size_t i) {
    expect_row_of_e11_04(row, csv[i]);
    expect_wires_of_e11_04(row);
  };
  EXPECT_THAT(test::unnoticed(edition("astm-e11-04"), check, tried), ::testing::IsEmpty());
  EXPECT_EQ(tried, 2 * 56 * 7);
}

// Its tolerances are covered by formulas_test.cpp.
TEST(EveryNumberIsWatched, InSizesAndWiresOfIso3310_1_1990) {
  const Edition& table = edition("iso-3310-1-2016");
  int tried = 0;
  auto passed = test::unnoticed(
      edition("iso-3310-1-1990"), [&](const Row& row, std::size_t i) { expect_size_and_wires_of_2016(row, table.rows[i]); }, tried);
  EXPECT_EQ(tried, 2 * 99 * 7);
  EXPECT_EQ(passed.size(), 2U * 99 * 3);
  for (const std::string& cell : passed) EXPECT_TRUE(cell.find("tolerance") != cell.npos || cell.find("intermediate") != cell.npos);
}

TEST(EveryNumberIsWatched, InTheRules) {
  const std::array<std::string_view, 4> names{"astm-e11-17", "iso-3310-1-2016", "iso-3310-1-1990", "astm-e11-04"};
  const auto is_noticed = [&](std::size_t which, auto change) {
    std::array<Rules, 4> rules;
    for (std::size_t i = 0; i < names.size(); ++i) rules[i] = edition(names[i]).rules;
    change(rules[which]);
    return test::notices([&] { expect_rules(rules[0], rules[1], rules[2], rules[3]); });
  };
  EXPECT_FALSE(is_noticed(0, [](Rules&) {}));
  for (std::size_t i = 0; i < names.size(); ++i) {
    EXPECT_TRUE(is_noticed(i, [](Rules& rules) { --rules.wire_count.value; })) << names[i];
    EXPECT_TRUE(is_noticed(i, [](Rules& rules) { rules.graded = !rules.graded; })) << names[i];
    const Rules& rules = edition(names[i]).rules;
    if (rules.share) {
      EXPECT_TRUE(is_noticed(i, [](Rules& r) { ++r.share->percent; })) << names[i];
    }
    if (!rules.resolution) continue;
    EXPECT_TRUE(is_noticed(i, [](Rules& r) { ++r.resolution->fraction_of_average; })) << names[i];
    EXPECT_TRUE(is_noticed(i, [](Rules& r) { r.resolution->floor = r.resolution->floor + Length::from_pm(1); })) << names[i];
  }
  for (const Grade grade : k_grades) EXPECT_TRUE(is_noticed(1, [&](Rules& rules) { ++rules.spread.tail_millionths[grade]; }));
}

TEST(Editions, SayWhatTheyRestOnAndNameTheirSources) {
  for (const Edition* table : built_in_editions()) {
    EXPECT_FALSE(table->rests_on.empty());
    EXPECT_FALSE(table->table_set.empty());
    std::set<std::string_view> ids;
    for (const Source& source : table->sources) {
      EXPECT_FALSE(source.title.empty());
      EXPECT_TRUE(ids.insert(source.id).second) << source.id;
    }
    for (const Erratum& erratum : table->errata) {
      EXPECT_FALSE(erratum.used.empty());
      EXPECT_FALSE(erratum.reason.empty());
    }
  }
}

}  // namespace
}  // namespace sievecloth
