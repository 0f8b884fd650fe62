// sievecloth editions: the available tables, and what each rests on.
#include <algorithm>
#include <map>
#include <memory>
#include <set>

#include <fmt/format.h>

#include "owners_table.hpp"
#include "report/json.hpp"
#include "row_items.hpp"
#include "verbs.hpp"

namespace sievecloth::tool {
namespace {

struct Options {
  std::string tables;
  bool json = false;
};

/// A decision rule in words.
struct RuleItem {
  std::string_view name;
  std::string text;
  Basis basis;
};

std::string spread_text(const SpreadRule& rule) {
  if (!rule.factor) return "s within the limit";
  const auto tail = [&](Grade grade) { return static_cast<double>(rule.tail_millionths[grade]) / 1e6; };
  return fmt::format(
      "K s within the limit, K from the lower {}, {} and {} of chi-square for compliance, inspection and calibration{}",
      tail(Grade::compliance), tail(Grade::inspection), tail(Grade::calibration),
      rule.settled ? "" : "; undecided where K alone would reject");
}

std::string scale_text(CountScale scale) {
  switch (scale) {
    case CountScale::fixed: return "fixed";
    case CountScale::sieving_area: return "for a sieve of 200 mm, in proportion to the sieving area";
    case CountScale::area_of_cloth: break;
  }
  return "for 100 square feet of cloth, more for more";
}

std::string scales_text(const ScaleRule& rule) {
  const auto& scale = rule.scale.values;
  if (scale[0] == scale[1] && scale[1] == scale[2]) return scale_text(scale[0]);
  std::string text;
  for (const Grade grade : k_grades) {
    text += fmt::format("{}{}: {}", text.empty() ? "" : "; ", to_text(grade), scale_text(rule.scale[grade]));
  }
  return text;
}

/// True if any row has a value that differs by grade.
template <class T>
bool any_row_has(const Edition& edition, PerGrade<std::optional<T>> Row::*values) {
  return std::any_of(edition.rows.begin(), edition.rows.end(), [&](const Row& row) {
    const auto& of_grades = (row.*values).values;
    return std::any_of(of_grades.begin(), of_grades.end(), [](const auto& value) { return value.has_value(); });
  });
}

std::vector<RuleItem> rules_of(const Edition& edition) {
  const Rules& rules = edition.rules;
  std::vector<RuleItem> items;
  if (any_row_has(edition, &Row::standard_deviation_limit))
    items.push_back({"spread", spread_text(rules.spread), rules.spread.basis});
  if (rules.share) {
    items.push_back({"share", fmt::format("at most {} % of the apertures above the intermediate limit", rules.share->percent),
                     rules.share->basis});
  }
  if (rules.resolution) {
    items.push_back({"resolution",
                     fmt::format("{} or the average tolerance / {}, whichever is greater", to_text(rules.resolution->floor),
                                 rules.resolution->fraction_of_average),
                     rules.resolution->basis});
  }
  if (any_row_has(edition, &Row::counts)) items.push_back({"apertures to measure", scales_text(rules.counts), rules.counts.basis});
  items.push_back({"wires to measure", fmt::format("{} in each direction", rules.wire_count.value), rules.wire_count.basis});
  return items;
}

/// Number of values at each level of provenance, and the sources that rows and rules name.
struct Footing {
  std::map<Provenance, std::int64_t> values;
  std::set<std::uint8_t> sources;
};

Footing footing_of(const Edition& edition) {
  Footing footing;
  for (const Row& row : edition.rows) {
    for (const RowItem& item : items_of(row)) {
      ++footing.values[item.basis.provenance];
      footing.sources.insert(item.basis.source);
    }
  }
  for (const RuleItem& rule : rules_of(edition)) footing.sources.insert(rule.basis.source);
  return footing;
}

std::string text_of(const Edition& edition) {
  const Footing footing = footing_of(edition);
  std::string text = fmt::format("{}: {}, {} sizes from {} to {}, {}\n", edition.name, edition.title, edition.rows.size(),
                                 edition.rows.front().designation, edition.rows.back().designation,
                                 edition.rules.graded ? "grades compliance, inspection and calibration" : "no grades");
  text += fmt::format("  table set: {}\n  rests on: {}\n", edition.table_set, edition.rests_on);
  std::string values;
  for (const auto& [provenance, count] : footing.values)
    values += fmt::format("{}{} {}", values.empty() ? "" : ", ", count, to_text(provenance));
  text += fmt::format("  values: {}\n  rules:\n", values);
  for (const RuleItem& rule : rules_of(edition)) {
    text += fmt::format("    {}: {} - {} ({})\n", rule.name, rule.text, to_text(rule.basis.provenance),
                        edition.source(rule.basis).title);
  }
  text += "  sources:\n";
  for (const std::uint8_t source : footing.sources) text += fmt::format("    {}\n", edition.sources[source].title);
  if (!edition.errata.empty()) text += "  errata:\n";
  for (const Erratum& erratum : edition.errata) text += fmt::format("    {}\n", erratum_text(erratum));
  return text;
}

std::string text_of(const std::vector<const Edition*>& editions) {
  std::string text;
  for (const Edition* edition : editions) text += (text.empty() ? "" : "\n") + text_of(*edition);
  return text;
}

void write_edition(JsonWriter& json, const Edition& edition) {
  Footing footing = footing_of(edition);
  json.object([&] {
    json.member("standard", edition.name);
    json.member("title", edition.title);
    json.member("table_set", edition.table_set);
    json.member("rests_on", edition.rests_on);
    json.member("graded", edition.rules.graded);
    json.member("sizes", edition.rows.size());
    json.member("largest_um", edition.rows.front().nominal);
    json.member("smallest_um", edition.rows.back().nominal);
    json.object("values", [&] {
      for (const Provenance provenance : k_provenances) {
        json.member(to_text(provenance), footing.values[provenance]);
      }
    });
    json.array("rules", rules_of(edition), [&](const RuleItem& rule) {
      json.object([&] {
        json.member("rule", rule.name);
        json.member("text", rule.text);
        json.member("provenance", to_text(rule.basis.provenance));
        json.member("source", edition.source(rule.basis).title);
      });
    });
    json.array("sources", footing.sources, [&](std::uint8_t source) { json.value(edition.sources[source].title); });
    json.array("errata", edition.errata, [&](const Erratum& erratum) { write_erratum(json, erratum); });
  });
}

std::string json_of(const std::vector<const Edition*>& editions) {
  JsonText json;
  json.object([&] {
    json.member("schema", "sievecloth-editions/1");
    json.array("editions", editions, [&](const Edition* edition) { write_edition(json, *edition); });
  });
  return json.text();
}

int run(const Options& options) {
  const Result<std::optional<TableFile>> owners = read_owners_table(options.tables);
  if (!owners.ok()) return complain(owners.errors(), options.json);
  const std::vector<const Edition*> editions = known_editions(*owners);
  return answer(options.json ? json_of(editions) : text_of(editions));
}

}  // namespace

Verb editions_verb() {
  const auto options = std::make_shared<Options>();
  return {"editions",
          "Lists the editions whose tables are built in, and what each rests on.",
          "  sievecloth editions",
          {{"--tables", &options->tables, "An owner's own table, as YAML"}, {"--json", &options->json, "One JSON document"}},
          [options](const Verb&) { return run(*options); }};
}

}  // namespace sievecloth::tool
