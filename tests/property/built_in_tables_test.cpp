// identity: the built-in tables against the YAML in tables/, read at run time; tablegen loses and changes nothing.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <span>
#include <string>

#include "sievecloth/edition.hpp"
#include "sievecloth/table_file.hpp"

namespace sievecloth {
namespace {

// Everything that a value holds, as text. Structured bindings: a new member does not compile until it is added here.
std::string said(std::integral auto number) { return std::to_string(number) + ","; }
std::string said(std::string_view text) { return std::string(text) + ","; }
std::string said(Length length) { return said(length.pm()); }
std::string said(CountScale scale) { return said(static_cast<int>(scale)); }
std::string said(const Basis& basis) {
  const auto& [provenance, source] = basis;
  return said(static_cast<int>(provenance)) + said(source);
}
std::string said(const Limit& limit) {
  const auto& [value, basis] = limit;
  return said(value) + said(basis);
}
std::string said(const Count& count) {
  const auto& [value, basis] = count;
  return said(value) + said(basis);
}
std::string said(const ShareRule& rule) {
  const auto& [percent, basis] = rule;
  return said(percent) + said(basis);
}
std::string said(const ResolutionRule& rule) {
  const auto& [floor, fraction, basis] = rule;
  return said(floor) + said(fraction) + said(basis);
}
std::string said(const WireRange& wire) {
  const auto& [preferred, minimum, maximum] = wire;
  return said(preferred) + said(minimum) + said(maximum);
}
template <class T>
std::string said(const std::optional<T>& value) {
  return value ? said(*value) : "none,";
}
template <class T>
std::string said(const PerGrade<T>& values) {
  std::string text;
  for (const T& value : values.values) text += said(value);
  return text;
}
std::string said(const Rules& rules) {
  const auto& [graded, spread, share, resolution, counts, wire_count] = rules;
  const auto& [factor, settled, tail, spread_basis] = spread;
  const auto& [scale, counts_basis] = counts;
  return said(graded) + said(factor) + said(settled) + said(tail) + said(spread_basis) + said(share) + said(resolution) +
         said(scale) + said(counts_basis) + said(wire_count);
}
std::string said(const Row& row) {
  const auto& [nominal, designation, alternative, average, maximum, intermediate, deviation, counts, wire] = row;
  return said(nominal) + said(designation.text()) + said(alternative.text()) + said(average) + said(maximum) + said(intermediate) +
         said(deviation) + said(counts) + said(wire);
}
std::string said(const Source& source) {
  const auto& [id, title] = source;
  return said(id) + said(title);
}
std::string said(const Erratum& erratum) {
  const auto& [sizes, value, where, date, printed, used, reason] = erratum;
  std::string text;
  for (const Length size : sizes) text += said(size);
  return text + said(value) + said(where) + said(date) + said(printed) + said(used) + said(reason);
}

template <class T>
void expect_same(std::span<const T> built_in, std::span<const T> file) {
  ASSERT_EQ(built_in.size(), file.size());
  for (std::size_t i = 0; i < file.size(); ++i) EXPECT_EQ(said(built_in[i]), said(file[i]));
}

void expect_same(const Edition& built_in, const Edition& file) {
  const auto& [name, title, rests_on, table_set, rules, rows, sources, errata, doubts, transcribed] = file;
  SCOPED_TRACE(std::string(name));
  EXPECT_EQ(built_in.name, name);
  EXPECT_EQ(built_in.title, title);
  EXPECT_EQ(built_in.rests_on, rests_on);
  EXPECT_EQ(built_in.table_set, table_set);
  EXPECT_EQ(said(built_in.rules), said(rules));
  expect_same(built_in.rows, rows);
  expect_same(built_in.sources, sources);
  expect_same(built_in.errata, errata);
  EXPECT_TRUE(doubts.empty());
  EXPECT_FALSE(built_in.transcribed || transcribed);
}

std::string text_of(const std::filesystem::path& path) {
  std::ifstream file(path);
  return {std::istreambuf_iterator<char>(file), {}};
}

TEST(BuiltInTables, AreWhatTheFilesSay) {
  const std::string sources = text_of(SIEVECLOTH_TABLES "/sources.yaml");
  std::size_t files = 0;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(SIEVECLOTH_TABLES)) {
    if (!entry.is_regular_file() || entry.path().filename() == "sources.yaml") continue;
    const TableFile file = read_table(text_of(entry.path()), entry.path().filename().string(), sources).value();
    expect_same(*find_edition(file.edition().name).value(), file.edition());
    ++files;
  }
  EXPECT_GT(files, 0u);
  EXPECT_EQ(files, built_in_editions().size());
}

}  // namespace
}  // namespace sievecloth
