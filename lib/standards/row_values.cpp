#include "standards/row_values.hpp"

#include <algorithm>
#include <optional>

namespace sievecloth {
namespace {

class Values {
 public:
  void add(const std::optional<Limit>& limit) {
    if (limit) add(to_text(limit->value, Unit::micrometre));
  }
  void add(const std::optional<Count>& count) {
    if (count) add(count->value == k_all ? "all" : std::to_string(count->value));
  }
  void add(std::string text) {
    if (std::find(texts_.begin(), texts_.end(), text) == texts_.end()) texts_.push_back(std::move(text));
  }
  std::vector<std::string> take() { return std::move(texts_); }

 private:
  std::vector<std::string> texts_;
};

// `name` is `group`, or `group.grade`.
template <class T>
void add_by_grade(Values& values, std::string_view name, std::string_view group, const PerGrade<std::optional<T>>& by_grade) {
  if (!name.starts_with(group)) return;
  name.remove_prefix(group.size());
  for (const Grade grade : k_grades) {
    if (name.empty() || name.substr(1) == to_text(grade)) values.add(by_grade[grade]);
  }
}

// None of these has a comma, which separates values in an erratum.
std::string spread_text(const SpreadRule& rule) {
  if (!rule.factor) return "s";
  std::string text = "K s from";
  for (const std::int32_t millionths : rule.tail_millionths.values) {
    text += (text.ends_with("from") ? " " : " / ") + to_text(Length::from_pm(millionths), Unit::micrometre);
  }
  return text;
}

// Of an edition whose rows have no such limits or counts, the rule about them says nothing.
template <class T>
bool any_row_has(const Edition& edition, PerGrade<std::optional<T>> Row::*values) {
  return std::any_of(edition.rows.begin(), edition.rows.end(), [&](const Row& row) {
    const auto& of_grades = (row.*values).values;
    return std::any_of(of_grades.begin(), of_grades.end(), [](const auto& value) { return value.has_value(); });
  });
}

std::string scales_text(const ScaleRule& rule) {
  constexpr std::array<std::string_view, 3> k_names{"fixed", "sieving_area", "area_of_cloth"};
  std::string text;
  for (const CountScale scale : rule.scale.values) {
    text += (text.empty() ? "" : " / ") + std::string(k_names[static_cast<std::size_t>(scale)]);
  }
  return text;
}

}  // namespace

std::vector<std::string> values_named(const Edition& edition, const Row& row, std::string_view name) {
  Values values;
  if (name == "average_tolerance") values.add(row.average_tolerance);
  if (name == "maximum_tolerance") values.add(row.maximum_tolerance);
  if (name == "intermediate_limit") values.add(row.intermediate_limit);
  if (name == "wire" || name == "wire.preferred") values.add(row.wire.preferred);
  if (name == "wire.minimum") values.add(row.wire.minimum);
  if (name == "wire.maximum") values.add(row.wire.maximum);
  const Rules& rules = edition.rules;
  if (name == "nominal") values.add(Limit{row.nominal, {}});
  if (name == "alternative" && !row.alternative.empty()) values.add(std::string(row.alternative));
  if (name == "wire_count") values.add(rules.wire_count);
  if (name == "graded") values.add(rules.graded ? "yes" : "no");
  if (name == "spread" && any_row_has(edition, &Row::standard_deviation_limit)) values.add(spread_text(rules.spread));
  if (name == "share" && rules.share) values.add(std::to_string(rules.share->percent));
  if (name == "resolution" && rules.resolution)
    values.add(to_text(rules.resolution->floor, Unit::micrometre) + " um or Y/" +
               std::to_string(rules.resolution->fraction_of_average));
  if (name == "count_scale" && any_row_has(edition, &Row::counts)) values.add(scales_text(rules.counts));
  add_by_grade(values, name, "standard_deviation_limit", row.standard_deviation_limit);
  add_by_grade(values, name, "counts", row.counts);
  return values.take();
}

}  // namespace sievecloth
