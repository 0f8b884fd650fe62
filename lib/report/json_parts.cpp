#include "report/json_parts.hpp"

namespace sievecloth {
namespace {

void write_warning(JsonWriter& json, const Warning& warning) {
  json.object([&] {
    json.member("kind", to_text(warning.kind));
    if (warning.direction) json.member("direction", to_text(*warning.direction));
    if (warning.row != nullptr) json.member("designation", warning.row->designation);
    if (warning.step > Length()) json.member("step_um", warning.step);
    if (warning.reading > Length()) json.member("reading_um", warning.reading);
    if (warning.line > 0) {
      json.member("line", warning.line);
      json.member("earlier_line", warning.earlier_line);
    }
  });
}

}  // namespace

void write_errata(JsonWriter& json, const Specification& specification) {
  json.array("errata", specification.edition->errata_of(*specification.row), [&](const Erratum* erratum) {
    json.object([&] {
      json.member("where", erratum->where);
      json.member("printed", erratum->printed);
      json.member("used", erratum->used);
      json.member("reason", erratum->reason);
    });
  });
}

void write_doubts(JsonWriter& json, const Edition& edition, const Row& row) {
  json.array("doubts", edition.implausible_values_of(row), [&](const ImplausibleValue* implausible) {
    json.object([&] {
      json.member("value", implausible->value);
      json.member("finding", implausible->text);
    });
  });
}

void write_ignored_columns(JsonWriter& json, const std::vector<std::string>& columns) {
  json.array("ignored_columns", columns, [&](const std::string& column) { json.value(printable(column, 4096)); });
}

void write_remarks(JsonWriter& json, const Assessment& assessment) {
  json.array("warnings", assessment.warnings, [&](const Warning& warning) { write_warning(json, warning); });
  write_ignored_columns(json, assessment.ignored_columns);
  write_errata(json, assessment.specification);
  write_doubts(json, *assessment.specification.edition, *assessment.specification.row);
  if (assessment.conditions.agreed_count) json.member("agreed_count", *assessment.conditions.agreed_count);
}

}  // namespace sievecloth
