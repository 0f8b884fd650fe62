#include "sievecloth/report.hpp"

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "base/text.hpp"
#include "report/diagnosis_blocks.hpp"
#include "report/document_kind.hpp"
#include "report/phrases.hpp"
#include "report/pictures.hpp"
#include "report/report_context.hpp"
#include "report/report_facts.hpp"
#include "report/report_tables.hpp"

namespace sievecloth {
namespace {

class ReportMaker {
 public:
  // NOLINTNEXTLINE(clang-analyzer-optin.cplusplus.UninitializedObject): made in shown.cpp, where it cannot look
  explicit ReportMaker(Report& report) : report_(report), of_(report) {}

  std::vector<std::string> cautions_of_records() {
    report_.title = title();
    add_cautions();
    return loud_cautions();
  }

  void make() {
    report_.title = title();
    if (is_draft()) report_.page_head = of_.words("page.draft");
    report_.number = of_.job.paper.number.empty() ? of_.words("number.none") : of_.job.paper.number;
    report_.subject = subject();
    const std::optional<Statement>& statement = of_.assessment.statement;
    report_.verdict =
        statement ? of_.words(Key::of<"statement">(*statement)) : of_.words(Key::of<"verdict">(of_.assessment.verdict));
    report_.page_pattern = of_.words("page");
    add_cautions();
    add_qualifiers();
    report_.facts = head_facts(of_).facts;
    report_.source.short_form ? add_short_sections() : add_sections();
  }

 private:
  // What is a certificate is one only with its number and date.
  bool is_draft() const { return is_certificate(of_) && (of_.job.paper.number.empty() || of_.job.paper.issued.empty()); }

  std::string title() const {
    if (of_.job.paper.document != DocumentKind::by_grade) return of_.words(document_key(of_.job.paper.document));
    const bool calibration = of_.assessment.specification.grade == Grade::calibration;
    if (!calibration) return of_.words("title.report");
    return is_certificate(of_) ? of_.words("title.certificate") : of_.words("title.record");
  }

  std::string size() const {
    std::string designation = of_.words.number(std::string(of_.row.designation));
    if (of_.row.alternative.empty()) return designation;
    return of_.words("size.both", {{"designation", designation}, {"alternative", of_.row.alternative}});
  }

  std::string subject() const {
    if (!of_.assessment.specification.grade) return of_.words("subject", {{"size", size()}, {"standard", of_.edition.title}});
    return of_.words("subject.graded", {{"size", size()}, {"standard", of_.edition.title}, {"grade", grade_phrase(of_)}});
  }

  std::string name_of(const Criterion& criterion) const {
    std::string name = of_.words(Key::of<"criterion">(criterion.id));
    if (!criterion.direction) return name;
    return of_.words("criterion.in-direction",
                     {{"criterion", name}, {"direction", direction_phrase(*criterion.direction, of_.words)}});
  }

  // ---- what qualifies the verdict

  // The criteria with this outcome; directions are named only if they differ.
  std::string names_with(Outcome outcome) const {
    std::vector<std::string> names;
    for (const Criterion& criterion : of_.assessment.criteria) {
      if (criterion.outcome != outcome || is_conditional(criterion)) continue;
      const auto directions =
          std::count_if(of_.assessment.criteria.begin(), of_.assessment.criteria.end(),
                        [&](const Criterion& other) { return other.id == criterion.id && other.outcome == outcome; });
      std::string name = directions == 2 ? of_.words(Key::of<"criterion">(criterion.id)) : name_of(criterion);
      if (names.empty() || names.back() != name) names.push_back(std::move(name));
    }
    return fmt::format("{}", fmt::join(names, "; "));
  }

  // A conditional pass or fail is an outcome of its own, and nothing that is still open.
  static bool is_conditional(const Criterion& criterion) {
    return criterion.statement == Statement::conditional_pass || criterion.statement == Statement::conditional_fail;
  }

  void add_qualifiers() {
    const Conditions& conditions = of_.assessment.conditions;
    std::vector<std::string>& qualifiers = report_.qualifiers;
    std::string rule = of_.words(Key::of<"decision">(conditions.decision));
    if (conditions.decision != DecisionRule::simple)
      rule = of_.words("decision.with-guard", {{"rule", rule}, {"factor", shown_factor()}});
    const std::string& with = of_.job.paper.decision_agreed;
    qualifiers.push_back(with.empty() ? of_.words("qualifier.decision", {{"rule", rule}})
                                      : of_.words("qualifier.decision-agreed", {{"rule", rule}, {"with", with}}));
    if (of_.assessment.verdict == Verdict::does_not_conform)
      qualifiers.push_back(of_.words("qualifier.not-met", {{"criteria", names_with(Outcome::not_met)}}));
    if (of_.assessment.verdict == Verdict::undecided && !names_with(Outcome::undecided).empty())
      qualifiers.push_back(of_.words("qualifier.open", {{"criteria", names_with(Outcome::undecided)}}));
    if (of_.assessment.provisional)
      qualifiers.push_back(of_.words(conditions.only_seen        ? Key("qualifier.only-seen")
                                     : report_.source.short_form ? Key("qualifier.provisional-short")
                                                                 : Key("qualifier.provisional")));
    if (conditions.measured_only && !conditions.viewing_passed) qualifiers.push_back(of_.words("qualifier.measured-only"));
    if (conditions.apertures_only) qualifiers.push_back(of_.words("qualifier.apertures-only"));
    for (const std::string& sentence : loud_cautions())
      qualifiers.push_back(of_.words("qualifier.caution", {{"sentence", sentence}}));
    for (const Warning& warning : of_.assessment.warnings)
      qualifiers.push_back(of_.words("qualifier.caution", {{"sentence", warning_sentence(warning, of_.assessment, of_.words)}}));
  }

  std::string shown_factor() const { return of_.words.number(fmt::format("{}", of_.job.guard_factor.value_or(1))); }

  void add_caution(Key key, std::initializer_list<Filling> fillings = {}) {
    report_.cautions.push_back({std::string(key.name()), of_.words(key, fillings)});
  }

  void add_cautions() {
    for (const std::string& deviation : of_.job.paper.deviations)
      add_caution("caution.agreed-deviation", {{"deviation", deviation}});
    if (report_.source.short_form) add_caution("caution.short", {{"with", of_.job.paper.short_agreed}});
    if (!of_.job.paper.replaces.empty()) add_caution("caution.replaced-report", {{"number", of_.job.paper.replaces}});
    add_instrument_cautions();
    if (!of_.assessment.conditions.viewing_passed) add_caution("caution.viewing-not-recorded");
    for (Caution& note : count_cautions(of_.assessment, of_.words)) report_.cautions.push_back(std::move(note));
    if (!report_.source.short_form) add_provenance_cautions();  // the short form has its own qualifier
    add_errata();
    if (of_.assessment.specification.grade == Grade::calibration && !is_certificate(of_)) add_caution("caution.no-budget");
    if (const std::string missing = missing_for_document(of_); !missing.empty())
      add_caution("caution.document-lacks", {{"document", report_.title}, {"missing", missing}});
    if (const std::string failed = failed_examinations(); !failed.empty())
      add_caution("caution.examined-not-met", {{"what", failed}});
    if (!of_.job.paper.supplied.empty()) add_caution("caution.supplied");
    if (const std::string outside = outside_scope(); !outside.empty()) add_caution("caution.outside-scope", {{"figures", outside}});
    add_caution(of_.job.examined.empty() ? Key("caution.not-inspected") : Key("caution.only-examined"));
    for (const Key key : {Key("caution.item-only"), Key("caution.in-full"), Key("caution.replaces-nothing")}) add_caution(key);
  }

  void add_provenance_cautions() {
    if (rests_on([](const Ground& ground) { return !ground.verified(); })) add_caution("caution.not-seen");
    if (rests_on([](const Ground& ground) { return ground.basis && ground.basis->provenance == Provenance::second_hand; }))
      add_caution("caution.second-hand");
  }

  // What must not be read past: it stands with the verdict, on the terminal and in summaries too.
  std::vector<std::string> loud_cautions() const {
    std::vector<std::string> sentences;
    for (const Caution& caution : report_.cautions) {
      if (caution.id == "past-due" || caution.id == "document-lacks" || caution.id == "examined-not-met")
        sentences.push_back(caution.sentence);
    }
    return sentences;
  }

  std::string failed_examinations() const {
    std::vector<std::string> failed;
    for (const ExaminedRecord& examined : of_.job.examined) {
      if (examined.failed) failed.push_back(examined.what);
    }
    return fmt::format("{}", fmt::join(failed, "; "));
  }

  std::string outside_scope() const {
    std::vector<std::string> outside;
    for (const CertifiedFigure figure : k_certified_figures) {
      if (!is_accredited(of_, figure) && !(figure == CertifiedFigure::wire && of_.assessment.conditions.apertures_only))
        outside.push_back(of_.words(Key::of<"uncertainty">(figure)));
    }
    return fmt::format("{}", fmt::join(outside, "; "));
  }

  void add_instrument_cautions() {
    const MeasurementRecord& measured = of_.job.measured;
    if (!of_.assessment.conditions.resolution) add_caution("caution.no-resolution");
    if (!measured.scale) return add_caution("caution.no-scale");
    const ScaleRecord& scale = *measured.scale;
    if (!scale.due.empty() && measured.date.empty()) add_caution("caution.due-unknown", {{"due", scale.due}});
    const std::string& last = measured.until.empty() ? measured.date : measured.until;
    if (!scale.due.empty() && !last.empty() && scale.due < last)  // ISO dates sort as text
      add_caution("caution.past-due", {{"due", scale.due}, {"date", last}});
    if (!scale.correction_applied) return add_caution("caution.correction-not-stated");
    if (!*scale.correction_applied) add_caution("caution.correction-not-applied");
  }

  template <class Test>
  bool rests_on(Test test) const {
    return std::any_of(of_.assessment.criteria.begin(), of_.assessment.criteria.end(), [&](const Criterion& criterion) {
      return criterion.outcome != Outcome::not_applicable && std::any_of(criterion.grounds.begin(), criterion.grounds.end(), test);
    });
  }

  void add_errata() {
    for (const Erratum* erratum : of_.edition.errata_of(of_.row))
      report_.cautions.push_back({"erratum", erratum_sentence(*erratum, of_.words)});
  }

  // ---- lists

  Notes reasons(Outcome outcome) const {
    Notes notes;
    for (const Criterion& criterion : of_.assessment.criteria) {
      if (criterion.outcome != outcome || !is_asked(criterion) || is_conditional(criterion)) continue;
      for (const Reason reason : criterion.reasons)
        notes.items.push_back(
            fmt::format("{}: {}", name_of(criterion), reason_phrase(reason, criterion, of_.assessment, of_.words)));
    }
    return notes;
  }

  Notes unverified() const {
    Notes notes;
    for (const UnverifiedBasis& basis : unverified_bases(of_.assessment, of_.words))
      notes.items.push_back(fmt::format("{}, {}", of_.words(Key::of<"criterion">(basis.criterion)), basis.phrase));
    return notes;
  }

  Notes caution_notes() const {
    Notes notes;
    for (const Caution& caution : report_.cautions) notes.items.push_back(caution.sentence);
    return notes;
  }

  Signatures signatures() const {
    const auto line = [&](Key named, Key blank, const std::string& name) {
      return name.empty() ? of_.words(blank) : of_.words(named, {{"name", name}});
    };
    const ReportRecord& paper = of_.job.paper;
    const bool has_function = !paper.authorised_by.empty() && !paper.authorised_as.empty();
    return {{line("signature.measured", "signature.measured-blank", of_.job.measured.by),
             has_function ? of_.words("signature.authorised-as", {{"name", paper.authorised_by}, {"function", paper.authorised_as}})
                          : line("signature.authorised", "signature.authorised-blank", paper.authorised_by)}};
  }

  // ---- sections

  void add(Key section, std::vector<Block> blocks) {
    report_.sections.push_back({std::string(section.name()), of_.words(section), std::move(blocks)});
  }
  void add_notes(Key section, Notes notes) {
    if (!notes.items.empty()) add(section, {std::move(notes)});
  }

  void add_sections() {
    add("section.piece", {piece_facts(of_)});
    add("section.basis", {basis_facts(of_)});
    add("section.measurement", {measurement_facts(of_)});
    add("section.viewing", {viewing_facts(of_)});
    add("section.criteria", {criteria_table(of_), Paragraph{criteria_note(of_)}});
    add("section.figures", {figures_table(of_)});
    add_uncertainty();
    add_table("section.examined", examined_table(of_));
    add_notes("section.external", {of_.job.paper.external});
    add_notes("section.guard-band", reasons(Outcome::not_met));
    add_notes("section.open", reasons(Outcome::undecided));
    add_notes("section.provisional", unverified());
    add_pictures();
    add_diagnosis();
    add("section.rules", rules());
    add_notes("section.not-examined", reasons(Outcome::not_applicable));
    add_notes("section.cautions", caution_notes());
    add("section.data", {data_facts(of_)});
    add_table("section.corrected", corrected_table(of_));
    add("section.signatures", {signatures()});
    if (report_.source.annex) add("section.readings", {readings_table(of_)});
    add_end();
  }

  // All that is required, on one page; what needs room stands in the full report.
  void add_short_sections() {
    add("section.piece", {in_one(piece_facts(of_)), in_one(basis_facts(of_))});
    add("section.measurement",
        {in_one(measurement_facts(of_)), Paragraph{of_.words("section.viewing") + ": " + in_one_line(of_, viewing_facts(of_))}});
    add("section.criteria", {criteria_table(of_), Paragraph{criteria_note(of_) + " " + coverage_note(of_)}});
    add_table("section.examined", examined_table(of_));
    add_notes("section.external", {of_.job.paper.external});
    add_notes("section.guard-band", reasons(Outcome::not_met));
    add_notes("section.open", reasons(Outcome::undecided));
    add_table("section.corrected", corrected_table(of_));
    add_in_one("section.not-examined", reasons(Outcome::not_applicable), "; ");
    add_in_one("section.cautions", caution_notes(), " ");
    add("section.signatures", {signatures()});
    add_end();
  }

  Paragraph in_one(const Facts& facts) const { return {in_one_line(of_, facts)}; }

  void add_in_one(Key section, const Notes& notes, std::string_view between) {
    if (!notes.items.empty()) add(section, {Paragraph{fmt::format("{}", fmt::join(notes.items, between))}});
  }

  void add_end() {
    const std::string& number = of_.job.paper.number;
    report_.sections.back().blocks.emplace_back(
        Paragraph{number.empty() ? of_.words("page.end-unnumbered") : of_.words("page.end", {{"number", number}})});
  }

  void add_table(Key section, Table table) {
    if (!table.rows.empty()) add(section, {std::move(table)});
  }

  void add_uncertainty() {
    Table known = uncertainty_table(of_);
    if (known.rows.empty()) return;
    add("section.uncertainty", {std::move(known), Paragraph{of_.words("uncertainty.about")}});
    if (const std::string unknown = unknown_uncertainties(of_); !unknown.empty())
      report_.sections.back().blocks.emplace_back(Paragraph{of_.words("uncertainty.not-known", {{"figures", unknown}})});
    if (Facts sources = uncertainty_facts(of_); !sources.facts.empty())
      report_.sections.back().blocks.emplace_back(std::move(sources));
    if (Table budget = budget_table(of_); !budget.rows.empty()) report_.sections.back().blocks.emplace_back(std::move(budget));
  }

  std::vector<Block> rules() const {
    const Key decision = Key::of<"rule">(of_.assessment.conditions.decision);
    return {rules_table(of_), Paragraph{of_.words("rule.exact")}, Paragraph{of_.words(decision)},
            Paragraph{of_.words(Key::of<"verdict-rule">(of_.assessment.conditions.decision))}};
  }

  void add_diagnosis() {
    if (!report_.source.diagnosis) return;
    add("section.how-sure", confidence_blocks(of_, *report_.source.diagnosis));
    // On a certificate, opinions are stated only where that was asked for.
    if (is_certificate(of_) && !report_.source.opinions) return;
    add("section.weave", weave_blocks(of_, *report_.source.diagnosis));
    const std::string& by = of_.job.paper.opinions_by;
    report_.sections.back().blocks.emplace_back(
        Paragraph{by.empty() ? of_.words("weave.opinions-nobody") : of_.words("weave.opinions-by", {{"name", by}})});
  }

  void add_pictures() {
    std::vector<Block> blocks;
    for (Pictures& pictures : draw_readings(of_)) blocks.emplace_back(std::move(pictures));
    if (blocks.empty()) return;
    const auto shown = static_cast<std::int64_t>(report_.source.readings.size());
    if (report_.source.readings_left_out > 0)
      blocks.emplace_back(
          Paragraph{of_.words("picture.some", {{"shown", of_.shown.count(shown)},
                                               {"all", of_.shown.count(shown + report_.source.readings_left_out)}})});
    add("section.pictures", std::move(blocks));
  }

  Report& report_;
  const ReportContext of_;
};

}  // namespace

namespace {

// A report without content yet.
Report begin_report(const Assessment& assessment, ReportSource source) {
  Report report;
  report.assessment = assessment;
  report.source = std::move(source);
  Letterhead& letterhead = report.source.letterhead;
  const LaboratoryRecord& laboratory = report.source.job.laboratory;
  if (letterhead.name.empty()) {  // no branding of its own: the job's laboratory
    letterhead.name = laboratory.name;
    if (!laboratory.address.empty()) letterhead.address = {laboratory.address};
  }
  return report;
}

}  // namespace

std::vector<std::string> record_cautions(const Assessment& assessment, const Job& job, const Letterhead& letterhead) {
  ReportSource source;
  source.job = job;
  source.letterhead = letterhead;
  Report report = begin_report(assessment, std::move(source));
  return ReportMaker(report).cautions_of_records();
}

Report make_report(const Assessment& assessment, ReportSource source) {
  Report report = begin_report(assessment, std::move(source));
  ReportMaker(report).make();
  return report;
}

}  // namespace sievecloth
