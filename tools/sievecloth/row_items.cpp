#include "row_items.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "base/text.hpp"

namespace sievecloth::tool {
namespace {

/// Lengths in the unit of the size: um below 1 mm, mm from there.
struct InUnit {
  Unit unit;
  std::string operator()(Length length) const { return to_text(length, unit); }
  std::string_view symbol() const { return unit == Unit::micrometre ? k_um_symbol : std::string_view("mm"); }
};

bool same(const std::optional<Limit>& a, const std::optional<Limit>& b) {
  return a && b && a->value == b->value && a->basis.provenance == b->basis.provenance && a->basis.source == b->basis.source;
}
bool same(const std::optional<Count>& a, const std::optional<Count>& b) {
  return a && b && a->value == b->value && a->basis.provenance == b->basis.provenance && a->basis.source == b->basis.source;
}

template <class T, class ToText>
void add_by_grade(std::vector<RowItem>& items, const std::string& label, const PerGrade<std::optional<T>>& values,
                  ToText to_text_of) {
  const auto& all = values.values;
  if (same(all[0], all[1]) && same(all[1], all[2])) {
    items.push_back({label, to_text_of(*all[0]), all[0]->basis});
    return;
  }
  for (const Grade grade : k_grades) {
    const std::optional<T>& value = values[grade];
    if (value) items.push_back({fmt::format("{}, {}", label, to_text(grade)), to_text_of(*value), value->basis});
  }
}

}  // namespace

std::vector<RowItem> items_of(const Row& row) {
  const InUnit shown{row.nominal < Length::of(1, Unit::millimetre) ? Unit::micrometre : Unit::millimetre};
  const auto at_most = [&](Length length) { return fmt::format("at most {} {}", shown(length), shown.symbol()); };
  std::vector<RowItem> items;
  items.push_back({"average aperture",
                   fmt::format("{} to {} {}", shown(row.smallest_mean()), shown(row.largest_mean()), shown.symbol()),
                   row.average_tolerance.basis});
  items.push_back({"maximum aperture", at_most(row.largest_aperture()), row.maximum_tolerance.basis});
  if (row.intermediate_limit) {
    items.push_back({"intermediate limit", fmt::format("{} {}", shown(row.intermediate_limit->value), shown.symbol()),
                     row.intermediate_limit->basis});
  }
  add_by_grade(items, "standard deviation", row.standard_deviation_limit, [&](const Limit& limit) { return at_most(limit.value); });
  add_by_grade(items, "apertures to measure", row.counts,
               [](const Count& count) { return count.value == k_all ? "all" : fmt::format("{}", count.value); });
  const WireRange& wire = row.wire;
  items.push_back({"preferred wire", fmt::format("{} {}", shown(wire.preferred.value), shown.symbol()), wire.preferred.basis});
  items.push_back({"mean wire", fmt::format("at least {} {}", shown(wire.minimum.value), shown.symbol()), wire.minimum.basis});
  items.push_back({"mean wire", at_most(wire.maximum.value), wire.maximum.basis});
  return items;
}

void write_erratum(JsonWriter& json, const Erratum& erratum) {
  json.object([&] {
    json.member("where", erratum.where);
    json.member("date", erratum.date);
    if (!erratum.printed.empty()) json.member("printed", erratum.printed);
    json.member("used", erratum.used);
    json.member("reason", erratum.reason);
  });
}

std::string erratum_text(const Erratum& erratum) {
  const std::string printed = erratum.printed.empty() ? std::string() : fmt::format("printed {}, ", erratum.printed);
  return fmt::format("{}: {}used {} ({}). {}", erratum.where, printed, erratum.used, erratum.date, erratum.reason);
}

}  // namespace sievecloth::tool
