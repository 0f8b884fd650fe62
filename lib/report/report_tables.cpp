#include "report/report_tables.hpp"

#include <algorithm>
#include <array>
#include <utility>

#include <fmt/format.h>

#include "report/limit_scale.hpp"
#include "report/phrases.hpp"
#include "report/report_facts.hpp"

namespace sievecloth {
namespace {

std::string with_unit(const ReportContext& of, Key column) { return of.words(column, {{"unit", of.shown.unit()}}); }

// The criteria that judge the mean and the standard deviation of some readings, if any do.
struct JudgedBy {
  std::optional<CriterionId> mean, deviation;
};

std::vector<TableCell> figures_row(const ReportContext& of, Direction direction, std::string name, const Summary& summary,
                                   const JudgedBy& judged_by) {
  const std::string dash = of.words("dash");
  const auto computed = [&](const std::optional<double>& um, const std::optional<CriterionId>& judge) {
    if (!um) return dash;
    return judge ? of.shown.figure(*um, *judge, direction) : of.shown.figure(*um);
  };
  return {{std::move(name)},
          {of.shown.count(summary.count())},
          {computed(summary.mean_um(), judged_by.mean)},
          {computed(summary.standard_deviation_um(), judged_by.deviation)},
          {summary.empty() ? dash : of.shown.reading(summary.minimum())},
          {summary.empty() ? dash : of.shown.reading(summary.maximum())}};
}

std::string observed_length(const ReportContext& of, const Criterion& criterion) {
  std::string value = of.shown.observed(criterion);
  if (!criterion.factor) return value;
  return of.words("observed.factor", {{"value", value}, {"factor", of.words.number(fmt::format("{:.4f}", *criterion.factor))}});
}

std::string observed(const ReportContext& of, const Criterion& criterion) {
  switch (compared_by(criterion.id)) {
    case Compared::finding: return viewing_word(of, criterion.finding);
    case Compared::count: return of.shown.count(static_cast<std::int64_t>(*criterion.observed));
    case Compared::share: return criterion.observed ? of.shown.share(*criterion.observed) + " %" : of.words("dash");
    case Compared::length: break;
  }
  return criterion.observed_um ? observed_length(of, criterion) : of.words("dash");
}

std::string count_limit(const ReportContext& of) {
  const std::optional<RequiredCount>& required = of.assessment.required;
  if (!required) return of.words("limit.not-known");
  return required->count == k_all || of.assessment.all_measured ? of.words("limit.all") : of.shown.count(required->count);
}

std::pair<std::string, std::string> limits(const ReportContext& of, const Criterion& criterion) {
  switch (compared_by(criterion.id)) {
    case Compared::finding: return {of.words("viewing.passed"), ""};
    case Compared::count: return {count_limit(of), ""};
    case Compared::share: return {"", criterion.limit ? fmt::format("{} %", *criterion.limit) : ""};
    case Compared::length: break;
  }
  return {criterion.lower ? of.shown.exact(*criterion.lower) : "", criterion.upper ? of.shown.exact(*criterion.upper) : ""};
}

bool is_guarded(const ReportContext& of) { return of.assessment.conditions.decision != DecisionRule::simple; }

std::string acceptance(const ReportContext& of, const Criterion& criterion) {
  if (!criterion.acceptance_upper) return of.words("dash");
  const std::string upper = of.shown.acceptance(criterion, *criterion.acceptance_upper);
  if (!criterion.acceptance_lower) return of.words("acceptance.most", {{"upper", upper}});
  return of.words("acceptance.range", {{"lower", of.shown.acceptance(criterion, *criterion.acceptance_lower)}, {"upper", upper}});
}

std::vector<TableCell> criterion_row(const ReportContext& of, const Criterion& criterion) {
  const std::string dash = of.words("dash");
  const auto [lower, upper] = limits(of, criterion);
  const bool bad = criterion.outcome == Outcome::not_met || criterion.outcome == Outcome::undecided;
  const std::string name = of.words(Key::of<"criterion">(criterion.id));
  std::vector<TableCell> row{{criterion.factor ? of.words("criterion.times-factor", {{"criterion", name}}) : name},
                             {compared_by(criterion.id) == Compared::finding ? dash : of.shown.count(criterion.n)},
                             {observed(of, criterion)},
                             {lower.empty() ? dash : lower},
                             {upper.empty() ? dash : upper}};
  if (is_guarded(of)) {
    const bool of_length = compared_by(criterion.id) == Compared::length;
    row.push_back({criterion.guard && of_length ? of.shown.uncertainty(criterion.guard->um()) : dash});
    row.push_back({acceptance(of, criterion)});
  }
  const bool too_uncertain = criterion.guard && !criterion.acceptance_upper;  // nothing is accepted, so that there is no margin
  row.push_back({criterion.margin_um && !too_uncertain ? of.shown.margin(criterion) : dash});
  row.push_back(
      {criterion.statement ? of.words(Key::of<"stated">(*criterion.statement)) : of.words(Key::of<"outcome">(criterion.outcome)),
       bad});
  return row;
}

// A column of expanded uncertainties after the measured values, unless none is known.
void add_uncertainties(const ReportContext& of, Table& table, const std::vector<const Criterion*>& shown) {
  const auto known = [&](const Criterion* criterion) {
    return criterion != nullptr ? expanded_uncertainty_um(of.assessment, *criterion) : std::nullopt;
  };
  if (std::none_of(shown.begin(), shown.end(), known)) return;
  constexpr std::ptrdiff_t k_place = 3;
  table.columns.insert(table.columns.begin() + k_place, {of.words("column.uncertainty"), true});
  for (std::size_t i = 0; i < shown.size(); ++i) {
    if (shown[i] == nullptr) continue;
    const std::optional<double> expanded = known(shown[i]);
    std::vector<TableCell>& row = table.rows[i];
    row.insert(row.begin() + k_place, {expanded ? of.shown.uncertainty(*expanded) : of.words("dash")});
  }
}

// A column of drawings before the outcome.
void add_scales(const ReportContext& of, Table& table, const std::vector<const Criterion*>& shown) {
  table.columns.insert(table.columns.end() - 1, {of.words("column.scale"), false, true});
  for (std::size_t i = 0; i < shown.size(); ++i) {
    if (shown[i] == nullptr) continue;
    table.rows[i].insert(table.rows[i].end() - 1, {"", false, limit_scale(of, *shown[i])});
  }
}

// `shown` gets the criterion of each row, null for a heading.
void add_criteria(const ReportContext& of, Table& table, const std::optional<Direction>& direction,
                  std::vector<const Criterion*>& shown) {
  bool headed = false;
  for (const Criterion& criterion : of.assessment.criteria) {
    if (criterion.direction != direction || criterion.outcome == Outcome::not_applicable) continue;
    if (!headed) {
      table.rows.push_back({{direction ? direction_phrase(*direction, of.words) : of.words("direction.whole"), true}});
      shown.push_back(nullptr);
    }
    headed = true;
    table.rows.push_back(criterion_row(of, criterion));
    shown.push_back(&criterion);
  }
}

// Of both directions together, since one of them may rest on more.
std::string grounds(const ReportContext& of, CriterionId id) {
  std::vector<Ground> all;
  for (const Criterion& criterion : of.assessment.criteria) {
    if (criterion.id != id || criterion.outcome == Outcome::not_applicable) continue;
    all.insert(all.end(), criterion.grounds.begin(), criterion.grounds.end());
  }
  const std::vector<std::string> phrases = ground_phrases(all, of.edition, of.words);
  return phrases.empty() ? of.words("dash") : fmt::format("{}", fmt::join(phrases, "; "));
}

std::string agreed_with(const ReportContext& of) {
  const std::optional<AgreedCount>& agreed = of.job.agreed_count;
  const std::string with = agreed && !agreed->with.empty() ? agreed->with : of.words("value.the-customer");
  return agreed && !agreed->date.empty() ? of.words("value.agreed-with", {{"with", with}, {"date", agreed->date}}) : with;
}

Key count_rule(const std::optional<RequiredCount>& required) {
  if (!required) return "rule.sample-size-not-known";
  if (!required->basis) return "rule.sample-size-agreed";
  return required->all ? Key("rule.sample-size-all") : Key("rule.sample-size");
}

// Two criteria have more than one rule; edition and piece determine which applies.
Key rule_key(const ReportContext& of, CriterionId id) {
  if (id == CriterionId::sample_size && of.assessment.all_measured) return "rule.sample-size-all";
  if (id == CriterionId::sample_size) return count_rule(of.assessment.required);
  if (id == CriterionId::aperture_standard_deviation && of.edition.rules.spread.factor)
    return "rule.aperture-standard-deviation-factor";
  return Key::of<"rule">(id);
}

// The rule of a criterion as a sentence. Every sentence gets the same fillings and uses those that it names.
std::string rule(const ReportContext& of, const Criterion& criterion) {
  const auto length = [&](const std::optional<Length>& value) { return value ? of.shown.quantity(*value) : ""; };
  const Rules& rules = of.edition.rules;
  const double tail = rules.spread.tail_millionths[of.assessment.specification.lookup_grade()] / 1e6;
  const std::vector<std::pair<std::string_view, std::string>> places{
      {"w", length(of.row.nominal)},
      {"x", length(of.row.maximum_tolerance.value)},
      {"y", length(of.row.average_tolerance.value)},
      {"intermediate", length(of.row.intermediate_limit ? std::optional(of.row.intermediate_limit->value) : std::nullopt)},
      {"lower", length(criterion.lower)},
      {"upper", length(criterion.upper)},
      {"percent", rules.share ? fmt::format("{}", rules.share->percent) : ""},
      {"tail", of.words.number(fmt::format("{}", tail))},
      {"count", of.assessment.required ? of.shown.count(of.assessment.required->count) : ""},
      {"wires", of.shown.count(rules.wire_count.value)},
      {"with", agreed_with(of)}};
  std::vector<Filling> fillings;
  fillings.reserve(places.size());
  for (const auto& [place, text] : places) fillings.push_back({place, text});
  const std::string sentence = of.words(rule_key(of, criterion.id), fillings);
  const bool is_open = criterion.id == CriterionId::aperture_standard_deviation && rules.spread.factor && !rules.spread.settled;
  return is_open ? sentence + " " + of.words("rule.factor-open") : sentence;
}

std::array<std::string, 8> reading_texts(const ReportContext& of, const Reading& reading) {
  const auto millimetres = [&](Length length) { return of.words.number(to_text(length, Unit::millimetre)); };
  return {of.shown.count(reading.line),
          reading.aperture ? of.shown.reading(*reading.aperture) : "",
          reading.wire ? of.shown.reading(*reading.wire) : "",
          reading.role == Role::sample ? of.words("role.sample") : of.words("role.suspect"),
          printable(reading.field, reading.field.size()),
          reading.gap ? of.shown.count(*reading.gap) : "",
          reading.x && reading.y ? fmt::format("{}; {}", millimetres(*reading.x), millimetres(*reading.y)) : "",
          printable(reading.operator_name, reading.operator_name.size())};
}

}  // namespace

Table criteria_table(const ReportContext& of) {
  Table table{{{of.words("column.requirement"), false},
               {of.words("column.n"), true},
               {of.words("column.observed"), true},
               {of.words("column.lower"), true},
               {of.words("column.upper"), true}},
              {}};
  if (is_guarded(of)) {
    table.columns.push_back({of.words("column.guard"), true});
    table.columns.push_back({of.words("column.acceptance"), true});
  }
  table.columns.push_back({of.words("column.margin"), true});
  table.columns.push_back({of.words("column.outcome"), false});
  std::vector<const Criterion*> shown;
  add_criteria(of, table, std::nullopt, shown);
  for (const Direction direction : k_directions) add_criteria(of, table, direction, shown);
  add_uncertainties(of, table, shown);
  if (of.report.source.short_form) return table;  // without drawings, which take room
  add_scales(of, table, shown);
  table.key = of.words("criteria.key");
  return table;
}

std::string criteria_note(const ReportContext& of) {
  const bool guarded = of.assessment.conditions.decision == DecisionRule::guarded;
  const std::string note = of.words(guarded ? Key("criteria.unit-guarded") : Key("criteria.unit"), {{"unit", of.shown.unit()}});
  const bool known = std::any_of(of.assessment.criteria.begin(), of.assessment.criteria.end(), [&](const Criterion& criterion) {
    return criterion.outcome != Outcome::not_applicable && expanded_uncertainty_um(of.assessment, criterion);
  });
  return known ? note + " " + of.words("criteria.uncertainty") : note;
}

Table figures_table(const ReportContext& of) {
  Table table{{{of.words("column.quantity"), false},
               {of.words("column.n"), true},
               {with_unit(of, "column.mean"), true},
               {with_unit(of, "column.deviation"), true},
               {with_unit(of, "column.smallest"), true},
               {with_unit(of, "column.largest"), true}},
              {}};
  for (const Direction direction : k_directions) {
    const DirectionSample& side = of.assessment.sample[direction];
    table.rows.push_back({{direction_phrase(direction, of.words), true}});
    table.rows.push_back(figures_row(of, direction, of.words("quantity.aperture"), side.aperture,
                                     {CriterionId::average_aperture, CriterionId::aperture_standard_deviation}));
    table.rows.push_back(figures_row(of, direction, of.words("quantity.wire"), side.wire, {CriterionId::wire_diameter, {}}));
    if (!side.suspect.empty()) table.rows.push_back(figures_row(of, direction, of.words("quantity.suspect"), side.suspect, {}));
  }
  return table;
}

namespace {

std::string factor_text(const ReportContext& of, const Uncertainty& uncertainty) {
  return of.words.number(fmt::format("{:.2f}", uncertainty.coverage_factor));
}

std::string coverage_text(const ReportContext& of, const Uncertainty& uncertainty) {
  return of.words.number(fmt::format("{:.4g}", 100 * uncertainty.coverage_probability)) + " %";
}

void add_uncertainty(const ReportContext& of, Table& table, CertifiedFigure figure, const Uncertainty& uncertainty) {
  const std::string rests_on = of.words(uncertainty.from_budget ? Key("basis.budget") : Key("basis.computed"));
  table.rows.push_back({{of.words(Key::of<"uncertainty">(figure))},
                        {of.shown.uncertainty(uncertainty.expanded_um)},
                        {factor_text(of, uncertainty)},
                        {coverage_text(of, uncertainty)},
                        {is_accredited(of, figure) ? rests_on : of.words("basis.outside-scope", {{"basis", rests_on}})}});
}

// Whether a figure was measured, and is judged.
bool is_reported(const ReportContext& of, Direction direction, CertifiedFigure figure) {
  const DirectionSample& side = of.assessment.sample[direction];
  return figure == CertifiedFigure::wire ? !side.wire.empty() && !of.assessment.conditions.apertures_only : !side.aperture.empty();
}

}  // namespace

namespace {

// The directions are named where their coverage factors, as printed, differ.
std::string coverage_name(const ReportContext& of, Direction direction, CertifiedFigure figure) {
  const std::optional<Uncertainty>& warp = of.assessment.uncertainty[Direction::warp][figure];
  const std::optional<Uncertainty>& weft = of.assessment.uncertainty[Direction::weft][figure];
  std::string name = of.words(Key::of<"uncertainty">(figure));
  if (!warp || !weft || (factor_text(of, *warp) == factor_text(of, *weft) && coverage_text(of, *warp) == coverage_text(of, *weft)))
    return name;
  return of.words("criterion.in-direction", {{"criterion", name}, {"direction", direction_phrase(direction, of.words)}});
}

}  // namespace

bool is_accredited(const ReportContext& of, CertifiedFigure figure) {
  const std::optional<AccreditedScope>& scope = of.job.laboratory.scope;
  if (!scope) return true;
  const auto covers = [](const auto& list, const auto& one) {
    return list.empty() || std::find(list.begin(), list.end(), one) != list.end();
  };
  return covers(scope->standards, of.edition.name) && covers(scope->figures, figure) &&
         (!scope->smallest || of.row.nominal >= *scope->smallest) && (!scope->largest || of.row.nominal <= *scope->largest);
}

Table uncertainty_table(const ReportContext& of) {
  Table table{{{of.words("column.quantity"), false},
               {with_unit(of, "column.expanded"), true},
               {of.words("column.coverage-factor"), true},
               {of.words("column.coverage"), true},
               {of.words("column.basis"), false}},
              {}};
  for (const Direction direction : k_directions) {
    bool headed = false;
    for (const CertifiedFigure figure : k_certified_figures) {
      const std::optional<Uncertainty>& known = of.assessment.uncertainty[direction][figure];
      if (!known || !known->complete || !is_reported(of, direction, figure)) continue;
      if (!std::exchange(headed, true)) table.rows.push_back({{direction_phrase(direction, of.words), true}});
      add_uncertainty(of, table, figure, *known);
    }
  }
  return table;
}

std::string unknown_uncertainties(const ReportContext& of) {
  std::vector<std::string> names;
  for (const CertifiedFigure figure : k_certified_figures) {
    const auto unknown = [&](Direction direction) {
      const std::optional<Uncertainty>& known = of.assessment.uncertainty[direction][figure];
      return is_reported(of, direction, figure) && !(known && known->complete);
    };
    if (unknown(Direction::warp) || unknown(Direction::weft)) names.push_back(of.words(Key::of<"uncertainty">(figure)));
  }
  return fmt::format("{}", fmt::join(names, ", "));
}

std::string coverage_note(const ReportContext& of) {
  std::vector<std::pair<std::string, std::vector<std::string>>> figures;  // by what is said of them
  for (const Direction direction : k_directions) {
    for (const CertifiedFigure figure : k_certified_figures) {
      const std::optional<Uncertainty>& known = of.assessment.uncertainty[direction][figure];
      if (!known || !known->complete || !is_reported(of, direction, figure)) continue;
      const std::string text =
          of.words("uncertainty.coverage", {{"factor", factor_text(of, *known)}, {"coverage", coverage_text(of, *known)}});
      auto same = std::find_if(figures.begin(), figures.end(), [&](const auto& each) { return each.first == text; });
      if (same == figures.end()) same = figures.insert(same, {text, {}});
      const std::string name = coverage_name(of, direction, figure);
      if (std::find(same->second.begin(), same->second.end(), name) == same->second.end()) same->second.push_back(name);
    }
  }
  std::string note;
  for (const auto& [text, names] : figures) {
    const std::string joined = fmt::format("{}", fmt::join(names, ", "));
    note += (note.empty() ? "" : " ") + filled(text, std::array{Filling{"figures", joined}});
  }
  return note;
}

Table budget_table(const ReportContext& of) {
  Table table{{{of.words("column.source"), false},
               {of.words("column.value"), true},
               {of.words("column.distribution"), false},
               {of.words("column.sensitivity"), true},
               {of.words("column.contribution"), true}},
              {}};
  if (!of.job.measured.uncertainty) return table;
  for (const BudgetLine& line : of.job.measured.uncertainty->lines)
    table.rows.push_back({{line.source}, {line.value}, {line.distribution}, {line.sensitivity}, {line.contribution}});
  return table;
}

Table examined_table(const ReportContext& of) {
  Table table{{{of.words("column.examined"), false}, {of.words("column.result"), false}, {of.words("column.required"), false}}, {}};
  for (const ExaminedRecord& examined : of.job.examined)
    table.rows.push_back(
        {{examined.what},
         {examined.failed ? of.words("examined.not-met", {{"result", examined.result}}) : examined.result, examined.failed},
         {examined.limit}});
  return table;
}

Table corrected_table(const ReportContext& of) {
  Table table{{{of.words("column.reading"), false},
               {of.words("column.was"), true},
               {of.words("column.now"), true},
               {of.words("column.reason"), false},
               {of.words("column.person"), false},
               {of.words("column.date"), false}},
              {}};
  for (const CorrectionRecord& row : of.job.corrected)
    table.rows.push_back({{row.reading}, {row.was}, {row.now}, {row.reason}, {row.by}, {row.date}});
  return table;
}

Table rules_table(const ReportContext& of) {
  Table table{{{of.words("column.requirement"), false}, {of.words("column.rule"), false}, {of.words("column.rests-on"), false}},
              {}};
  std::optional<CriterionId> last;
  for (const Criterion& criterion : of.assessment.criteria) {
    if (criterion.outcome == Outcome::not_applicable || criterion.id == last) continue;  // both directions have the same rule
    last = criterion.id;
    table.rows.push_back({{of.words(Key::of<"criterion">(criterion.id))}, {rule(of, criterion)}, {grounds(of, criterion.id)}});
  }
  return table;
}

// Omits columns in which no reading has a value.
Table readings_table(const ReportContext& of) {
  const std::vector<Reading>& readings = of.report.source.readings;
  const auto any = [&](auto test) { return std::any_of(readings.begin(), readings.end(), test); };
  const std::array<bool, 8> wanted{true,
                                   any([](const Reading& reading) { return reading.aperture.has_value(); }),
                                   any([](const Reading& reading) { return reading.wire.has_value(); }),
                                   any([](const Reading& reading) { return reading.role == Role::suspect; }),
                                   any([](const Reading& reading) { return !reading.field.empty(); }),
                                   any([](const Reading& reading) { return reading.gap.has_value(); }),
                                   any([](const Reading& reading) { return reading.x.has_value(); }),
                                   any([](const Reading& reading) { return !reading.operator_name.empty(); })};
  const std::array<TableColumn, 8> columns{{{of.words("column.line"), true},
                                            {with_unit(of, "column.aperture"), true},
                                            {with_unit(of, "column.wire"), true},
                                            {of.words("column.role"), false},
                                            {of.words("column.field"), false},
                                            {of.words("column.gap"), true},
                                            {of.words("column.place"), true},
                                            {of.words("column.operator"), false}}};
  Table table;
  table.side_by_side = true;
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    if (wanted[i]) table.columns.push_back(columns[i]);
  }
  for (const Direction direction : k_directions) {
    bool headed = false;
    for (const Reading& reading : readings) {
      if (reading.direction != direction) continue;
      if (!std::exchange(headed, true)) table.rows.push_back({{direction_phrase(direction, of.words), true}});
      const std::array<std::string, 8> texts = reading_texts(of, reading);
      std::vector<TableCell>& row = table.rows.emplace_back();
      for (std::size_t i = 0; i < wanted.size(); ++i) {
        if (wanted[i]) row.push_back({texts[i]});
      }
    }
  }
  return table;
}

}  // namespace sievecloth
