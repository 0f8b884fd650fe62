// sievecloth size: the rows of one size, each value with its source.
#include <algorithm>
#include <memory>

#include <fmt/format.h>

#include "base/text.hpp"
#include "owners_table.hpp"
#include "report/json_parts.hpp"
#include "row_items.hpp"
#include "sievecloth/specification.hpp"
#include "verbs.hpp"

namespace sievecloth::tool {
namespace {

struct Options {
  std::string size;
  std::string standard;
  std::vector<std::string> tables;
  bool json = false;
};

struct Found {
  const Edition* edition = nullptr;
  const Row* row = nullptr;

  std::vector<const Erratum*> errata() const { return edition->errata_of(*row); }
};

// The nominal aperture that a size names in any edition, including an owner's table.
Result<Length> nominal_of(const std::string& size, const OwnersTables& owners) {
  for (const Edition* edition : owners_editions(owners)) {
    const Result<const Row*> row = find_size(*edition, size);
    if (row.ok()) return (*row)->nominal;
  }
  return find_nominal(size);
}

Result<std::vector<Found>> find(const Options& options, const OwnersTables& owners) {
  if (!options.standard.empty()) {
    const Result<const Edition*> edition = find_edition(options.standard, owners_editions(owners));
    if (!edition.ok()) return edition.errors();
    const Result<const Row*> row = find_size(**edition, options.size);
    if (!row.ok()) return row.errors();
    return std::vector{Found{*edition, *row}};
  }
  const Result<Length> nominal = nominal_of(options.size, owners);
  if (!nominal.ok()) return nominal.errors();
  std::vector<Found> found;
  for (const Edition* edition : known_editions(owners)) {
    for (const Row& row : edition->rows) {
      if (row.nominal == *nominal) found.push_back({edition, &row});
    }
  }
  return found;
}

std::string text_of(const Found& found) {
  const Row& row = *found.row;
  const std::string alternative = row.alternative.empty() ? std::string() : fmt::format(" ({})", row.alternative);
  std::string text = fmt::format("{}{} in {}, {}\n", row.designation, alternative, found.edition->title, found.edition->name);
  for (const RowItem& item : items_of(row)) {
    text += fmt::format("  {}  {}  {} ({})\n", padded(item.label, 33), padded(item.text, 18), to_text(item.basis.provenance),
                        found.edition->source(item.basis).title);
  }
  for (const Erratum* erratum : found.errata()) text += fmt::format("  erratum: {}\n", erratum_text(*erratum));
  for (const ImplausibleValue* implausible : found.edition->implausible_values_of(*found.row))
    text += fmt::format("  looks mistyped: {}: {}\n", implausible->value, implausible->text);
  return text;
}

std::string text_of(const std::vector<Found>& rows) {
  std::string text;
  for (const Found& found : rows) text += (text.empty() ? "" : "\n") + text_of(found);
  return text;
}

// Writes the members that state the source of a value.
void write_basis(JsonWriter& json, const Edition& edition, const Basis& basis) {
  json.member("provenance", to_text(basis.provenance));
  json.member("source", edition.source(basis).title);
}

void write_limit(JsonWriter& json, std::string_view name, const Edition& edition, const Limit& limit) {
  json.object(name, [&] {
    json.member("value_um", limit.value);
    write_basis(json, edition, limit.basis);
  });
}

void write_count(JsonWriter& json, std::string_view name, const Edition& edition, const Count& count) {
  json.object(name, [&] {
    const bool all = count.value == k_all;
    if (!all) json.member("value", count.value);
    json.member("all_apertures", all);
    write_basis(json, edition, count.basis);
  });
}

template <class T, class Write>
void write_by_grade(JsonWriter& json, std::string_view name, const PerGrade<std::optional<T>>& values, Write write) {
  const auto known = [](const std::optional<T>& value) { return value.has_value(); };
  if (std::none_of(values.values.begin(), values.values.end(), known)) return;
  json.object(name, [&] {
    for (const Grade grade : k_grades) {
      if (values[grade]) write(to_text(grade), *values[grade]);
    }
  });
}

void write_row(JsonWriter& json, const Found& found) {
  const Edition& edition = *found.edition;
  const Row& row = *found.row;
  json.object([&] {
    json.member("standard", edition.name);
    json.member("title", edition.title);
    if (!row.alternative.empty()) json.member("alternative", row.alternative);
    json.object("average_aperture", [&] {
      json.member("lower_um", row.smallest_mean());
      json.member("upper_um", row.largest_mean());
      write_basis(json, edition, row.average_tolerance.basis);
    });
    json.object("maximum_aperture", [&] {
      json.member("upper_um", row.largest_aperture());
      write_basis(json, edition, row.maximum_tolerance.basis);
    });
    if (row.intermediate_limit) write_limit(json, "intermediate_limit", edition, *row.intermediate_limit);
    write_by_grade(json, "standard_deviation_limit", row.standard_deviation_limit,
                   [&](std::string_view grade, const Limit& limit) { write_limit(json, grade, edition, limit); });
    write_by_grade(json, "counts", row.counts,
                   [&](std::string_view grade, const Count& count) { write_count(json, grade, edition, count); });
    json.object("wire", [&] {
      write_limit(json, "preferred", edition, row.wire.preferred);
      write_limit(json, "minimum", edition, row.wire.minimum);
      write_limit(json, "maximum", edition, row.wire.maximum);
    });
    write_doubts(json, edition, row);
    json.array("errata", found.errata(), [&](const Erratum* erratum) { write_erratum(json, *erratum); });
  });
}

std::string json_of(const std::vector<Found>& rows) {
  JsonText json;
  json.object([&] {
    json.member("schema", "sievecloth-size/1");
    json.member("designation", rows.front().row->designation);
    json.member("nominal_um", rows.front().row->nominal);
    json.array("editions", rows, [&](const Found& found) { write_row(json, found); });
  });
  return json.text();
}

int run(const Options& options, const Verb& verb) {
  const Result<OwnersTables> owners = read_owners_tables(options.tables);
  if (!owners.ok()) return complain(owners.errors(), options.json);
  const Result<std::vector<Found>> rows = find(options, *owners);
  if (!rows.ok()) return complain(rows.errors(), options.json, &verb);
  return answer(options.json ? json_of(*rows) : text_of(*rows));
}

}  // namespace

Verb size_verb() {
  const auto options = std::make_shared<Options>();
  return {"size",
          "Prints the row of a size in each edition that has it, each value with its source.",
          "  sievecloth size \"No. 200\"\n  sievecloth size 75um --standard iso-3310-1-2016",
          {{"SIZE", &options->size, "Size, such as \"No. 200\", 75um, 4.75mm, \"3/8 in.\"", {.required = true}},
           {"--standard", &options->standard, "One edition alone, as `sievecloth editions` lists them"},
           {"--tables", &options->tables, "An owner's own table, as YAML; may be repeated"},
           {"--json", &options->json, "One JSON document"}},
          [options](const Verb& verb) { return run(*options, verb); }};
}

}  // namespace sievecloth::tool
