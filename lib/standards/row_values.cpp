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
  std::vector<std::string> take() { return std::move(texts_); }

 private:
  void add(std::string text) {
    if (std::find(texts_.begin(), texts_.end(), text) == texts_.end()) texts_.push_back(std::move(text));
  }
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

}  // namespace

std::vector<std::string> values_named(const Edition& edition, const Row& row, std::string_view name) {
  Values values;
  if (name == "average_tolerance") values.add(row.average_tolerance);
  if (name == "maximum_tolerance") values.add(row.maximum_tolerance);
  if (name == "intermediate_limit") values.add(row.intermediate_limit);
  if (name == "wire" || name == "wire.preferred") values.add(row.wire.preferred);
  if (name == "wire.minimum") values.add(row.wire.minimum);
  if (name == "wire.maximum") values.add(row.wire.maximum);
  if (name == "wire_count") values.add(edition.rules.wire_count);
  add_by_grade(values, name, "standard_deviation_limit", row.standard_deviation_limit);
  add_by_grade(values, name, "counts", row.counts);
  return values.take();
}

}  // namespace sievecloth
