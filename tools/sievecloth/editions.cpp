// sievecloth editions: the available tables, and what each rests on.
#include <algorithm>
#include <map>
#include <memory>
#include <set>

#include <fmt/format.h>

#include "owners_table.hpp"
#include "report/escape.hpp"
#include "report/json.hpp"
#include "row_items.hpp"
#include "standards/difference.hpp"
#include "verbs.hpp"

namespace sievecloth::tool {
namespace {

struct Options {
  std::vector<std::string> names;
  std::vector<std::string> tables;
  bool compare = false;
  bool csv = false;
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

// ---- what changed between two editions

/// Two editions, and what differs.
struct Comparison {
  const Edition& first;
  const Edition& second;
  std::vector<Difference> changes = differences(first, second);
};

// `wire.maximum` becomes `wire maximum`.
std::string label_of(std::string_view value) {
  std::string label(value);
  std::replace_if(label.begin(), label.end(), [](char c) { return c == '_' || c == '.'; }, ' ');
  return label;
}

// A transcription has the title of the edition that it lies over.
std::string title_of(const Edition& edition) { return fmt::format("{}{}", edition.title, edition.transcribed ? ", transcribed" : ""); }

// `average tolerance 4.1 -> 3.7`, or that only one edition has the size.
std::string phrase_of(const Difference& change, const Comparison& comparison) {
  if (change.value == "nominal")
    return fmt::format("only in {}", title_of(change.first.empty() ? comparison.second : comparison.first));
  const auto shown = [](const std::string& text) { return text.empty() ? std::string("none") : text; };
  return fmt::format("{} {} -> {}", label_of(change.value), shown(change.first), shown(change.second));
}

std::string text_of(const Comparison& comparison) {
  std::string text = fmt::format("{} -> {}, lengths in um\n", title_of(comparison.first), title_of(comparison.second));
  const Row* row = nullptr;
  bool begun = false;
  for (const Difference& change : comparison.changes) {
    const bool same = begun && change.row == row;
    row = change.row;
    begun = true;
    text += same ? "; " : fmt::format("{}{}: ", text.ends_with('\n') ? "" : "\n", row == nullptr ? "rules" : row->designation.text());
    text += phrase_of(change, comparison);
  }
  return text + (begun ? "\n" : "no difference\n");
}

std::string csv_of(const Comparison& comparison) {
  std::string csv = "size,value,first,second\n";
  for (const Difference& change : comparison.changes) {
    csv += fmt::format("{},{},{},{}\n", change.row == nullptr ? "" : csv_cell(change.row->designation.text()), change.value,
                       csv_cell(change.first), csv_cell(change.second));
  }
  return csv;
}

std::string json_of(const Comparison& comparison) {
  JsonText json;
  json.object([&] {
    json.member("schema", "sievecloth-comparison/1");
    json.member("first", comparison.first.name);
    json.member("second", comparison.second.name);
    json.array("changes", comparison.changes, [&](const Difference& change) {
      json.object([&] {
        if (change.row != nullptr) {
          json.member("designation", change.row->designation.text());
          json.member("nominal_um", change.row->nominal);
        }
        json.member("value", change.value);
        if (!change.first.empty()) json.member("first", change.first);
        if (!change.second.empty()) json.member("second", change.second);
      });
    });
  });
  return json.text();
}

int compare(const Options& options, const OwnersTables& owners, const Verb& verb) {
  if (options.names.size() != 2) {
    const std::string found = fmt::format("{}", options.names.size());
    return complain({{ErrorCode::option_missing, "--compare takes two editions", found, "the names of two", {}}}, options.json, &verb);
  }
  // The same name twice: the table built in, and the transcription that lies over it.
  const bool same = options.names[0] == options.names[1];
  const Result<const Edition*> first =
      same ? find_edition(options.names[0]) : find_edition(options.names[0], owners_editions(owners));
  const Result<const Edition*> second = find_edition(options.names[1], owners_editions(owners));
  if (!first.ok() || !second.ok()) return complain(first.ok() ? second.errors() : first.errors(), options.json, &verb);
  const Comparison comparison{**first, **second};
  return answer(options.json ? json_of(comparison) : options.csv ? csv_of(comparison) : text_of(comparison));
}

int run(const Options& options, const Verb& verb) {
  const Result<OwnersTables> owners = read_owners_tables(options.tables);
  if (!owners.ok()) return complain(owners.errors(), options.json);
  if (options.compare) return compare(options, *owners, verb);
  if (!options.names.empty())
    return complain({{ErrorCode::option_missing, "names of editions are for --compare", printable(options.names.front()), "", {}}},
                    options.json, &verb);
  const std::vector<const Edition*> editions = known_editions(*owners);
  return answer(options.json ? json_of(editions) : text_of(editions));
}

}  // namespace

Verb editions_verb() {
  const auto options = std::make_shared<Options>();
  return {"editions",
          "Lists the editions whose tables are built in, and what each rests on.",
          "  sievecloth editions\n"
          "  sievecloth editions --compare iso-3310-1-1990 iso-3310-1-2016",
          {{"NAME", &options->names, "Two editions to compare"},
           {"--compare", &options->compare, "What changed from the first edition to the second, size by size"},
           {"--csv", &options->csv, "The comparison as CSV", {.needs = {"--compare"}, .excludes = {"--json"}}},
           {"--tables", &options->tables, "An owner's own table, as YAML; may be repeated"},
           {"--json", &options->json, "One JSON document"}},
          [options](const Verb& verb) { return run(*options, verb); }};
}

}  // namespace sievecloth::tool
