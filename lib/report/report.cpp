#include "sievecloth/report.hpp"

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "base/text.hpp"
#include "report/doubt_words.hpp"
#include "report/phrases.hpp"
#include "report/pictures.hpp"
#include "report/shown.hpp"
#include "sievecloth/version.hpp"

namespace sievecloth {
namespace {

std::string localised(const Words& words, Length length) { return words.number(to_text(length)); }

class ReportMaker {
 public:
  explicit ReportMaker(Report& report)
      : report_(report),
        assessment_(report.assessment),
        job_(report.source.job),
        row_(*assessment_.specification.row),
        edition_(*assessment_.specification.edition),
        words_(report.source.wording),
        shown_(assessment_, words_) {}

  void make() {
    report_.title = title();
    report_.number = job_.paper.number.empty() ? words_("number.none") : job_.paper.number;
    report_.subject = subject();
    report_.verdict = words_(Key("verdict", to_text(assessment_.verdict)));
    report_.page_pattern = words_("page");
    add_cautions();
    add_qualifiers();
    add_head();
    add_sections();
  }

 private:
  std::string title() const {
    const bool calibration = assessment_.specification.grade == Grade::calibration;
    if (!calibration) return words_("title.report");
    return job_.measured.uncertainty ? words_("title.certificate") : words_("title.record");
  }

  std::string grade() const {
    const std::optional<Grade>& grade = assessment_.specification.grade;
    return grade ? words_(Key("grade", to_text(*grade))) : words_("value.no-grade");
  }

  std::string size() const {
    const std::string designation = words_.number(std::string(row_.designation));
    if (row_.alternative.empty()) return designation;
    return words_("size.both", {{"designation", designation}, {"alternative", row_.alternative}});
  }

  std::string subject() const {
    if (!assessment_.specification.grade) return words_("subject", {{"size", size()}, {"standard", edition_.title}});
    return words_("subject.graded", {{"size", size()}, {"standard", edition_.title}, {"grade", grade()}});
  }

  std::string name_of(const Criterion& criterion) const {
    const std::string name = words_(Key("criterion", to_text(criterion.id)));
    if (!criterion.direction) return name;
    return words_("criterion.in-direction", {{"criterion", name}, {"direction", direction_phrase(*criterion.direction, words_)}});
  }

  // ---- what qualifies the verdict

  // The criteria with this outcome; where both directions have it, without them.
  std::string names_with(Outcome outcome) const {
    std::vector<std::string> names;
    for (const Criterion& criterion : assessment_.criteria) {
      if (criterion.outcome != outcome) continue;
      const auto directions = std::count_if(assessment_.criteria.begin(), assessment_.criteria.end(), [&](const Criterion& other) {
        return other.id == criterion.id && other.outcome == outcome;
      });
      std::string name = directions == 2 ? words_(Key("criterion", to_text(criterion.id))) : name_of(criterion);
      if (names.empty() || names.back() != name) names.push_back(std::move(name));
    }
    return fmt::format("{}", fmt::join(names, "; "));
  }

  void add_qualifiers() {
    const Conditions& conditions = assessment_.conditions;
    std::vector<std::string>& qualifiers = report_.qualifiers;
    if (assessment_.verdict == Verdict::does_not_conform)
      qualifiers.push_back(words_("qualifier.not-met", {{"criteria", names_with(Outcome::not_met)}}));
    if (assessment_.verdict == Verdict::undecided && !names_with(Outcome::undecided).empty())
      qualifiers.push_back(words_("qualifier.open", {{"criteria", names_with(Outcome::undecided)}}));
    if (assessment_.provisional)
      qualifiers.push_back(conditions.only_seen ? words_("qualifier.only-seen") : words_("qualifier.provisional"));
    if (conditions.measured_only) qualifiers.push_back(words_("qualifier.measured-only"));
    if (conditions.apertures_only) qualifiers.push_back(words_("qualifier.apertures-only"));
    for (const Caution& caution : report_.cautions) {
      if (caution.id == "past-due") qualifiers.push_back(words_("qualifier.caution", {{"sentence", caution.sentence}}));
    }
    for (const Warning& warning : assessment_.warnings)
      qualifiers.push_back(words_("qualifier.caution", {{"sentence", warning_sentence(warning, assessment_, words_)}}));
  }

  void add_caution(std::string_view name) { report_.cautions.push_back(caution(name, words_)); }
  void add_caution(std::string_view name, std::string sentence) {
    report_.cautions.push_back({std::string(name), std::move(sentence)});
  }

  void add_cautions() {
    for (const std::string& deviation : job_.paper.deviations)
      add_caution("agreed-deviation", words_("caution.agreed-deviation", {{"deviation", deviation}}));
    if (!job_.paper.replaces.empty())
      add_caution("replaced-report", words_("caution.replaced-report", {{"number", job_.paper.replaces}}));
    add_instrument_cautions();
    if (!assessment_.conditions.viewing_passed) add_caution("viewing-not-recorded");
    for (Caution& note : count_cautions(assessment_, words_)) report_.cautions.push_back(std::move(note));
    if (rests_on([](const Ground& ground) { return !ground.firm(); })) add_caution("not-seen");
    if (rests_on([](const Ground& ground) { return ground.basis && ground.basis->provenance == Provenance::second_hand; }))
      add_caution("second-hand");
    add_errata();
    if (assessment_.specification.grade == Grade::calibration && !job_.measured.uncertainty) add_caution("no-budget");
    for (const std::string_view name : {"not-inspected", "item-only", "in-full", "replaces-nothing"}) add_caution(name);
  }

  void add_instrument_cautions() {
    const MeasurementRecord& measured = job_.measured;
    if (!assessment_.conditions.resolution) add_caution("no-resolution");
    if (!measured.scale) return add_caution("no-scale");
    const ScaleRecord& scale = *measured.scale;
    if (!scale.due.empty() && measured.date.empty())
      add_caution("due-unknown", words_("caution.due-unknown", {{"due", scale.due}}));
    if (!scale.due.empty() && !measured.date.empty() && scale.due < measured.date)  // dates sort as text
      add_caution("past-due", words_("caution.past-due", {{"due", scale.due}, {"date", measured.date}}));
    if (!scale.correction_applied) return add_caution("correction-not-stated");
    if (!*scale.correction_applied) add_caution("correction-not-applied");
  }

  template <class Test>
  bool rests_on(Test test) const {
    return std::any_of(assessment_.criteria.begin(), assessment_.criteria.end(), [&](const Criterion& criterion) {
      return criterion.outcome != Outcome::not_applicable && std::any_of(criterion.grounds.begin(), criterion.grounds.end(), test);
    });
  }

  void add_errata() {
    for (const Erratum& erratum : edition_.errata) {
      if (!erratum.where.starts_with(std::string(row_.designation) + ",")) continue;
      const Key key = erratum.printed.empty() || erratum.printed == erratum.used ? Key("caution.doubt-about-source")
                                                                                 : Key("caution.correction-of-source");
      add_caution(
          "erratum",
          words_(key,
                 {{"where", erratum.where}, {"printed", erratum.printed}, {"used", erratum.used}, {"reason", erratum.reason}}));
    }
  }

  // ---- facts

  static void add_fact(Facts& facts, std::string name, std::string value) {
    if (!value.empty()) facts.facts.push_back({std::move(name), std::move(value)});
  }
  std::string or_not_stated(const std::string& value) const { return value.empty() ? words_("value.not-stated") : value; }

  void add_head() {
    Facts head;
    add_fact(head, words_("fact.number"), report_.number);
    add_fact(head, words_("fact.replaces"), job_.paper.replaces);
    add_fact(head, words_("fact.issued"), or_not_stated(job_.paper.issued));
    add_fact(head, words_("fact.customer"), job_.paper.customer);
    add_fact(head, words_("fact.order"), job_.paper.order);
    report_.facts = std::move(head.facts);
  }

  std::string frame_phrase(const Frame& frame) const {
    const Key shape = frame.shape == FrameShape::round ? Key("value.frame-round") : Key("value.frame-square");
    const std::string size = words_(shape, {{"size", localised(words_, frame.size)}});
    const std::string& depth = job_.piece_record.frame_depth;
    return depth.empty() ? size : words_("value.frame-depth", {{"frame", size}, {"depth", words_.number(depth)}});
  }

  Facts piece_facts() const {
    const PieceRecord& record = job_.piece_record;
    const Piece& piece = assessment_.conditions.piece;
    Facts facts;
    add_fact(facts, words_("fact.designation"), words_.number(std::string(row_.designation)));
    add_fact(facts, words_("fact.alternative"), std::string(row_.alternative));
    add_fact(facts, words_("fact.identification"), record.identification);
    add_fact(facts, words_("fact.serial"), or_not_stated(record.serial));
    if (piece.frame) add_fact(facts, words_("fact.frame"), frame_phrase(*piece.frame));
    if (piece.roll) add_fact(facts, words_("fact.roll"), roll_phrase(*piece.roll));
    add_fact(facts, words_("fact.material"), or_not_stated(record.material));
    add_fact(facts, words_("fact.weave"), or_not_stated(record.weave));
    if (piece.apertures_in_piece) add_fact(facts, words_("fact.apertures-in-piece"), shown_.count(*piece.apertures_in_piece));
    add_fact(facts, words_("fact.received"), or_not_stated(record.received));
    add_fact(facts, words_("fact.condition"), or_not_stated(record.condition));
    return facts;
  }

  std::string roll_phrase(const Roll& roll) const {
    return words_("value.roll", {{"width", localised(words_, roll.width)}, {"length", localised(words_, roll.length)}});
  }

  Facts basis_facts() const {
    Facts facts;
    add_fact(facts, words_("fact.standard"), words_("value.edition", {{"title", edition_.title}, {"name", edition_.name}}));
    add_fact(facts, words_("fact.grade"), grade());
    add_fact(facts, words_("fact.method"), job_.measured.method.empty() ? words_("value.method") : job_.measured.method);
    add_fact(facts, words_("fact.sampling"), or_not_stated(job_.measured.sampling));
    return facts;
  }

  Facts measurement_facts() const {
    const MeasurementRecord& measured = job_.measured;
    Facts facts;
    add_fact(facts, words_("fact.laboratory"), or_not_stated(report_.source.letterhead.name));
    add_fact(facts, words_("fact.place"), measured.place);
    add_fact(facts, words_("fact.by"), or_not_stated(measured.by));
    add_fact(facts, words_("fact.date"), or_not_stated(measured.date));
    add_fact(facts, words_("fact.instrument"), or_not_stated(measured.instrument));
    const std::optional<Length>& resolution = assessment_.conditions.resolution;
    add_fact(facts, words_("fact.resolution"), or_not_stated(resolution ? localised(words_, *resolution) : ""));
    add_fact(facts, words_("fact.resolution-asked"), resolution_asked());
    if (measured.scale) add_scale_facts(facts, *measured.scale);
    add_fact(facts, words_("fact.temperature"), measured.temperature);
    add_fact(facts, words_("fact.humidity"), measured.humidity);
    if (measured.uncertainty) add_uncertainty_facts(facts, *measured.uncertainty);
    add_fact(facts, words_("fact.recalibration"), job_.paper.recalibration_agreed);
    return facts;
  }

  void add_scale_facts(Facts& facts, const ScaleRecord& scale) const {
    add_fact(
        facts, words_("fact.scale"),
        scale.date.empty() ? scale.certificate : words_("value.dated", {{"certificate", scale.certificate}, {"date", scale.date}}));
    add_fact(facts, words_("fact.scale-due"), scale.due);
    add_fact(facts, words_("fact.correction"),
             !scale.correction_applied   ? words_("value.not-stated")
             : *scale.correction_applied ? words_("value.correction-applied")
                                         : words_("value.correction-not-applied"));
  }

  void add_uncertainty_facts(Facts& facts, const UncertaintyRecord& uncertainty) const {
    if (uncertainty.expanded) {
      const std::string size = localised(words_, *uncertainty.expanded);
      add_fact(facts, words_("fact.uncertainty"),
               uncertainty.coverage_factor.empty()
                   ? words_("value.uncertainty-plain", {{"size", size}})
                   : words_("value.uncertainty", {{"size", size}, {"factor", words_.number(uncertainty.coverage_factor)}}));
    }
    add_fact(facts, words_("fact.budget"), uncertainty.budget);
  }

  std::string resolution_asked() const {
    const std::optional<ResolutionRule>& rule = edition_.rules.resolution;
    if (!rule) return words_("value.resolution-not-asked");
    const Length fraction = Length::from_pm(row_.average_tolerance.value.pm() / rule->fraction_of_average);
    return words_("value.resolution-asked", {{"size", localised(words_, std::max(rule->floor, fraction))}});
  }

  Facts viewing_facts() const {
    const std::optional<bool>& passed = assessment_.conditions.viewing_passed;
    Facts facts;
    add_fact(facts, words_("fact.viewing-result"), viewing_word(passed));
    if (!job_.viewing) return facts;
    const ViewingRecord& viewing = *job_.viewing;
    add_fact(facts, words_("fact.viewing-by"), or_not_stated(viewing.by));
    add_fact(facts, words_("fact.viewing-date"), or_not_stated(viewing.date));
    add_fact(facts, words_("fact.light"), or_not_stated(viewing.light));
    add_fact(facts, words_("fact.magnification"), or_not_stated(viewing.magnification));
    add_fact(facts, words_("fact.suspects"), or_not_stated(viewing.suspects ? shown_.count(*viewing.suspects) : ""));
    return facts;
  }

  std::string viewing_word(const std::optional<bool>& passed) const {
    return !passed ? words_("viewing.not-recorded") : *passed ? words_("viewing.passed") : words_("viewing.failed");
  }

  Facts data_facts() const {
    Facts facts;
    add_fact(facts, words_("fact.readings-file"), or_not_stated(report_.source.readings_file));
    add_fact(facts, words_("fact.digest"), report_.source.readings_sha256);
    add_fact(facts, words_("fact.tables"), std::string(edition_.table_set));
    add_fact(facts, words_("fact.table-basis"), std::string(edition_.rests_on));
    add_fact(facts, words_("fact.library"), words_("value.library", {{"version", k_version}}));
    return facts;
  }

  // ---- tables

  std::string with_unit(Key column) const { return words_(column, {{"unit", shown_.unit()}}); }

  Table figures_table() const {
    Table table{{{words_("column.quantity"), false},
                 {words_("column.n"), true},
                 {with_unit("column.mean"), true},
                 {with_unit("column.deviation"), true},
                 {with_unit("column.smallest"), true},
                 {with_unit("column.largest"), true}},
                {}};
    for (const Direction direction : k_directions) {
      const DirectionSample& side = assessment_.sample[direction];
      table.rows.push_back({{direction_phrase(direction, words_), true}});
      table.rows.push_back(figures_row(words_("quantity.aperture"), side.aperture));
      table.rows.push_back(figures_row(words_("quantity.wire"), side.wire));
      if (!side.suspect.empty()) table.rows.push_back(figures_row(words_("quantity.suspect"), side.suspect));
    }
    return table;
  }

  std::vector<TableCell> figures_row(std::string name, const Summary& summary) const {
    const std::string dash = words_("dash");
    std::vector<TableCell> row{{std::move(name)}, {shown_.count(summary.count())}};
    const std::optional<double> mean = summary.mean_um();
    const std::optional<double> deviation = summary.standard_deviation_um();
    row.push_back({mean ? shown_.computed(*mean) : dash});
    row.push_back({deviation ? shown_.computed(*deviation) : dash});
    row.push_back({summary.empty() ? dash : shown_.exact(summary.minimum())});
    row.push_back({summary.empty() ? dash : shown_.exact(summary.maximum())});
    return row;
  }

  Table criteria_table() const {
    Table table{{{words_("column.requirement"), false},
                 {words_("column.n"), true},
                 {words_("column.observed"), true},
                 {words_("column.lower"), true},
                 {words_("column.upper"), true},
                 {words_("column.margin"), true},
                 {words_("column.outcome"), false}},
                {}};
    add_criteria(table, std::nullopt);
    for (const Direction direction : k_directions) add_criteria(table, direction);
    return table;
  }

  void add_criteria(Table& table, const std::optional<Direction>& direction) const {
    bool headed = false;
    for (const Criterion& criterion : assessment_.criteria) {
      if (criterion.direction != direction || criterion.outcome == Outcome::not_applicable) continue;
      if (!headed) table.rows.push_back({{direction ? direction_phrase(*direction, words_) : words_("direction.whole"), true}});
      headed = true;
      table.rows.push_back(criterion_row(criterion));
    }
  }

  std::vector<TableCell> criterion_row(const Criterion& criterion) const {
    const std::string dash = words_("dash");
    const auto [lower, upper] = limits(criterion);
    const bool bad = criterion.outcome == Outcome::not_met || criterion.outcome == Outcome::undecided;
    return {{words_(Key("criterion", to_text(criterion.id)))},
            {criterion.id == CriterionId::viewing ? dash : shown_.count(criterion.n)},
            {observed(criterion)},
            {lower.empty() ? dash : lower},
            {upper.empty() ? dash : upper},
            {criterion.margin_um ? shown_.margin(*criterion.margin_um) : dash},
            {words_(Key("outcome", to_text(criterion.outcome))), bad}};
  }

  std::string observed(const Criterion& criterion) const {
    if (criterion.id == CriterionId::viewing) return viewing_word(assessment_.conditions.viewing_passed);
    if (criterion.observed_um) {
      const std::string value = shown_.computed(*criterion.observed_um);
      if (!criterion.factor) return value;
      return words_("observed.factor", {{"value", value}, {"factor", words_.number(fmt::format("{:.4f}", *criterion.factor))}});
    }
    if (!criterion.observed) return words_("dash");
    if (criterion.id == CriterionId::share_above_intermediate) return shown_.share(*criterion.observed) + " %";
    return shown_.count(static_cast<std::int64_t>(*criterion.observed));
  }

  std::pair<std::string, std::string> limits(const Criterion& criterion) const {
    switch (criterion.id) {
      case CriterionId::viewing: return {words_("viewing.passed"), ""};
      case CriterionId::sample_size:
        return {criterion.limit ? shown_.count(static_cast<std::int64_t>(*criterion.limit)) : words_("limit.all"), ""};
      case CriterionId::share_above_intermediate: return {"", criterion.limit ? fmt::format("{} %", *criterion.limit) : ""};
      default: break;
    }
    return {criterion.lower ? shown_.exact(*criterion.lower) : "", criterion.upper ? shown_.exact(*criterion.upper) : ""};
  }

  Table rules_table() const {
    Table table{{{words_("column.requirement"), false}, {words_("column.rule"), false}, {words_("column.rests-on"), false}}, {}};
    std::optional<CriterionId> last;
    for (const Criterion& criterion : assessment_.criteria) {
      if (criterion.outcome == Outcome::not_applicable || criterion.id == last) continue;  // both directions have the same rule
      last = criterion.id;
      table.rows.push_back({{words_(Key("criterion", to_text(criterion.id)))}, {rule(criterion)}, {grounds(criterion.id)}});
    }
    return table;
  }

  // Both directions together: one of them may rest on more.
  std::string grounds(CriterionId id) const {
    std::vector<Ground> all;
    for (const Criterion& criterion : assessment_.criteria) {
      if (criterion.id != id || criterion.outcome == Outcome::not_applicable) continue;
      all.insert(all.end(), criterion.grounds.begin(), criterion.grounds.end());
    }
    const std::vector<std::string> phrases = ground_phrases(all, edition_, words_);
    return phrases.empty() ? words_("dash") : fmt::format("{}", fmt::join(phrases, "; "));
  }

  std::string rule(const Criterion& criterion) const {
    switch (criterion.id) {
      case CriterionId::sample_size:
        if (!assessment_.required) return words_("rule.sample-size-not-known");
        if (assessment_.required->all) return words_("rule.sample-size-all");
        return words_("rule.sample-size", {{"count", shown_.count(assessment_.required->count)}});
      case CriterionId::average_aperture:
        return words_("rule.average-aperture",
                      {{"w", shown_.quantity(row_.nominal)}, {"y", shown_.quantity(row_.average_tolerance.value)}});
      case CriterionId::maximum_aperture:
        return words_("rule.maximum-aperture", {{"x", shown_.quantity(row_.maximum_tolerance.value)}});
      case CriterionId::aperture_standard_deviation: return spread_rule(criterion);
      case CriterionId::share_above_intermediate:
        return words_("rule.share-above-intermediate", {{"percent", fmt::format("{}", *criterion.limit)},
                                                        {"limit", shown_.quantity(row_.intermediate_limit->value)}});
      case CriterionId::wire_diameter:
        return words_("rule.wire-diameter", {{"lower", shown_.quantity(*criterion.lower)},
                                             {"upper", shown_.quantity(*criterion.upper)},
                                             {"count", shown_.count(edition_.rules.wire_count.value)}});
      case CriterionId::viewing: break;
    }
    return words_("rule.viewing");
  }

  std::string spread_rule(const Criterion& criterion) const {
    const SpreadRule& spread = edition_.rules.spread;
    const std::string limit = shown_.quantity(*criterion.upper);
    if (!spread.factor) return words_("rule.aperture-standard-deviation", {{"limit", limit}});
    const double tail = spread.tail_millionths[assessment_.specification.lookup_grade()] / 1e6;
    const std::string text =
        words_("rule.aperture-standard-deviation-factor", {{"limit", limit}, {"tail", words_.number(fmt::format("{}", tail))}});
    return spread.settled ? text : text + " " + words_("rule.factor-open");
  }

  // Columns in which no reading says anything are left out.
  Table readings_table() const {
    const std::vector<Reading>& readings = report_.source.readings;
    const auto any = [&](auto test) { return std::any_of(readings.begin(), readings.end(), test); };
    const std::array<bool, 7> wanted{true,
                                     true,
                                     any([](const Reading& reading) { return reading.aperture.has_value(); }),
                                     any([](const Reading& reading) { return reading.wire.has_value(); }),
                                     any([](const Reading& reading) { return reading.role == Role::suspect; }),
                                     any([](const Reading& reading) { return !reading.field.empty(); }),
                                     any([](const Reading& reading) { return reading.x.has_value(); })};
    const std::array<TableColumn, 7> columns{{{words_("column.line"), true},
                                              {words_("column.direction"), false},
                                              {with_unit("column.aperture"), true},
                                              {with_unit("column.wire"), true},
                                              {words_("column.role"), false},
                                              {words_("column.field"), false},
                                              {words_("column.place"), true}}};
    Table table;
    for (std::size_t i = 0; i < wanted.size(); ++i) {
      if (wanted[i]) table.columns.push_back(columns[i]);
    }
    for (const Reading& reading : readings) {
      const std::array<std::string, 7> texts = reading_texts(reading);
      std::vector<TableCell>& row = table.rows.emplace_back();
      for (std::size_t i = 0; i < wanted.size(); ++i) {
        if (wanted[i]) row.push_back({texts[i]});
      }
    }
    return table;
  }

  std::array<std::string, 7> reading_texts(const Reading& reading) const {
    const auto millimetres = [&](Length length) { return words_.number(to_text(length, Unit::millimetre)); };
    return {shown_.count(reading.line),
            reading.direction == Direction::warp ? words_("warp") : words_("weft"),
            reading.aperture ? shown_.exact(*reading.aperture) : "",
            reading.wire ? shown_.exact(*reading.wire) : "",
            reading.role == Role::sample ? words_("role.sample") : words_("role.suspect"),
            reading.field,
            reading.x && reading.y ? fmt::format("{}; {}", millimetres(*reading.x), millimetres(*reading.y)) : ""};
  }

  // ---- lists

  Notes reasons(Outcome outcome) const {
    Notes notes;
    for (const Criterion& criterion : assessment_.criteria) {
      if (criterion.outcome != outcome) continue;
      for (const Reason reason : criterion.reasons)
        notes.items.push_back(fmt::format("{}: {}", name_of(criterion), reason_phrase(reason, criterion, assessment_, words_)));
    }
    return notes;
  }

  // Each weak ground once, with the requirement that needs it.
  Notes weak_grounds() const {
    Notes notes;
    if (!assessment_.provisional) return notes;
    for (const Criterion& criterion : assessment_.criteria) {
      if (criterion.outcome == Outcome::not_applicable) continue;
      for (const Ground& ground : criterion.grounds) {
        if (ground.firm()) continue;
        std::string item =
            fmt::format("{}, {}", words_(Key("criterion", to_text(criterion.id))), ground_phrase(ground, edition_, words_));
        if (std::find(notes.items.begin(), notes.items.end(), item) == notes.items.end()) notes.items.push_back(std::move(item));
      }
    }
    return notes;
  }

  Notes caution_notes() const {
    Notes notes;
    for (const Caution& caution : report_.cautions) notes.items.push_back(caution.sentence);
    return notes;
  }

  Signatures signatures() const {
    const auto line = [&](Key named, Key blank, const std::string& name) {
      return name.empty() ? words_(blank) : words_(named, {{"name", name}});
    };
    return {{line("signature.measured", "signature.measured-blank", job_.measured.by),
             line("signature.authorised", "signature.authorised-blank", job_.paper.authorised_by)}};
  }

  // ---- sections

  void add(std::string_view id, std::vector<Block> blocks) {
    report_.sections.push_back({std::string(id), words_(Key("section", id)), std::move(blocks)});
  }
  void add_notes(std::string_view id, Notes notes) {
    if (!notes.items.empty()) add(id, {std::move(notes)});
  }

  void add_sections() {
    add("piece", {piece_facts()});
    add("basis", {basis_facts()});
    add("measurement", {measurement_facts()});
    add("viewing", {viewing_facts()});
    add("criteria", {criteria_table(), Paragraph{words_("criteria.unit", {{"unit", shown_.unit()}})}});
    add("figures", {figures_table()});
    add_notes("open", reasons(Outcome::undecided));
    add_notes("provisional", weak_grounds());
    add_pictures();
    add_diagnosis();
    add("rules", rules());
    add_notes("not-examined", reasons(Outcome::not_applicable));
    add_notes("cautions", caution_notes());
    add("data", {data_facts()});
    add("signatures", {signatures()});
    if (report_.source.annex) add("readings", {readings_table()});
  }

  std::vector<Block> rules() const {
    std::vector<Block> blocks{rules_table(), Paragraph{words_("rule.simple")}};
    switch (assessment_.conditions.decision.rule) {
      case DecisionRule::simple: blocks.emplace_back(Paragraph{words_("rule.risk")}); break;
      case DecisionRule::guarded: blocks.emplace_back(Paragraph{words_("rule.guarded")}); break;
      case DecisionRule::four_outcomes: blocks.emplace_back(Paragraph{words_("rule.four-outcomes")}); break;
    }
    blocks.emplace_back(Paragraph{words_("rule.verdict")});
    return blocks;
  }

  // Written in English whatever the report's language is.
  void add_diagnosis() {
    if (!report_.source.diagnosis) return;
    add_figures("how-sure", how_sure_figures(assessment_, *report_.source.diagnosis));
    add_figures("weave", weave_figures(*report_.source.diagnosis));
  }

  void add_figures(std::string_view id, const std::vector<FigureGroup>& groups) {
    std::vector<Block> blocks;
    for (const FigureGroup& group : groups) {
      blocks.emplace_back(Paragraph{group.title});
      Facts facts;
      for (const Figure& figure : group.figures) add_fact(facts, figure.name, fmt::format("{}: {}", figure.shown, figure.sentence));
      if (!facts.facts.empty()) blocks.emplace_back(std::move(facts));
      if (!group.notes.empty()) blocks.emplace_back(Notes{group.notes});
    }
    add(id, std::move(blocks));
  }

  void add_pictures() {
    std::vector<Block> blocks;
    for (Pictures& pictures : draw_readings(assessment_, report_.source.readings, words_, shown_))
      blocks.emplace_back(std::move(pictures));
    if (blocks.empty()) return;
    const auto shown = static_cast<std::int64_t>(report_.source.readings.size());
    if (report_.source.readings_left_out > 0)
      blocks.emplace_back(Paragraph{words_(
          "picture.first", {{"shown", shown_.count(shown)}, {"all", shown_.count(shown + report_.source.readings_left_out)}})});
    add("pictures", std::move(blocks));
  }

  Report& report_;
  const Assessment& assessment_;
  const Job& job_;
  const Row& row_;
  const Edition& edition_;
  Words words_;
  Shown shown_;
};

}  // namespace

Report make_report(const Assessment& assessment, ReportSource source) {
  Report report;
  report.assessment = assessment;
  report.source = std::move(source);
  Letterhead& letterhead = report.source.letterhead;
  const LaboratoryRecord& laboratory = report.source.job.laboratory;
  if (letterhead.name.empty()) {  // no face of its own: what the job says
    letterhead.name = laboratory.name;
    if (!laboratory.address.empty()) letterhead.address = {laboratory.address};
  }
  ReportMaker(report).make();
  return report;
}

}  // namespace sievecloth
