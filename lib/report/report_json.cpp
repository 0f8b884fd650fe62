#include "report/json.hpp"
#include "sievecloth/report.hpp"
#include "sievecloth/version.hpp"

namespace sievecloth {
namespace {

void write_summary(JsonWriter& json, std::string_view name, const Summary& summary) {
  if (summary.empty()) return;
  json.object(name, [&] {
    json.member("n", summary.count());
    json.member("mean_um", summary.mean_um());
    json.member("standard_deviation_um", summary.standard_deviation_um());
    json.member("minimum_um", summary.minimum());
    json.member("maximum_um", summary.maximum());
  });
}

void write_samples(JsonWriter& json, const Sample& sample) {
  json.object("samples", [&] {
    for (const Direction direction : k_directions) {
      const DirectionSample& side = sample[direction];
      json.object(to_text(direction), [&] {
        write_summary(json, "aperture", side.aperture);
        write_summary(json, "wire", side.wire);
        write_summary(json, "suspects", side.suspect);
      });
    }
  });
}

void write_ground(JsonWriter& json, const Ground& ground, const Edition& edition) {
  json.object([&] {
    json.member("of", to_text(ground.kind));
    if (ground.basis) {
      json.member("provenance", to_text(ground.basis->provenance));
      json.member("source", edition.source(*ground.basis).title);
    } else {
      json.member("provenance", "not known");
    }
    json.member("firm", ground.firm());
  });
}

void write_criterion(JsonWriter& json, const Criterion& criterion, const Assessment& assessment) {
  json.object([&] {
    json.member("id", to_text(criterion.id));
    if (criterion.direction) json.member("direction", to_text(*criterion.direction));
    json.member("outcome", to_text(criterion.outcome));
    json.member("observed_um", criterion.observed_um);
    json.member("lower_um", criterion.lower);
    json.member("upper_um", criterion.upper);
    json.member("margin_um", criterion.margin_um);
    json.member("factor", criterion.factor);
    json.member("observed", criterion.observed);
    json.member("limit", criterion.limit);
    if (criterion.id == CriterionId::viewing) {
      const std::optional<bool>& passed = assessment.conditions.viewing_passed;
      json.member("observed", !passed ? "not recorded" : *passed ? "passed" : "failed");
      json.member("limit", "passed");
    } else {
      json.member("n", criterion.n);
    }
    json.array("reasons", criterion.reasons, [&](Reason reason) { json.value(to_text(reason)); });
    json.array("rests_on", criterion.grounds,
               [&](const Ground& ground) { write_ground(json, ground, *assessment.specification.edition); });
  });
}

void write_required_count(JsonWriter& json, const Assessment& assessment) {
  if (!assessment.required) return;
  const RequiredCount& required = *assessment.required;
  json.object("required_count", [&] {
    json.key("per_direction");
    required.count == k_all ? json.value("all") : json.value(required.count);
    json.member("all_apertures", required.all);
    json.member("scaled", required.scaled);
    json.member("size_assumed", required.size_assumed);
  });
}

void write_warning(JsonWriter& json, const Warning& warning) {
  json.object([&] {
    json.member("kind", to_text(warning.kind));
    if (warning.row != nullptr) json.member("designation", warning.row->designation);
  });
}

}  // namespace

std::string to_json(const Assessment& assessment) {
  const Specification& specification = assessment.specification;
  const Conditions& conditions = assessment.conditions;
  JsonWriter json;
  json.object([&] {
    json.member("schema", "sievecloth-assessment/1");
    json.member("verdict", to_text(assessment.verdict));
    json.member("provisional", assessment.provisional);
    json.member("measured_only", conditions.measured_only);
    json.member("apertures_only", conditions.apertures_only);
    json.member("only_seen", conditions.only_seen);
    json.member("standard", specification.edition->name);
    json.member("designation", specification.row->designation);
    json.key("alternative");
    specification.row->alternative.empty() ? json.null() : json.value(specification.row->alternative);
    json.key("grade");
    specification.grade ? json.value(to_text(*specification.grade)) : json.null();
    json.member("nominal_um", specification.row->nominal);
    write_required_count(json, assessment);
    json.member("all_measured", assessment.all_measured);
    json.array("warnings", assessment.warnings, [&](const Warning& warning) { write_warning(json, warning); });
    json.array("criteria", assessment.criteria, [&](const Criterion& criterion) { write_criterion(json, criterion, assessment); });
    write_samples(json, assessment.sample);
    json.member("table_set", specification.edition->table_set);
    json.member("library", k_version);
  });
  return json.text();
}

std::string to_json(const Errors& errors) {
  JsonWriter json;
  json.object([&] {
    json.member("schema", "sievecloth-error/1");
    json.array("errors", errors, [&](const Error& error) {
      json.object([&] {
        json.member("code", static_cast<int>(error.code));
        json.member("message", error.message);
        if (!error.found.empty()) json.member("found", error.found);
        if (!error.expected.empty()) json.member("expected", error.expected);
        if (!error.where.file.empty()) json.member("file", printable(error.where.file, 4096));
        if (error.where.line > 0) json.member("line", error.where.line);
        if (error.where.column > 0) json.member("column", error.where.column);
      });
    });
  });
  return json.text();
}

}  // namespace sievecloth
