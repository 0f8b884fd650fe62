#include "report/confidence_words.hpp"
#include "report/json_parts.hpp"
#include "report/mark.hpp"
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

void write_figure(JsonWriter& json, std::string_view name, const std::optional<Uncertainty>& uncertainty) {
  if (!uncertainty) return;
  json.object(name, [&] {
    json.member("expanded_um", uncertainty->expanded_um);
    json.member("coverage_factor", uncertainty->coverage_factor);
    json.member("coverage_probability", uncertainty->coverage_probability);
    json.member("effective_degrees_of_freedom", uncertainty->freedom);
    json.member("from_budget", uncertainty->from_budget);
    json.member("lower_bound", !uncertainty->complete);
  });
}

void write_uncertainty(JsonWriter& json, const Assessment& assessment) {
  json.object("uncertainty", [&] {
    for (const Direction direction : k_directions) {
      const FigureUncertainties& known = assessment.uncertainty[direction];
      json.object(to_text(direction), [&] {
        for (const CertifiedFigure figure : k_certified_figures) write_figure(json, to_text(figure), known[figure]);
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
    json.member("firm", ground.verified());
  });
}

void write_criterion(JsonWriter& json, const Criterion& criterion, const Assessment& assessment) {
  json.object([&] {
    json.member("id", to_text(criterion.id));
    if (criterion.direction) json.member("direction", to_text(*criterion.direction));
    json.member("outcome", to_text(criterion.outcome));
    if (assessment.conditions.decision != DecisionRule::simple)
      json.member("statement", criterion.statement ? to_text(*criterion.statement) : to_text(criterion.outcome));
    json.member("observed_um", criterion.observed_um);
    json.member("lower_um", criterion.lower);
    json.member("upper_um", criterion.upper);
    json.member("margin_um", criterion.margin_um);
    json.member("guard_um", criterion.guard);
    json.member("acceptance_lower_um", criterion.acceptance_lower);
    json.member("acceptance_upper_um", criterion.acceptance_upper);
    json.member("factor", criterion.factor);
    json.member("observed", criterion.observed);
    json.member("limit", criterion.limit);
    if (compared_by(criterion.id) == Compared::finding) {
      json.member("observed", !criterion.finding ? "not recorded" : *criterion.finding ? "passed" : "failed");
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
    json.member("agreed", !required.basis);
  });
}

void write_assessment(JsonWriter& json, const Assessment& assessment) {
  const Specification& specification = assessment.specification;
  const Conditions& conditions = assessment.conditions;
  json.member("schema", "sievecloth-assessment/1");
  json.member("verdict", to_text(assessment.verdict));
  json.member("statement", assessment.statement ? to_text(*assessment.statement) : to_text(assessment.verdict));
  json.member("provisional", assessment.provisional);
  json.member("measured_only", conditions.measured_only);
  json.member("apertures_only", conditions.apertures_only);
  json.member("only_seen", conditions.only_seen);
  if (assessment.conditions.decision != DecisionRule::simple) json.member("decision_rule", to_text(assessment.conditions.decision));
  json.member("standard", specification.edition->name);
  json.member("designation", specification.row->designation);
  json.key("alternative");
  specification.row->alternative.empty() ? json.null() : json.value(specification.row->alternative);
  json.key("grade");
  specification.grade ? json.value(to_text(*specification.grade)) : json.null();
  json.member("nominal_um", specification.row->nominal);
  write_required_count(json, assessment);
  json.member("all_measured", assessment.all_measured);
  write_remarks(json, assessment);
  json.array("criteria", assessment.criteria, [&](const Criterion& criterion) { write_criterion(json, criterion, assessment); });
  write_samples(json, assessment.sample);
  write_uncertainty(json, assessment);
  json.member("table_set", specification.edition->table_set);
  json.member("library", k_version);
}

void write_errors(JsonWriter& json, const Errors& errors) {
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
}

void write_text(JsonWriter& json, std::string_view name, const std::string& text) {
  if (!text.empty()) json.member(name, text);
}

void write_compared(JsonWriter& json, const ComparedVerdict& compared) {
  json.object("compared", [&] {
    json.member("standard", compared.standard);
    if (compared.verdict) {
      json.member("verdict", to_text(*compared.verdict));
      json.member("provisional", compared.provisional);
    }
    json.array("not_met", compared.not_met, [&](const std::string& criterion) { json.value(criterion); });
    write_text(json, "error", compared.error);
  });
}

void write_piece(JsonWriter& json, const ReportSource& source, const Piece& piece) {
  const PieceRecord& record = source.job.piece_record;
  json.object("piece", [&] {
    write_text(json, "identification", record.identification);
    write_text(json, "serial", record.serial);
    write_text(json, "material", record.material);
    write_text(json, "weave", record.weave);
    write_text(json, "received", record.received);
    write_text(json, "condition", record.condition);
    write_text(json, "heat", record.heat);
    write_text(json, "state", record.state);
    if (piece.frame) {
      json.object("frame", [&] {
        json.member("shape", piece.frame->shape == FrameShape::round ? "round" : "square");
        json.member("size_um", piece.frame->size);
        write_text(json, "depth", record.frame_depth);
      });
    }
    if (piece.roll) {
      json.object("roll", [&] {
        json.member("width_um", piece.roll->width);
        json.member("length_um", piece.roll->length);
      });
    }
    json.member("apertures_in_piece", piece.apertures_in_piece);
  });
}

void write_measured(JsonWriter& json, const MeasurementRecord& measured, const Conditions& conditions) {
  json.object("measured", [&] {
    write_text(json, "by", measured.by);
    write_text(json, "date", measured.date);
    write_text(json, "until", measured.until);
    write_text(json, "place", measured.place);
    write_text(json, "method", measured.method);
    write_text(json, "sampling", measured.sampling);
    write_text(json, "instrument", measured.instrument);
    json.member("resolution_um", conditions.resolution);
    write_text(json, "temperature", measured.temperature);
    write_text(json, "humidity", measured.humidity);
    if (const std::optional<ScaleRecord>& scale = measured.scale) {
      json.object("scale", [&] {
        write_text(json, "certificate", scale->certificate);
        write_text(json, "issuer", scale->issuer);
        write_text(json, "traceability", scale->traceability);
        write_text(json, "date", scale->date);
        write_text(json, "due", scale->due);
        json.member("correction_applied", scale->correction_applied);
      });
    }
    if (const std::optional<UncertaintyRecord>& uncertainty = measured.uncertainty) {
      json.object("uncertainty", [&] {
        write_text(json, "budget", uncertainty->budget);
        json.array("lines", uncertainty->lines, [&](const BudgetLine& line) {
          json.object([&] {
            json.member("source", line.source);
            json.member("value", line.value);
            write_text(json, "distribution", line.distribution);
            write_text(json, "sensitivity", line.sensitivity);
            write_text(json, "contribution", line.contribution);
          });
        });
      });
    }
  });
}

void write_agreed_count(JsonWriter& json, const std::optional<AgreedCount>& agreed) {
  if (!agreed) return;
  json.object("agreed_count", [&] {
    json.member("value", agreed->value);
    write_text(json, "with", agreed->with);
    write_text(json, "date", agreed->date);
  });
}

void write_viewing(JsonWriter& json, const std::optional<ViewingRecord>& viewing) {
  if (!viewing) return;
  json.object("viewing", [&] {
    json.member("result", viewing->passed ? "passed" : "failed");
    write_text(json, "by", viewing->by);
    write_text(json, "date", viewing->date);
    write_text(json, "light", viewing->light);
    write_text(json, "magnification", viewing->magnification);
    json.member("suspects", viewing->suspects);
  });
}

// Sampling, what was examined besides, and what was corrected.
void write_work(JsonWriter& json, const Job& job) {
  json.object("sampled", [&] {
    write_text(json, "date", job.sampled.date);
    write_text(json, "by", job.sampled.by);
    write_text(json, "plan", job.sampled.plan);
    write_text(json, "seed", job.sampled.seed);
  });
  json.array("examined", job.examined, [&](const ExaminedRecord& examined) {
    json.object([&] {
      json.member("what", examined.what);
      json.member("result", examined.result);
      write_text(json, "limit", examined.limit);
    });
  });
  json.array("corrected", job.corrected, [&](const CorrectionRecord& row) {
    json.object([&] {
      json.member("reading", row.reading);
      json.member("was", row.was);
      json.member("now", row.now);
      json.member("reason", row.reason);
      json.member("by", row.by);
      json.member("date", row.date);
    });
  });
}

void write_file(JsonWriter& json, const DigestedFile& file) {
  json.object([&] {
    write_text(json, "file", file.name);
    write_text(json, "sha256", file.sha256);
    if (file.direction) json.member("direction", to_text(*file.direction));
    json.member("first_line", file.lines_before + 1);
  });
}

void write_readings(JsonWriter& json, const ReportSource& source) {
  json.object("readings", [&] {
    if (source.files.size() == 1) {
      write_text(json, "file", source.files.front().name);
      write_text(json, "sha256", source.files.front().sha256);
    } else if (!source.files.empty()) {
      json.array("files", source.files, [&](const DigestedFile& file) { write_file(json, file); });
    }
    if (!source.annex) return;
    json.array("rows", source.readings, [&](const Reading& reading) {
      json.object([&] {
        json.member("line", reading.line);
        json.member("direction", to_text(reading.direction));
        json.member("role", reading.role == Role::sample ? "sample" : "suspect");
        json.member("aperture_um", reading.aperture);
        json.member("wire_um", reading.wire);
        json.member("x_um", reading.x);
        json.member("y_um", reading.y);
        write_text(json, "field", reading.field);
        json.member("gap", reading.gap);
        write_text(json, "operator", reading.operator_name);
      });
    });
  });
}

void write_laboratory(JsonWriter& json, const Letterhead& letterhead) {
  json.object("laboratory", [&] {
    write_text(json, "name", letterhead.name);
    json.array("address", letterhead.address, [&](const std::string& line) { json.value(line); });
    write_text(json, "accreditation", letterhead.accreditation);
  });
}

void write_report(JsonWriter& json, const Report& report) {
  const ReportSource& source = report.source;
  const ReportRecord& paper = source.job.paper;
  json.object("report", [&] {
    json.member("mark", report_mark(source.job));
    json.member("title", report.title);
    json.member("language", source.wording.language);
    write_text(json, "number", paper.number);
    write_text(json, "replaces", paper.replaces);
    write_text(json, "amendment", paper.amendment);
    json.array("changed", paper.changed, [&](const std::string& change) { json.value(change); });
    write_text(json, "issued", paper.issued);
    write_text(json, "customer", paper.customer);
    write_text(json, "customer_address", paper.customer_address);
    write_text(json, "customer_contact", paper.customer_contact);
    write_text(json, "order", paper.order);
    write_text(json, "authorised_by", paper.authorised_by);
    write_text(json, "authorised_as", paper.authorised_as);
    write_text(json, "decision_agreed", paper.decision_agreed);
    json.array("supplied_by_customer", paper.supplied, [&](const std::string& key) { json.value(key); });
    json.array("external", paper.external, [&](const std::string& result) { json.value(result); });
    write_work(json, source.job);
    write_text(json, "recalibration_agreed", paper.recalibration_agreed);
    write_laboratory(json, source.letterhead);
    write_piece(json, source, report.assessment.conditions.piece);
    write_measured(json, source.job.measured, report.assessment.conditions);
    write_viewing(json, source.job.viewing);
    write_agreed_count(json, source.job.agreed_count);
    json.array("qualifiers", report.qualifiers, [&](const std::string& qualifier) { json.value(qualifier); });
    json.array("deviations", paper.deviations, [&](const std::string& deviation) { json.value(deviation); });
    json.array("cautions", report.cautions, [&](const Caution& caution) {
      json.object([&] {
        json.member("id", caution.id);
        json.member("sentence", caution.sentence);
      });
    });
    write_readings(json, source);
  });
}

}  // namespace

void write_document(JsonWriter& json, const Report& report) {
  json.object([&] {
    write_assessment(json, report.assessment);
    if (report.source.diagnosis) write_diagnosis(json, report.assessment, *report.source.diagnosis);
    write_report(json, report);
  });
}

std::string to_json(const Assessment& assessment) {
  JsonText json;
  json.object([&] { write_assessment(json, assessment); });
  return json.text();
}

std::string to_json(const Assessment& assessment, const std::optional<Diagnosis>& diagnosis) {
  JsonText json;
  json.object([&] {
    write_assessment(json, assessment);
    if (diagnosis) write_diagnosis(json, assessment, *diagnosis);
  });
  return json.text();
}

std::string to_json(const Report& report) {
  JsonText json;
  write_document(json, report);
  return json.text();
}

std::string to_json(const std::vector<BatchPiece>& batch) {
  JsonText json;
  json.object([&] {
    json.member("schema", "sievecloth-batch/1");
    json.array("pieces", batch, [&](const BatchPiece& piece) {
      json.object([&] {
        json.member("name", piece.name);
        if (piece.result.ok()) {
          json.object("assessment", [&] {
            write_assessment(json, *piece.result);
            if (piece.diagnosis) write_diagnosis(json, *piece.result, *piece.diagnosis);
          });
        } else {
          write_errors(json, piece.result.errors());
        }
        if (piece.compared) write_compared(json, *piece.compared);
      });
    });
  });
  return json.text();
}

std::string to_json(const Errors& errors) {
  JsonText json;
  json.object([&] {
    json.member("schema", "sievecloth-error/1");
    write_errors(json, errors);
  });
  return json.text();
}

}  // namespace sievecloth
