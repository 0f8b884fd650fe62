#include "standards/difference.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <functional>
#include <map>

#include "standards/row_values.hpp"

namespace sievecloth {
namespace {

std::string value_of(const Edition& edition, const Row& row, std::string_view name) {
  return fmt::format("{}", fmt::join(values_named(edition, row, name), ", "));
}

bool is_rule(std::string_view name) {
  return std::find(k_rule_names.begin(), k_rule_names.end(), name) != k_rule_names.end();
}

bool is_group(std::string_view name) {
  return std::any_of(k_value_names.begin(), k_value_names.end(),
                     [&](std::string_view other) { return other.size() > name.size() && other.starts_with(name) && other[name.size()] == '.'; });
}

// A limit that both editions have once for all grades is compared once.
bool is_one(const Edition& edition, const Row& row, std::string_view group) { return values_named(edition, row, group).size() <= 1; }

void compare_rows(const Edition& first, const Row& a, const Edition& second, const Row& b, std::vector<Difference>& found) {
  const auto add = [&](std::string_view name) {
    std::string was = value_of(first, a, name);
    std::string is = value_of(second, b, name);
    if (was != is) found.push_back({&b, name, std::move(was), std::move(is)});
  };
  std::string_view compared;  // a group that is compared as a whole
  for (const std::string_view name : k_value_names) {
    if (is_rule(name) || name == "wire" || (!compared.empty() && name.starts_with(compared))) continue;
    if (is_group(name)) {
      compared = is_one(first, a, name) && is_one(second, b, name) ? name : std::string_view();
      if (compared.empty()) continue;
    }
    add(name);
  }
}

}  // namespace

std::vector<Difference> differences(const Edition& first, const Edition& second) {
  std::vector<Difference> found;
  for (const std::string_view name : k_rule_names) {
    std::string was = value_of(first, first.rows.front(), name);
    std::string is = value_of(second, second.rows.front(), name);
    if (was != is) found.push_back({nullptr, name, std::move(was), std::move(is)});
  }
  std::map<Length, std::array<const Row*, 2>, std::greater<>> rows;
  for (const Row& row : first.rows) rows[row.nominal][0] = &row;
  for (const Row& row : second.rows) rows[row.nominal][1] = &row;
  for (const auto& [nominal, both] : rows) {
    if (both[0] != nullptr && both[1] != nullptr) {
      compare_rows(first, *both[0], second, *both[1], found);
      continue;
    }
    const std::string size = to_text(nominal, Unit::micrometre);
    if (both[0] != nullptr) found.push_back({both[0], "nominal", size, ""});
    if (both[1] != nullptr) found.push_back({both[1], "nominal", "", size});
  }
  return found;
}

}  // namespace sievecloth
