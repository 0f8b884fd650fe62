// source: formulas and rules of ASTM E11-17 and ISO 3310-1, evaluated here in long double; rows published elsewhere, named at each
// test.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <set>
#include <string>

#include "sievecloth/edition.hpp"
#include "support/changed_cells.hpp"

namespace sievecloth {
namespace {

using ::testing::ElementsAre;
using ::testing::IsEmpty;

const Edition& edition(std::string_view name) { return *find_edition(name).value(); }

const Row& row_of(const Edition& table, std::int64_t nominal_um) {
  for (const Row& row : table.rows) {
    if (row.nominal == Length::of(nominal_um, Unit::micrometre)) return row;
  }
  throw std::runtime_error("no such row");
}

long double um(Length length) { return static_cast<long double>(length.pm()) / 1e6L; }

/// X and Y of ISO 3310-1 and ASTM E11 [um], unrounded.
long double largest(long double w) { return 2 * std::pow(w, 0.75L) / 3 + 4 * std::pow(w, 0.25L); }
long double average(long double w) { return std::pow(w, 0.98L) / 27 + 1.6L; }

std::int64_t rounded_pm(long double value_um, long double step_um) {
  return std::llround(value_um / step_um) * std::llround(step_um * 1e6L);
}

/// The rounding step of X and Z: 1 um below 1 mm, 10 um from there.
long double largest_step(long double w) { return w < 1000 ? 1 : 10; }

TEST(Formulas, AstmE11_17TolerancesInAll56Rows) {
  for (const Row& row : edition("astm-e11-17").rows) {
    const long double w = um(row.nominal);
    const long double step = w < 1000 ? 0.1L : w < 30'000 ? 1 : 10;  // the printed resolution of Y
    EXPECT_EQ(row.maximum_tolerance.value.pm(), rounded_pm(largest(w), largest_step(w))) << row.designation;
    EXPECT_EQ(row.average_tolerance.value.pm(), rounded_pm(average(w), step)) << row.designation;
  }
}

TEST(Formulas, Iso2016TolerancesAreNineTenthsInAll99Rows) {
  for (const Row& row : edition("iso-3310-1-2016").rows) {
    const long double w = um(row.nominal);
    const long double step = w <= 250 ? 0.1L : w < 1000 ? 1 : 10;
    EXPECT_EQ(row.maximum_tolerance.value.pm(), rounded_pm(0.9L * largest(w), largest_step(w))) << row.designation;
    EXPECT_EQ(row.average_tolerance.value.pm(), rounded_pm(0.9L * average(w), step)) << row.designation;
  }
}

void expect_limits_of_iso_1990(const Row& row) {
  const long double w = um(row.nominal);
  const long double step = w <= 250 ? 0.1L : w < 1000 ? 1 : 10;
  const std::int64_t z = rounded_pm((largest(w) + average(w)) / 2, largest_step(w));  // from unrounded X and Y
  EXPECT_EQ(row.maximum_tolerance.value.pm(), rounded_pm(largest(w), largest_step(w))) << row.designation;
  EXPECT_EQ(row.average_tolerance.value.pm(), rounded_pm(average(w), step)) << row.designation;
  ASSERT_TRUE(row.intermediate_limit);
  EXPECT_EQ(row.intermediate_limit->value.pm(), row.nominal.pm() + z) << row.designation;
}

TEST(Formulas, Iso1990TolerancesAndIntermediateLimitInAll99Rows) {
  for (const Row& row : edition("iso-3310-1-1990").rows) expect_limits_of_iso_1990(row);
}

// Every limit changed by one in its last digit, up and down: the formulas detect it. Sizes and wires are covered in
// tables_test.cpp.
TEST(EveryNumberIsWatched, InTolerancesOfIso3310_1_1990) {
  int tried = 0;
  const auto passed = test::unnoticed(
      edition("iso-3310-1-1990"), [](const Row& row, std::size_t) { expect_limits_of_iso_1990(row); }, tried);
  EXPECT_EQ(tried, 2 * 99 * 7);
  for (const std::string& cell : passed) EXPECT_TRUE(cell.find("wire") != cell.npos || cell.find("nominal") != cell.npos) << cell;
}

/// `95 um, inspection`
std::string cell(const Row& row, Grade grade) { return std::string(row.designation) + ", " + std::string(to_text(grade)); }

// The limit of a grade is that of compliance / (1 + z / sqrt(2 (n - 1))), z = 2.58 for inspection, 3.00 for calibration.
TEST(GradeRule, HoldsButForNamedCells) {
  const std::map<std::string, std::int64_t> printed_nm{
      // The last digit truncated, not rounded.
      {"11.2 mm, inspection", 256000},
      {"6.7 mm, inspection", 164000},
      {"6.7 mm, calibration", 175000},
      {"4 mm, calibration", 115000},
      {"2.36 mm, calibration", 77000},
      {"1 mm, inspection", 42000},
      {"850 \u00b5m, inspection", 37730},
      {"125 \u00b5m, inspection", 11410},
      {"38 \u00b5m, calibration", 6310},
      {"32 \u00b5m, inspection", 5420},
      {"32 \u00b5m, calibration", 5710},
      {"25 \u00b5m, inspection", 4820},
      // Above the value from the printed compliance limit, but within the range from which that limit was rounded.
      {"4.75 mm, inspection", 123000},
      {"425 \u00b5m, calibration", 25080},
      {"90 \u00b5m, inspection", 9530},
      {"20 \u00b5m, inspection", 4510},
      // Not explained: the rule gives 5.086. Doubtful in the table.
      {"25 \u00b5m, calibration", 5060},
  };
  std::set<std::string> exceptions;
  for (const Row& row : edition("astm-e11-17").rows) {
    for (const Grade grade : {Grade::inspection, Grade::calibration}) {
      const auto& limit = row.standard_deviation_limit[grade];
      if (!limit) continue;
      const long double z = grade == Grade::inspection ? 2.58L : 3.0L;
      const long double compliance = um(row.standard_deviation_limit[Grade::compliance]->value);
      const long double by_rule = compliance / (1 + z / std::sqrt(2.0L * static_cast<long double>(row.counts[grade]->value - 1)));
      const long double step = um(row.nominal) < 1000 ? 0.01L : 1;
      if (limit->value.pm() == rounded_pm(by_rule, step)) continue;
      exceptions.insert(cell(row, grade));
      ASSERT_EQ(printed_nm.count(cell(row, grade)), 1U) << cell(row, grade) << " " << static_cast<double>(by_rule);
      EXPECT_EQ(limit->value.pm(), printed_nm.at(cell(row, grade)) * 1000);
      // Rounding the compliance limit and truncating that of the grade explain all but one.
      const bool explained = std::fabs(um(limit->value) - by_rule) <= step + (by_rule / compliance) * step / 2;
      EXPECT_EQ(explained, cell(row, grade) != "25 \u00b5m, calibration") << cell(row, grade);
    }
  }
  EXPECT_EQ(exceptions.size(), printed_nm.size());
}

/// Sizes whose ratio, at the two digits it is known to, leaves low..high.
template <class Ratio>
std::vector<std::string> outside(const Edition& table, Ratio ratio, double low, double high) {
  std::vector<std::string> sizes;
  for (const Row& row : table.rows) {
    if (!row.standard_deviation_limit[Grade::compliance]) continue;
    const double value = std::round(static_cast<double>(ratio(row)) * 100) / 100;
    if (value < low || value > high) sizes.emplace_back(row.designation);
  }
  return sizes;
}

TEST(Spread, FitsTheTolerancesButForNamedSizes) {
  const auto trend = [](const Row& row, long double factor) {
    const long double w = um(row.nominal);
    return factor * (largest(w) + average(w)) / um(row.standard_deviation_limit[Grade::compliance]->value) * (1 + w / 125'000);
  };
  const auto iso = [&](const Row& row) { return trend(row, 0.9L); };
  const auto e11 = [&](const Row& row) { return trend(row, 1); };
  EXPECT_THAT(outside(edition("iso-3310-1-2016"), iso, 3.20, 3.27), ElementsAre("45 mm", "40 mm", "37.5 mm", "35.5 mm"));
  EXPECT_THAT(outside(edition("astm-e11-17"), e11, 3.11, 3.30), ElementsAre("37.5 mm", "31.5 mm"));
}

TEST(Counts, CalibrationMeasuresAtLeastTwiceAsManyAsInspection) {
  for (const Row& row : edition("astm-e11-17").rows) {
    const std::int64_t inspection = row.counts[Grade::inspection]->value;
    const std::int64_t calibration = row.counts[Grade::calibration]->value;
    EXPECT_TRUE(calibration == k_all || calibration >= 2 * inspection) << row.designation;
  }
}

/// `19 mm, wire.maximum` for each value that increases from a size to the next smaller one.
std::vector<std::string> growing(const Edition& table) {
  struct Column {
    std::string name;
    std::optional<Limit> (*limit)(const Row&);
  };
  const std::vector<Column> columns{
      {"average_tolerance", [](const Row& row) { return std::optional(row.average_tolerance); }},
      {"maximum_tolerance", [](const Row& row) { return std::optional(row.maximum_tolerance); }},
      {"intermediate_limit", [](const Row& row) { return row.intermediate_limit; }},
      {"compliance", [](const Row& row) { return row.standard_deviation_limit[Grade::compliance]; }},
      {"inspection", [](const Row& row) { return row.standard_deviation_limit[Grade::inspection]; }},
      {"calibration", [](const Row& row) { return row.standard_deviation_limit[Grade::calibration]; }},
      {"wire.preferred", [](const Row& row) { return std::optional(row.wire.preferred); }},
      {"wire.minimum", [](const Row& row) { return std::optional(row.wire.minimum); }},
      {"wire.maximum", [](const Row& row) { return std::optional(row.wire.maximum); }},
  };
  std::vector<std::string> found;
  for (const Column& column : columns) {
    std::optional<Limit> last;
    for (const Row& row : table.rows) {
      const auto limit = column.limit(row);
      if (limit && last && limit->value > last->value) found.push_back(std::string(row.designation) + ", " + column.name);
      if (limit) last = limit;
    }
  }
  return found;
}

TEST(Columns, FallWithTheSizeButForNamedValues) {
  EXPECT_THAT(growing(edition("astm-e11-17")), IsEmpty());
  EXPECT_THAT(growing(edition("iso-3310-1-2016")), IsEmpty());
  // Y is rounded to 10 um from 1 mm on (33.9 to 30) and to 1 um below (30.7 to 31).
  EXPECT_THAT(growing(edition("iso-3310-1-1990")), ElementsAre("900 \u00b5m, average_tolerance"));
  // The 25 um wire recalled for 38 um.
  EXPECT_THAT(growing(edition("astm-e11-04")),
              ElementsAre("32 \u00b5m, wire.preferred", "32 \u00b5m, wire.minimum", "32 \u00b5m, wire.maximum"));
}

TEST(Columns, RowsAndLimitsAreInOrder) {
  for (const Edition* table : built_in_editions()) {
    for (std::size_t i = 0; i < table->rows.size(); ++i) {
      const Row& row = table->rows[i];
      EXPECT_TRUE(i == 0 || row.nominal < table->rows[i - 1].nominal) << table->name << " " << row.designation;
      EXPECT_LE(row.wire.minimum.value, row.wire.preferred.value) << table->name << " " << row.designation;
      EXPECT_LE(row.wire.preferred.value, row.wire.maximum.value) << table->name << " " << row.designation;
      EXPECT_LE(row.average_tolerance.value, row.maximum_tolerance.value) << table->name << " " << row.designation;
      if (row.intermediate_limit) {
        EXPECT_LT(row.largest_mean(), row.intermediate_limit->value) << table->name << " " << row.designation;
        EXPECT_LT(row.intermediate_limit->value, row.largest_aperture()) << table->name << " " << row.designation;
      }
    }
  }
}

TEST(Wires, RangesStandInTheUsualRatiosToTheWire) {
  for (const std::string_view name : {"astm-e11-17", "iso-3310-1-2016", "iso-3310-1-1990"}) {
    for (const Row& row : edition(name).rows) {
      const long double lower = um(row.wire.minimum.value) / um(row.wire.preferred.value);
      const long double upper = um(row.wire.maximum.value) / um(row.wire.preferred.value);
      EXPECT_GE(lower, 0.80L) << name << " " << row.designation;
      EXPECT_LE(lower, 0.87L) << name << " " << row.designation;
      EXPECT_GE(upper, 1.11L) << name << " " << row.designation;
      EXPECT_LE(upper, 1.2143L) << name << " " << row.designation;
    }
  }
}

TEST(Wires, OneWireHasOneRangeInAllGradedEditions) {
  std::map<std::int64_t, std::pair<std::int64_t, std::int64_t>> ranges;
  for (const std::string_view name : {"astm-e11-17", "iso-3310-1-2016"}) {
    for (const Row& row : edition(name).rows) {
      const std::pair range{row.wire.minimum.value.pm(), row.wire.maximum.value.pm()};
      const auto [known, first] = ranges.emplace(row.wire.preferred.value.pm(), range);
      EXPECT_EQ(known->second, range) << name << " " << row.designation;
    }
  }
  EXPECT_EQ(ranges.size(), 52U);
}

// European Pharmacopoeia 8.0, chapter 2.1.4, in um: w, X, Y, Z, wire d, largest, smallest (0: not printed).
TEST(Published, EuropeanPharmacopoeia) {
  struct Printed {
    std::int64_t w, x, y, z, d, d_max, d_min;
  };
  const Printed rows[] = {
      {11200, 770, 350, 560, 2500, 2900, 2100}, {8000, 600, 250, 430, 2000, 2300, 1700}, {5600, 470, 180, 320, 1600, 1900, 1300},
      {4000, 370, 130, 250, 1400, 1700, 1200},  {2800, 290, 90, 190, 1120, 1300, 950},   {2000, 230, 70, 150, 0, 0, 0},
  };
  const auto of = [](std::int64_t value_um) { return Length::of(value_um, Unit::micrometre); };
  for (const Printed& printed : rows) {
    const Row& row = row_of(edition("iso-3310-1-1990"), printed.w);
    EXPECT_EQ(row.maximum_tolerance.value, of(printed.x)) << printed.w;
    EXPECT_EQ(row.average_tolerance.value, of(printed.y)) << printed.w;
    EXPECT_EQ(row.intermediate_limit->value, of(printed.w + printed.z)) << printed.w;
    if (printed.d == 0) continue;
    EXPECT_EQ(row.wire.preferred.value, of(printed.d)) << printed.w;
    EXPECT_EQ(row.wire.maximum.value, of(printed.d_max)) << printed.w;
    EXPECT_EQ(row.wire.minimum.value, of(printed.d_min)) << printed.w;
  }
}

// GOST 6613-86 prints the same three quantities in mm to 10 um, and finer at 0.25 mm: within one such step of the unrounded
// formulas, and as in the table except for six values, which GOST has one step higher.
TEST(Published, Gost6613_86) {
  struct Printed {
    std::int64_t w, y, z, x;
  };
  const Printed rows[] = {{250, 10, 34, 58}, {500, 20, 60, 90}, {1000, 40, 90, 140}, {2000, 70, 150, 230}, {2500, 90, 180, 260}};
  std::vector<std::string> higher;
  for (const Printed& printed : rows) {
    const long double w = static_cast<long double>(printed.w);
    const Row& row = row_of(edition("iso-3310-1-1990"), printed.w);
    const auto compare = [&](const char* name, std::int64_t gost_um, long double formula_um, long double table_um) {
      EXPECT_LT(std::fabs(static_cast<long double>(gost_um) - formula_um), 10) << printed.w << name;
      if (std::fabs(static_cast<long double>(gost_um) - table_um) >= 0.5L) higher.push_back(std::to_string(printed.w) + name);
    };
    compare(" Y", printed.y, average(w), um(row.average_tolerance.value));
    compare(" Z", printed.z, (largest(w) + average(w)) / 2, um(row.intermediate_limit->value - row.nominal));
    compare(" X", printed.x, largest(w), um(row.maximum_tolerance.value));
  }
  EXPECT_THAT(higher, ElementsAre("500 Y", "500 Z", "500 X", "1000 Y", "2500 Y", "2500 Z"));
}

// The exceptions above are the ones that the tables list.
TEST(Errata, ListEveryValueThatLooksWrong) {
  const auto places = [](std::string_view name) {
    std::vector<std::string> texts;
    for (const Erratum& erratum : edition(name).errata) texts.emplace_back(erratum.where);
    return texts;
  };
  EXPECT_THAT(places("astm-e11-17"),
              ElementsAre("19 mm, wire.maximum", "37.5 mm, 31.5 mm, standard_deviation_limit.compliance",
                          "1 mm, standard_deviation_limit.inspection", "4.75 mm, standard_deviation_limit.inspection",
                          "25 \u00b5m, standard_deviation_limit.calibration",
                          "11.2 mm, 6.7 mm, 850 \u00b5m, 125 \u00b5m, 32 \u00b5m, 25 \u00b5m, standard_deviation_limit.inspection",
                          "6.7 mm, 4 mm, 2.36 mm, 38 \u00b5m, 32 \u00b5m, standard_deviation_limit.calibration",
                          "90 \u00b5m, 20 \u00b5m, standard_deviation_limit.inspection",
                          "425 \u00b5m, standard_deviation_limit.calibration"));
  EXPECT_THAT(places("iso-3310-1-2016"), ElementsAre("63 \u00b5m, 53 \u00b5m to 20 \u00b5m, wire.minimum",
                                                     "56 \u00b5m, wire.minimum", "45 mm to 35.5 mm, standard_deviation_limit"));
  EXPECT_THAT(places("iso-3310-1-1990"), ElementsAre("900 \u00b5m, average_tolerance"));
  EXPECT_THAT(places("astm-e11-04"), ElementsAre("38 \u00b5m, wire"));
}

}  // namespace
}  // namespace sievecloth
