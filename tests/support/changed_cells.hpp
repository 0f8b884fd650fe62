// Tables with one number changed by one in its last digit: does the test that watches the table notice?
#pragma once

#include <gtest/gtest-spi.h>
#include <gtest/gtest.h>

#include <exception>
#include <string>
#include <vector>

#include "sievecloth/edition.hpp"

namespace sievecloth::test {

/// A row in which one number is not what it was.
struct ChangedRow {
  Row row;
  std::string cell;
};

/// One in the last digit that is printed; of whole micrometres one micrometre.
inline Length last_digit(Length value) {
  std::int64_t step = 1;
  while (value.pm() % (10 * step) == 0 && step < picometres(Unit::micrometre)) step *= 10;
  return Length::from_pm(step);
}

/// Every number of a row, once up and once down.
inline std::vector<ChangedRow> changed_rows(const Row& row) {
  std::vector<ChangedRow> changed;
  const auto add = [&](std::string_view cell, auto change) {
    for (const int sign : {1, -1}) {
      ChangedRow copy{row, std::string(row.designation) + ", " + std::string(cell) + (sign > 0 ? " up" : " down")};
      change(copy.row, sign);
      changed.push_back(std::move(copy));
    }
  };
  const auto moved = [](Length value, int sign) { return sign > 0 ? value + last_digit(value) : value - last_digit(value); };
  add("nominal", [&](Row& r, int sign) { r.nominal = moved(r.nominal, sign); });
  add("average_tolerance", [&](Row& r, int sign) { r.average_tolerance.value = moved(r.average_tolerance.value, sign); });
  add("maximum_tolerance", [&](Row& r, int sign) { r.maximum_tolerance.value = moved(r.maximum_tolerance.value, sign); });
  add("wire.preferred", [&](Row& r, int sign) { r.wire.preferred.value = moved(r.wire.preferred.value, sign); });
  add("wire.minimum", [&](Row& r, int sign) { r.wire.minimum.value = moved(r.wire.minimum.value, sign); });
  add("wire.maximum", [&](Row& r, int sign) { r.wire.maximum.value = moved(r.wire.maximum.value, sign); });
  if (row.intermediate_limit)
    add("intermediate_limit", [&](Row& r, int sign) { r.intermediate_limit->value = moved(r.intermediate_limit->value, sign); });
  for (const Grade grade : k_grades) {
    const std::string name(to_text(grade));
    if (row.standard_deviation_limit[grade])
      add("standard_deviation_limit." + name, [&](Row& r, int sign) {
        Limit& limit = *r.standard_deviation_limit[grade];
        limit.value = moved(limit.value, sign);
      });
    if (row.counts[grade])
      add("counts." + name, [&](Row& r, int sign) {
        Count& count = *r.counts[grade];
        count.value -= count.value == k_all ? 1 : sign;
      });
  }
  return changed;
}

/// Whether `check` fails, or throws because nothing fits any more.
template <class Check>
bool notices(Check check) {
  ::testing::TestPartResultArray results;
  {
    const ::testing::ScopedFakeTestPartResultReporter reporter(
        ::testing::ScopedFakeTestPartResultReporter::INTERCEPT_ONLY_CURRENT_THREAD, &results);
    try {
      check();
    } catch (const std::exception&) {
      return true;
    }
  }
  for (int i = 0; i < results.size(); ++i) {
    if (results.GetTestPartResult(i).failed()) return true;
  }
  return false;
}

/// Changed numbers of an edition that `check(row, index)` lets pass; `count` is how many were tried.
template <class Check>
std::vector<std::string> unnoticed(const Edition& edition, Check check, int& count) {
  std::vector<std::string> cells;
  for (std::size_t i = 0; i < edition.rows.size(); ++i) {
    if (notices([&] { check(edition.rows[i], i); })) cells.push_back("fails without any change");
    for (const ChangedRow& changed : changed_rows(edition.rows[i])) {
      ++count;
      if (!notices([&] { check(changed.row, i); })) cells.push_back(changed.cell);
    }
  }
  return cells;
}

}  // namespace sievecloth::test
