#include "report/report_tables.hpp"

#include <algorithm>
#include <array>
#include <utility>

#include <fmt/format.h>

#include "report/phrases.hpp"
#include "report/report_facts.hpp"

namespace sievecloth {
namespace {

std::string with_unit(const ReportContext& of, Key column) { return of.words(column, {{"unit", of.shown.unit()}}); }

std::vector<TableCell> figures_row(const ReportContext& of, std::string name, const Summary& summary) {
  const std::string dash = of.words("dash");
  std::vector<TableCell> row{{std::move(name)}, {of.shown.count(summary.count())}};
  const std::optional<double> mean = summary.mean_um();
  const std::optional<double> deviation = summary.standard_deviation_um();
  row.push_back({mean ? of.shown.computed(*mean) : dash});
  row.push_back({deviation ? of.shown.computed(*deviation) : dash});
  row.push_back({summary.empty() ? dash : of.shown.exact(summary.minimum())});
  row.push_back({summary.empty() ? dash : of.shown.exact(summary.maximum())});
  return row;
}

std::string observed(const ReportContext& of, const Criterion& criterion) {
  if (criterion.id == CriterionId::viewing) return viewing_word(of, of.assessment.conditions.viewing_passed);
  if (criterion.observed_um) {
    std::string value = of.shown.computed(*criterion.observed_um);
    if (!criterion.factor) return value;
    return of.words("observed.factor", {{"value", value}, {"factor", of.words.number(fmt::format("{:.4f}", *criterion.factor))}});
  }
  if (!criterion.observed) return of.words("dash");
  if (criterion.id == CriterionId::share_above_intermediate) return of.shown.share(*criterion.observed) + " %";
  return of.shown.count(static_cast<std::int64_t>(*criterion.observed));
}

std::string count_limit(const ReportContext& of) {
  const std::optional<RequiredCount>& required = of.assessment.required;
  if (!required) return of.words("limit.not-known");
  return required->count == k_all ? of.words("limit.all") : of.shown.count(required->count);
}

std::pair<std::string, std::string> limits(const ReportContext& of, const Criterion& criterion) {
  switch (criterion.id) {
    case CriterionId::viewing: return {of.words("viewing.passed"), ""};
    case CriterionId::sample_size: return {count_limit(of), ""};
    case CriterionId::share_above_intermediate: return {"", criterion.limit ? fmt::format("{} %", *criterion.limit) : ""};
    default: break;
  }
  return {criterion.lower ? of.shown.exact(*criterion.lower) : "", criterion.upper ? of.shown.exact(*criterion.upper) : ""};
}

std::vector<TableCell> criterion_row(const ReportContext& of, const Criterion& criterion) {
  const std::string dash = of.words("dash");
  const auto [lower, upper] = limits(of, criterion);
  const bool bad = criterion.outcome == Outcome::not_met || criterion.outcome == Outcome::undecided;
  return {{of.words(Key("criterion", to_text(criterion.id)))},
          {criterion.id == CriterionId::viewing ? dash : of.shown.count(criterion.n)},
          {observed(of, criterion)},
          {lower.empty() ? dash : lower},
          {upper.empty() ? dash : upper},
          {criterion.margin_um ? of.shown.margin(*criterion.margin_um) : dash},
          {of.words(Key("outcome", to_text(criterion.outcome))), bad}};
}

void add_criteria(const ReportContext& of, Table& table, const std::optional<Direction>& direction) {
  bool headed = false;
  for (const Criterion& criterion : of.assessment.criteria) {
    if (criterion.direction != direction || criterion.outcome == Outcome::not_applicable) continue;
    if (!headed) table.rows.push_back({{direction ? direction_phrase(*direction, of.words) : of.words("direction.whole"), true}});
    headed = true;
    table.rows.push_back(criterion_row(of, criterion));
  }
}

// Both directions together: one of them may rest on more.
std::string grounds(const ReportContext& of, CriterionId id) {
  std::vector<Ground> all;
  for (const Criterion& criterion : of.assessment.criteria) {
    if (criterion.id != id || criterion.outcome == Outcome::not_applicable) continue;
    all.insert(all.end(), criterion.grounds.begin(), criterion.grounds.end());
  }
  const std::vector<std::string> phrases = ground_phrases(all, of.edition, of.words);
  return phrases.empty() ? of.words("dash") : fmt::format("{}", fmt::join(phrases, "; "));
}

std::string spread_rule(const ReportContext& of, const Criterion& criterion) {
  const SpreadRule& spread = of.edition.rules.spread;
  const std::string limit = of.shown.quantity(*criterion.upper);
  if (!spread.factor) return of.words("rule.aperture-standard-deviation", {{"limit", limit}});
  const double tail = spread.tail_millionths[of.assessment.specification.lookup_grade()] / 1e6;
  const std::string text =
      of.words("rule.aperture-standard-deviation-factor", {{"limit", limit}, {"tail", of.words.number(fmt::format("{}", tail))}});
  return spread.settled ? text : text + " " + of.words("rule.factor-open");
}

std::string agreed_with(const ReportContext& of) {
  const std::optional<AgreedCount>& agreed = of.job.agreed_count;
  const std::string with = agreed && !agreed->with.empty() ? agreed->with : of.words("value.the-customer");
  return agreed && !agreed->date.empty() ? of.words("value.agreed-with", {{"with", with}, {"date", agreed->date}}) : with;
}

std::string rule(const ReportContext& of, const Criterion& criterion) {
  switch (criterion.id) {
    case CriterionId::sample_size:
      if (!of.assessment.required) return of.words("rule.sample-size-not-known");
      if (!of.assessment.required->basis)
        return of.words("rule.sample-size-agreed",
                        {{"count", of.shown.count(of.assessment.required->count)}, {"with", agreed_with(of)}});
      if (of.assessment.required->all) return of.words("rule.sample-size-all");
      return of.words("rule.sample-size", {{"count", of.shown.count(of.assessment.required->count)}});
    case CriterionId::average_aperture:
      return of.words("rule.average-aperture",
                      {{"w", of.shown.quantity(of.row.nominal)}, {"y", of.shown.quantity(of.row.average_tolerance.value)}});
    case CriterionId::maximum_aperture:
      return of.words("rule.maximum-aperture", {{"x", of.shown.quantity(of.row.maximum_tolerance.value)}});
    case CriterionId::aperture_standard_deviation: return spread_rule(of, criterion);
    case CriterionId::share_above_intermediate:
      return of.words("rule.share-above-intermediate", {{"percent", fmt::format("{}", *criterion.limit)},
                                                        {"limit", of.shown.quantity(of.row.intermediate_limit->value)}});
    case CriterionId::wire_diameter:
      return of.words("rule.wire-diameter", {{"lower", of.shown.quantity(*criterion.lower)},
                                             {"upper", of.shown.quantity(*criterion.upper)},
                                             {"count", of.shown.count(of.edition.rules.wire_count.value)}});
    case CriterionId::viewing: break;
  }
  return of.words("rule.viewing");
}

std::array<std::string, 7> reading_texts(const ReportContext& of, const Reading& reading) {
  const auto millimetres = [&](Length length) { return of.words.number(to_text(length, Unit::millimetre)); };
  return {of.shown.count(reading.line),
          reading.direction == Direction::warp ? of.words("warp") : of.words("weft"),
          reading.aperture ? of.shown.exact(*reading.aperture) : "",
          reading.wire ? of.shown.exact(*reading.wire) : "",
          reading.role == Role::sample ? of.words("role.sample") : of.words("role.suspect"),
          printable(reading.field, reading.field.size()),
          reading.x && reading.y ? fmt::format("{}; {}", millimetres(*reading.x), millimetres(*reading.y)) : ""};
}

}  // namespace

Table criteria_table(const ReportContext& of) {
  Table table{{{of.words("column.requirement"), false},
               {of.words("column.n"), true},
               {of.words("column.observed"), true},
               {of.words("column.lower"), true},
               {of.words("column.upper"), true},
               {of.words("column.margin"), true},
               {of.words("column.outcome"), false}},
              {}};
  add_criteria(of, table, std::nullopt);
  for (const Direction direction : k_directions) add_criteria(of, table, direction);
  return table;
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
    table.rows.push_back(figures_row(of, of.words("quantity.aperture"), side.aperture));
    table.rows.push_back(figures_row(of, of.words("quantity.wire"), side.wire));
    if (!side.suspect.empty()) table.rows.push_back(figures_row(of, of.words("quantity.suspect"), side.suspect));
  }
  return table;
}

Table rules_table(const ReportContext& of) {
  Table table{{{of.words("column.requirement"), false}, {of.words("column.rule"), false}, {of.words("column.rests-on"), false}},
              {}};
  std::optional<CriterionId> last;
  for (const Criterion& criterion : of.assessment.criteria) {
    if (criterion.outcome == Outcome::not_applicable || criterion.id == last) continue;  // both directions have the same rule
    last = criterion.id;
    table.rows.push_back({{of.words(Key("criterion", to_text(criterion.id)))}, {rule(of, criterion)}, {grounds(of, criterion.id)}});
  }
  return table;
}

// Columns in which no reading says anything are left out.
Table readings_table(const ReportContext& of) {
  const std::vector<Reading>& readings = of.report.source.readings;
  const auto any = [&](auto test) { return std::any_of(readings.begin(), readings.end(), test); };
  const std::array<bool, 7> wanted{true,
                                   true,
                                   any([](const Reading& reading) { return reading.aperture.has_value(); }),
                                   any([](const Reading& reading) { return reading.wire.has_value(); }),
                                   any([](const Reading& reading) { return reading.role == Role::suspect; }),
                                   any([](const Reading& reading) { return !reading.field.empty(); }),
                                   any([](const Reading& reading) { return reading.x.has_value(); })};
  const std::array<TableColumn, 7> columns{{{of.words("column.line"), true},
                                            {of.words("column.direction"), false},
                                            {with_unit(of, "column.aperture"), true},
                                            {with_unit(of, "column.wire"), true},
                                            {of.words("column.role"), false},
                                            {of.words("column.field"), false},
                                            {of.words("column.place"), true}}};
  Table table;
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    if (wanted[i]) table.columns.push_back(columns[i]);
  }
  for (const Reading& reading : readings) {
    const std::array<std::string, 7> texts = reading_texts(of, reading);
    std::vector<TableCell>& row = table.rows.emplace_back();
    for (std::size_t i = 0; i < wanted.size(); ++i) {
      if (wanted[i]) row.push_back({texts[i]});
    }
  }
  return table;
}

}  // namespace sievecloth
