// sievecloth gauge: whether an instrument and its operators can decide a tolerance.
#include "sievecloth/gauge.hpp"

#include <algorithm>
#include <map>
#include <memory>

#include <fmt/format.h>

#include "kept_readings.hpp"
#include "owners_table.hpp"
#include "report/figures.hpp"
#include "report/json_parts.hpp"
#include "report/phrases.hpp"
#include "sievecloth/specification.hpp"
#include "sievecloth/version.hpp"
#include "verbs.hpp"

namespace sievecloth::tool {
namespace {

struct Options {
  std::vector<std::string> files;
  std::string standard, size, unit, tables;
  bool wires = false;
  bool ignore_columns = false;
  bool last_line = false;
  bool json = false;
};

/// Apertures by direction and field, numbered in order of appearance.
class Study {
 public:
  Result<void> add(const std::vector<Reading>& readings, std::int32_t person, bool wires, const std::string& file) {
    for (const Reading& reading : readings) {
      const std::optional<Length>& value = wires ? reading.wire : reading.aperture;
      if (!value) continue;
      if (reading.field.empty()) {
        return Error{ErrorCode::column_missing,
                     "which aperture was read is not said",
                     "",
                     "its name in the column field",
                     {file, reading.line, 0}};
      }
      const auto item =
          items_.try_emplace({reading.direction, reading.field}, static_cast<std::int32_t>(items_.size())).first->second;
      readings_.push_back({item, person, value->um()});
    }
    return {};
  }
  void note_ignored_columns(std::vector<std::string> columns) {
    for (std::string& column : columns) {
      if (std::find(ignored_columns_.begin(), ignored_columns_.end(), column) == ignored_columns_.end())
        ignored_columns_.push_back(std::move(column));
    }
  }
  const std::vector<GaugeReading>& readings() const { return readings_; }
  const std::vector<std::string>& ignored_columns() const { return ignored_columns_; }

 private:
  std::map<std::pair<Direction, std::string>, std::int32_t> items_;
  std::vector<GaugeReading> readings_;
  std::vector<std::string> ignored_columns_;
};

Result<Gauge> read_study(const Options& options, Study& study) {
  for (std::size_t i = 0; i < options.files.size(); ++i) {
    Result<KeptReadings> kept =
        keep_readings(options.files[i],
                      {.unit = find_unit(options.unit), .ignore_columns = options.ignore_columns, .last_line = options.last_line});
    if (!kept.ok()) return kept.errors();
    study.note_ignored_columns(std::move(kept->ignored_columns));
    const Result<void> added = study.add(kept->readings, static_cast<std::int32_t>(i), options.wires, options.files[i]);
    if (!added) return added.errors();
  }
  Result<Gauge> gauge = study_gauge(study.readings());
  if (gauge.ok()) return gauge;
  Error error = gauge.error();
  error.where.file = options.files.front();
  return error;
}

FigureGroup study_figures(const Gauge& gauge) {
  FigureGroup group{"gauge",
                    fmt::format("Gauge study: {} apertures, {} people, {} readings each", gauge.items, gauge.people, gauge.trials),
                    {},
                    {}};
  const auto add = [&](const char* id, const char* name, double um, const char* sentence) {
    group.figures.push_back({id, name, shown_length(um), sentence, um});
  };
  add("repeatability_um", "repeatability", gauge.repeatability,
      "standard deviation when one person reads one aperture again and again");
  add("reproducibility_um", "reproducibility", gauge.reproducibility, "standard deviation from person to person");
  if (!gauge.pooled) {
    add("interaction_um", "interaction", gauge.interaction_deviation,
        "people differ from aperture to aperture: their ways of reading differ");
  }
  add("combined_um", "both together", gauge.combined, "standard deviation of a reading, whoever takes it");
  add("between_apertures_um", "apertures", gauge.between_items, "standard deviation of the apertures themselves");
  group.figures.push_back(
      {"percent_of_total", "part of the whole", shown_number(gauge.percent_of_total, 4) + " %",
       "of the spread seen comes from measuring: below 10 % is good, above 30 % is not usable (common practice)",
       gauge.percent_of_total});
  group.figures.push_back({"categories", "categories", fmt::format("{}", gauge.whole_categories()),
                           "groups of apertures that the readings can tell apart: five or more are wanted (common practice)",
                           gauge.categories});
  group.figures.push_back({"interaction_p", "interaction, p", shown_number(gauge.interaction_p, 3),
                           gauge.pooled ? "above 0.25: taken together with the repeatability" : "at most 0.25: counted by itself",
                           gauge.interaction_p});
  return group;
}

std::string_view fitness_sentence(GaugeFitness fitness) {
  switch (fitness) {
    case GaugeFitness::fit: return "the instrument can decide it";
    case GaugeFitness::marginal: return "the instrument can decide it with a guard band";
    case GaugeFitness::unfit: return "the instrument is too uncertain for it";
    case GaugeFitness::cannot: break;
  }
  return "twice the uncertainty of a reading reaches the width: the instrument cannot decide it";
}

void add_verdict(FigureGroup& group, const Gauge& gauge, const char* id, const std::string& name, double width_um) {
  const GaugeVerdict verdict = judge_gauge(gauge, width_um);
  group.figures.push_back(
      {id, name, fmt::format("{} %", shown_number(verdict.percent, 3)),
       fmt::format("{}: six standard deviations of a reading against the width {}; {} (10 and 30 % are common practice)",
                   to_text(verdict.fitness), shown_length(width_um), fitness_sentence(verdict.fitness)),
       verdict.percent});
}

FigureGroup tolerance_figures(const Gauge& gauge, const Row& row, bool wires) {
  FigureGroup group{"tolerance", fmt::format("Against the tolerances of {}", row.designation), {}, {}};
  if (wires) {
    add_verdict(group, gauge, "wire", "wire diameter", (row.wire.maximum.value - row.wire.minimum.value).um());
    return group;
  }
  add_verdict(group, gauge, "average", "one reading, w \u00b1 Y", 2 * row.average_tolerance.value.um());
  add_verdict(group, gauge, "maximum", "maximum, X", row.maximum_tolerance.value.um());
  group.notes.emplace_back(
      "The mean of many readings is less uncertain by what repeatability averages out; the scale's own error is in no gauge "
      "study.");
  return group;
}

int run(const Options& options, const Verb& verb) {
  const Result<std::optional<TableFile>> owners = read_owners_table(options.tables);
  if (!owners.ok()) return complain(owners.errors(), options.json, &verb);
  Study study;
  const Result<Gauge> gauge = read_study(options, study);
  if (!gauge.ok()) return complain(gauge.errors(), options.json, &verb);
  std::vector<FigureGroup> groups{study_figures(*gauge)};
  if (!options.size.empty()) {
    const Result<const Edition*> edition = find_edition(options.standard, owners_editions(*owners));
    if (!edition.ok()) return complain(edition.errors(), options.json, &verb);
    const Result<const Row*> row = find_size(**edition, options.size);
    if (!row.ok()) return complain(row.errors(), options.json, &verb);
    groups.push_back(tolerance_figures(*gauge, **row, options.wires));
    const std::string doubts = doubts_phrase(**edition, **row);
    if (!doubts.empty()) groups.back().notes.push_back(fmt::format("The table looks mistyped here: {}.", doubts));
  } else {
    groups.front().notes.emplace_back("--standard and --size say whether the instrument can decide a tolerance.");
  }
  if (!study.ignored_columns().empty()) groups.back().notes.push_back(ignored_columns_note(study.ignored_columns()));
  if (!options.json) return answer(to_text(groups));
  JsonText json;
  json.object([&] {
    json.member("schema", "sievecloth-gauge/1");
    write_figures(json, groups);
    write_ignored_columns(json, study.ignored_columns());
    json.member("library", k_version);
  });
  return answer(json.text());
}

}  // namespace

Verb gauge_verb() {
  const auto options = std::make_shared<Options>();
  return {"gauge",
          "Says how well people and instrument repeat each other, and whether they can decide a tolerance.",
          "  sievecloth gauge anna.csv ben.csv carla.csv --standard astm-e11-17 --size \"No. 200\"",
          {{"FILE",
            &options->files,
            "Readings as CSV, one file for each person; the column field names the aperture, and every person reads every "
            "aperture equally often",
            {.required = true}},
           {"--standard", &options->standard, "Edition, as `sievecloth editions` lists them", {.needs = {"--size"}}},
           {"--size", &options->size, "Size whose tolerances are to be decided", {.needs = {"--standard"}}},
           {"--wires", &options->wires, "Study the wires instead of the apertures"},
           {"--unit", &options->unit, "Unit of columns that do not name theirs", {.one_of = {"um", "mm", "in"}}},
           {"--ignore-columns", &options->ignore_columns, "Ignore unknown columns"},
           {"--last-line", &options->last_line, "Accept a last line without its line end"},
           {"--tables", &options->tables, "An owner's own table, as YAML"},
           {"--json", &options->json, "One JSON document"}},
          [options](const Verb& verb) { return run(*options, verb); }};
}

}  // namespace sievecloth::tool
