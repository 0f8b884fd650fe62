#include "report/report_facts.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "sievecloth/version.hpp"

namespace sievecloth {
namespace {

std::string localised(const Words& words, Length length) { return words.number(to_text(length)); }

void add_fact(Facts& facts, std::string name, std::string value) {
  if (!value.empty()) facts.facts.push_back({std::move(name), std::move(value)});
}

std::string or_not_stated(const ReportContext& of, const std::string& value) {
  return value.empty() ? of.words("value.not-stated") : value;
}

std::string frame_phrase(const ReportContext& of, const Frame& frame) {
  const Key shape = frame.shape == FrameShape::round ? Key("value.frame-round") : Key("value.frame-square");
  const std::string& written = of.job.piece_record.frame_size;
  const std::string size = of.words(shape, {{"size", written.empty() ? localised(of.words, frame.size) : written}});
  const std::string& depth = of.job.piece_record.frame_depth;
  return depth.empty() ? size : of.words("value.frame-depth", {{"frame", size}, {"depth", depth}});
}

std::string roll_phrase(const ReportContext& of, const Roll& roll) {
  return of.words("value.roll", {{"width", localised(of.words, roll.width)}, {"length", localised(of.words, roll.length)}});
}

void add_scale_facts(const ReportContext& of, Facts& facts, const ScaleRecord& scale) {
  add_fact(
      facts, of.words("fact.scale"),
      scale.date.empty() ? scale.certificate : of.words("value.dated", {{"certificate", scale.certificate}, {"date", scale.date}}));
  add_fact(facts, of.words("fact.scale-issuer"), scale.issuer);
  add_fact(facts, of.words("fact.traceability"), scale.traceability);
  add_fact(facts, of.words("fact.scale-due"), scale.due);
  add_fact(facts, of.words("fact.correction"),
           !scale.correction_applied   ? of.words("value.not-stated")
           : *scale.correction_applied ? of.words("value.correction-applied")
                                       : of.words("value.correction-not-applied"));
}

// Marked where the customer supplied it.
std::string supplied(const ReportContext& of, std::string_view key, Key fact) {
  const std::vector<std::string>& keys = of.job.paper.supplied;
  std::string name = of.words(fact);
  if (std::find(keys.begin(), keys.end(), key) == keys.end()) return name;
  return of.words("fact.supplied", {{"name", name}});
}

std::string period(const ReportContext& of, const MeasurementRecord& measured) {
  if (measured.until.empty() || measured.until == measured.date) return measured.date;
  return of.words("value.period", {{"from", measured.date}, {"until", measured.until}});
}

// Says what was done, and nothing that was not.
std::string method(const ReportContext& of) {
  const auto measured = [&](Direction direction, bool wires) {
    const DirectionSample& side = of.assessment.sample[direction];
    return wires ? !side.wire.empty() : !side.aperture.empty();
  };
  const bool warp = measured(Direction::warp, false) || measured(Direction::warp, true);
  const bool weft = measured(Direction::weft, false) || measured(Direction::weft, true);
  const bool apertures = measured(Direction::warp, false) || measured(Direction::weft, false);
  const bool wires = measured(Direction::warp, true) || measured(Direction::weft, true);
  std::string sentence;
  if (warp || weft) {
    const Key what = !wires ? Key("method.apertures") : apertures ? Key("method.apertures-and-wires") : Key("method.wires");
    const Key directions = warp && weft ? Key("method.both") : warp ? Key("measured.warp") : Key("measured.weft");
    sentence = of.words(what, {{"directions", of.words(directions)}});
  }
  if (of.assessment.conditions.viewing_passed) sentence += of.words("method.viewing");
  return sentence + of.words("method.judged");
}

std::string resolution_required(const ReportContext& of) {
  const std::optional<ResolutionRule>& rule = of.edition.rules.resolution;
  if (!rule) return of.words("value.resolution-not-required");
  const Length fraction = Length::from_pm(of.row.average_tolerance.value.pm() / rule->fraction_of_average);
  return of.words("value.resolution-required", {{"size", of.shown.quantity(std::max(rule->floor, fraction))}});
}

}  // namespace

std::string grade_phrase(const ReportContext& of) {
  const std::optional<Grade>& grade = of.assessment.specification.grade;
  return grade ? of.words(Key::of<"grade">(*grade)) : of.words("value.no-grade");
}

Facts head_facts(const ReportContext& of) {
  Facts facts;
  add_fact(facts, of.words("fact.number"), of.report.number);
  add_fact(facts, of.words("fact.replaces"), of.job.paper.replaces);
  add_fact(facts, of.words("fact.amendment"), of.job.paper.amendment);
  add_fact(facts, of.words("fact.changed"), fmt::format("{}", fmt::join(of.job.paper.changed, "; ")));
  add_fact(facts, of.words("fact.issued"), or_not_stated(of, of.job.paper.issued));
  add_fact(facts, of.words("fact.customer"), of.job.paper.customer);
  add_fact(facts, of.words("fact.customer-address"), of.job.paper.customer_address);
  add_fact(facts, of.words("fact.customer-contact"), of.job.paper.customer_contact);
  add_fact(facts, supplied(of, "order", "fact.order"), of.job.paper.order);
  return facts;
}

Facts piece_facts(const ReportContext& of) {
  const PieceRecord& record = of.job.piece_record;
  const Piece& piece = of.assessment.conditions.piece;
  Facts facts;
  add_fact(facts, of.words("fact.designation"), of.words.number(std::string(of.row.designation)));
  add_fact(facts, of.words("fact.alternative"), std::string(of.row.alternative));
  add_fact(facts, supplied(of, "identification", "fact.identification"), record.identification);
  add_fact(facts, supplied(of, "serial", "fact.serial"), or_not_stated(of, record.serial));
  if (piece.frame) add_fact(facts, supplied(of, "frame", "fact.frame"), frame_phrase(of, *piece.frame));
  if (piece.roll) add_fact(facts, supplied(of, "roll", "fact.roll"), roll_phrase(of, *piece.roll));
  add_fact(facts, supplied(of, "material", "fact.material"), or_not_stated(of, record.material));
  add_fact(facts, supplied(of, "weave", "fact.weave"), or_not_stated(of, record.weave));
  add_fact(facts, supplied(of, "heat", "fact.heat"), record.heat);
  if (!record.state.empty())
    add_fact(facts, of.words("fact.state"), of.words(record.state == "as left" ? Key("value.as-left") : Key("value.as-found")));
  if (piece.apertures_in_piece) add_fact(facts, of.words("fact.apertures-in-piece"), of.shown.count(*piece.apertures_in_piece));
  add_fact(facts, of.words("fact.received"), or_not_stated(of, record.received));
  add_fact(facts, of.words("fact.condition"), or_not_stated(of, record.condition));
  return facts;
}

Facts basis_facts(const ReportContext& of) {
  Facts facts;
  add_fact(facts, of.words("fact.standard"), of.words("value.edition", {{"title", of.edition.title}, {"name", of.edition.name}}));
  add_fact(facts, of.words("fact.grade"), grade_phrase(of));
  add_fact(facts, of.words("fact.method"), of.job.measured.method.empty() ? method(of) : of.job.measured.method);
  add_fact(facts, supplied(of, "sampling", "fact.sampling"), or_not_stated(of, of.job.measured.sampling));
  const SamplingRecord& sampled = of.job.sampled;
  add_fact(facts, of.words("fact.sampled"), sampled.date);
  add_fact(facts, of.words("fact.sampled-by"), sampled.by);
  add_fact(facts, of.words("fact.sampling-plan"), sampled.plan);
  add_fact(facts, of.words("fact.seed"), sampled.seed);
  return facts;
}

Facts measurement_facts(const ReportContext& of) {
  const MeasurementRecord& measured = of.job.measured;
  Facts facts;
  add_fact(facts, of.words("fact.laboratory"), or_not_stated(of, of.report.source.letterhead.name));
  add_fact(facts, of.words("fact.place"), measured.place);
  add_fact(facts, of.words("fact.by"), or_not_stated(of, measured.by));
  add_fact(facts, of.words("fact.date"), or_not_stated(of, period(of, measured)));
  add_fact(facts, of.words("fact.instrument"), or_not_stated(of, measured.instrument));
  const std::optional<Length>& resolution = of.assessment.conditions.resolution;
  add_fact(facts, of.words("fact.resolution"), or_not_stated(of, resolution ? of.shown.quantity(*resolution) : ""));
  add_fact(facts, of.words("fact.resolution-required"), resolution_required(of));
  if (measured.scale) add_scale_facts(of, facts, *measured.scale);
  add_fact(facts, of.words("fact.temperature"), measured.temperature);
  add_fact(facts, of.words("fact.humidity"), measured.humidity);
  if (measured.uncertainty) add_fact(facts, of.words("fact.budget"), measured.uncertainty->budget);
  add_fact(facts, of.words("fact.recalibration"), of.job.paper.recalibration_agreed);
  return facts;
}

std::string in_one_line(const ReportContext& of, const Facts& facts) {
  std::vector<std::string> stated;
  for (const Fact& fact : facts.facts) {
    if (fact.value != of.words("value.not-stated")) stated.push_back(fmt::format("{}: {}", fact.name, fact.value));
  }
  return fmt::format("{}", fmt::join(stated, "; "));
}

Facts uncertainty_facts(const ReportContext& of) {
  const UncertaintySources& sources = of.job.uncertainty;
  Facts facts;
  if (sources.scale_factor)
    add_fact(facts, of.words("fact.scale-factor"), of.words.number(fmt::format("{} %", 100 * *sources.scale_factor)));
  if (sources.scale_offset) add_fact(facts, of.words("fact.scale-offset"), of.shown.quantity(*sources.scale_offset));
  if (sources.repeatability) add_fact(facts, of.words("fact.repeatability"), of.shown.quantity(*sources.repeatability));
  if (sources.repeatability_readings)
    add_fact(facts, of.words("fact.repeatability-readings"), of.shown.count(*sources.repeatability_readings));
  if (of.job.process && of.report.source.diagnosis) {
    const auto length = [&](double um) { return of.shown.quantity(*round_to_length(um, Unit::micrometre)); };
    add_fact(facts, of.words("fact.process"),
             of.words("value.process",
                      {{"mean", length(of.job.process->mean)}, {"deviation", length(of.job.process->standard_deviation)}}));
  }
  return facts;
}

Facts viewing_facts(const ReportContext& of) {
  const std::optional<bool>& passed = of.assessment.conditions.viewing_passed;
  Facts facts;
  add_fact(facts, of.words("fact.viewing-result"), viewing_word(of, passed));
  if (!of.job.viewing) return facts;
  const ViewingRecord& viewing = *of.job.viewing;
  add_fact(facts, of.words("fact.viewing-by"), or_not_stated(of, viewing.by));
  add_fact(facts, of.words("fact.viewing-date"), or_not_stated(of, viewing.date));
  add_fact(facts, of.words("fact.light"), or_not_stated(of, viewing.light));
  add_fact(facts, of.words("fact.magnification"), or_not_stated(of, viewing.magnification));
  add_fact(facts, of.words("fact.suspects"), or_not_stated(of, viewing.suspects ? of.shown.count(*viewing.suspects) : ""));
  return facts;
}

std::string viewing_word(const ReportContext& of, const std::optional<bool>& passed) {
  return !passed ? of.words("viewing.not-recorded") : *passed ? of.words("viewing.passed") : of.words("viewing.failed");
}

Facts data_facts(const ReportContext& of) {
  Facts facts;
  const std::vector<DigestedFile>& files = of.report.source.files;
  if (files.empty()) add_fact(facts, of.words("fact.readings-file"), or_not_stated(of, ""));
  for (const DigestedFile& file : files) {
    const std::string name = printable(file.name, 4096), first_line = of.shown.count(file.lines_before + 1);
    add_fact(
        facts, of.words("fact.readings-file"),
        files.size() == 1 ? or_not_stated(of, name) : of.words("readings-file.first-line", {{"file", name}, {"line", first_line}}));
    add_fact(facts, of.words("fact.digest"), file.sha256);
  }
  add_fact(facts, of.words("fact.ignored-columns"),
           printable(fmt::format("{}", fmt::join(of.assessment.ignored_columns, ", ")), 4096));
  add_fact(facts, of.words("fact.tables"), std::string(of.edition.table_set));
  add_fact(facts, of.words("fact.table-basis"), of.words.of_table(of.edition.rests_on));
  add_fact(facts, of.words("fact.library"), of.words("value.library", {{"version", k_version}}));
  return facts;
}

}  // namespace sievecloth
