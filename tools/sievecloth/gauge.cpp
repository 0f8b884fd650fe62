// sievecloth gauge: whether an instrument and its operators can decide a tolerance.
#include "sievecloth/gauge.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <map>
#include <memory>

#include <fmt/format.h>

#include "base/text.hpp"
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
  std::string standard, size, unit;
  std::vector<std::string> tables;
  std::int64_t averaged = 0;  ///< 0: the least count of the size
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

// A file given twice would be two people who agree in everything.
Result<void> check_each_once(const std::vector<std::string>& files) {
  std::error_code ignored;
  for (std::size_t i = 0; i < files.size(); ++i) {
    for (std::size_t k = 0; k < i; ++k) {
      if (files[i] == files[k] || std::filesystem::equivalent(files[i], files[k], ignored))
        return Error{ErrorCode::wrong_value,
                     fmt::format("is the same file as {}", printable(files[k], 4096)),
                     "",
                     "a file of its own for each person",
                     {files[i], 0, 0}};
    }
  }
  return {};
}

Result<Gauge> read_study(const Options& options, Study& study) {
  if (const Result<void> once = check_each_once(options.files); !once) return once.errors();
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

// `0.2024 um (0.17 to 0.25)`
std::string shown_with_limits(const GaugeDeviation& deviation) {
  if (!deviation.bounded()) return fmt::format("{} (no interval)", shown_length(deviation.value));
  return fmt::format("{} ({} to {})", shown_length(deviation.value), deviation.lower > 0 ? shown_length(deviation.lower, 3) : "0",
                     shown_length(deviation.upper, 3));
}

Figure deviation_figure(const char* id, const char* name, const GaugeDeviation& deviation, const char* sentence) {
  Figure figure{id, name, shown_with_limits(deviation), sentence, deviation.value};
  if (deviation.bounded()) figure.parts = {{"lower_um", deviation.lower}, {"upper_um", deviation.upper}};
  return figure;
}

FigureGroup study_figures(const Gauge& gauge) {
  FigureGroup group{"gauge",
                    fmt::format("Gauge study: {} apertures, {} people, {} readings each", gauge.items, gauge.people, gauge.trials),
                    {},
                    {}};
  const auto add = [&](const char* id, const char* name, const GaugeDeviation& deviation, const char* sentence) {
    group.figures.push_back(deviation_figure(id, name, deviation, sentence));
  };
  add("repeatability_um", "repeatability", gauge.repeatability,
      "standard deviation when one person reads one aperture again and again");
  add("reproducibility_um", "reproducibility", gauge.reproducibility, "standard deviation from person to person");
  add("interaction_um", "interaction", gauge.interaction_deviation,
      gauge.pooled ? "no sign that people differ from aperture to aperture: taken together with the repeatability"
                   : "people differ from aperture to aperture: their ways of reading differ");
  add("combined_um", "total gauge R&R", gauge.combined, "standard deviation of a reading, whoever takes it");
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
  group.notes.emplace_back(
      "In brackets: 95 % confidence interval, with people and apertures as samples of many. From 0 means that there may be none.");
  return group;
}

/// One person's bias, by name.
struct Person {
  std::string name;
  GaugeBias bias;
};

// A person is called what their file is called, with its folder where that alone would be the same twice.
std::vector<Person> people_of(const Gauge& gauge, const std::vector<std::string>& files) {
  std::vector<Person> people;
  const auto stem = [](const std::string& file) { return std::filesystem::path(file).stem().string(); };
  for (std::size_t i = 0; i < files.size(); ++i) {
    const bool unique =
        std::count_if(files.begin(), files.end(), [&](const std::string& file) { return stem(file) == stem(files[i]); }) == 1;
    people.push_back({printable(unique ? stem(files[i]) : files[i], 4096), gauge.biases[i]});
  }
  return people;
}

std::string people_text(const std::vector<Person>& people) {
  FigureGroup group{"people", "Bias of each person against the mean of all", {}, {}};
  for (const auto& [name, bias] : people) {
    const bool clear = std::abs(bias.value) > bias.half_width;
    group.figures.push_back({name, name, fmt::format("{} \u00b1 {}", shown_length(bias.value), shown_length(bias.half_width, 3)),
                             fmt::format("95 % confidence interval {} to {}: {}", shown_length(bias.value - bias.half_width),
                                         shown_length(bias.value + bias.half_width),
                                         !clear           ? "no bias shown"
                                         : bias.value > 0 ? "reads too large"
                                                          : "reads too small"),
                             bias.value});
  }
  group.notes.emplace_back("Against each other, not against the truth: the scale's own error is in no gauge study.");
  return to_text(std::array{group});
}

std::string_view fitness_sentence(GaugeFitness fitness) {
  switch (fitness) {
    case GaugeFitness::fit: return "the instrument can decide it";
    case GaugeFitness::marginal: return "the instrument can decide it with a guard band";
    case GaugeFitness::unfit: return "the instrument is too uncertain for it";
    case GaugeFitness::cannot: return "twice the uncertainty reaches the width: the instrument cannot decide it";
    case GaugeFitness::undecided: break;
  }
  return "the study is too small to say: more people, then more apertures";
}

void add_verdict(FigureGroup& group, const char* id, const std::string& name, const GaugeDeviation& deviation, double width_um) {
  const GaugeVerdict verdict = judge_gauge(deviation, width_um);
  const bool undecided = verdict.fitness == GaugeFitness::undecided;
  const std::string interval =
      deviation.bounded() ? fmt::format(" ({} to {})", shown_number(verdict.lower, 3), shown_number(verdict.upper, 3)) : "";
  group.figures.push_back(
      {id, name, fmt::format("{} %{}", shown_number(verdict.percent, 3), interval),
       fmt::format("{}{}: six standard deviations {} against the width {}; {} (10 and 30 % are common practice)",
                   to_text(verdict.fitness),
                   undecided ? fmt::format(", from {} to {}", to_text(verdict.best), to_text(verdict.worst)) : "",
                   shown_length(6 * deviation.value), shown_length(width_um), fitness_sentence(verdict.fitness)),
       verdict.percent});
  if (deviation.bounded()) group.figures.back().parts = {{"lower", verdict.lower}, {"upper", verdict.upper}};
}

// The fewest apertures that any grade averages: the mean of more is less uncertain.
std::optional<std::int64_t> fewest_averaged(const Row& row) {
  std::optional<std::int64_t> fewest;
  for (const std::optional<Count>& count : row.counts.values) {
    if (count && count->value != k_all) fewest = std::min(fewest.value_or(count->value), count->value);
  }
  return fewest;
}

FigureGroup tolerance_figures(const Gauge& gauge, const Row& row, const Options& options) {
  FigureGroup group{"tolerance", fmt::format("Against the tolerances of {}", row.designation), {}, {}};
  const std::optional<std::int64_t> n = options.averaged > 0 ? options.averaged : fewest_averaged(row);
  const double width_um =
      options.wires ? (row.wire.maximum.value - row.wire.minimum.value).um() : 2 * row.average_tolerance.value.um();
  if (options.wires) {
    add_verdict(group, "wire", "wire diameter", gauge.combined, width_um);
  } else {
    add_verdict(group, "average", "one reading, w \u00b1 Y", gauge.combined, width_um);
    add_verdict(group, "maximum", "maximum, X", gauge.combined, row.maximum_tolerance.value.um());
  }
  if (n && (!options.wires || options.averaged > 0)) {
    add_verdict(group, "mean", fmt::format("mean of {}", *n), deviation_of_mean(gauge, *n), width_um);
    group.notes.emplace_back(
        "The standard judges the mean of a direction: what one person reads at random averages out in it, the person's bias does "
        "not.");
  } else {
    group.notes.emplace_back("--averaged N adds the mean of N readings, which the standard judges.");
  }
  return group;
}

int run(const Options& options, const Verb& verb) {
  const Result<OwnersTables> owners = read_owners_tables(options.tables);
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
    groups.push_back(tolerance_figures(*gauge, **row, options));
    const std::string doubts = doubts_phrase(**edition, **row);
    if (!doubts.empty()) groups.back().notes.push_back(fmt::format("The table looks mistyped here: {}.", doubts));
  } else {
    groups.front().notes.emplace_back("--standard and --size say whether the instrument can decide a tolerance.");
  }
  if (!study.ignored_columns().empty()) groups.back().notes.push_back(ignored_columns_note(study.ignored_columns()));
  const std::vector<Person> people = people_of(*gauge, options.files);
  if (!options.json) return answer(fmt::format("{}\n{}", to_text(groups), people_text(people)));
  JsonText json;
  json.object([&] {
    json.member("schema", "sievecloth-gauge/1");
    write_figures(json, groups);
    json.array("people", people, [&](const Person& person) {
      json.object([&] {
        json.member("name", person.name);
        json.member("bias_um", person.bias.value);
        json.member("lower_um", person.bias.value - person.bias.half_width);
        json.member("upper_um", person.bias.value + person.bias.half_width);
      });
    });
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
           {"--averaged",
            &options->averaged,
            "Readings whose mean is judged",
            {.within = Range{1, k_most_readings}, .needs = {"--size"}, .otherwise = "the least count of the size"}},
           {"--wires", &options->wires, "Study the wires instead of the apertures"},
           {"--unit", &options->unit, "Unit of columns that do not name theirs", {.one_of = {"um", "mm", "in"}}},
           {"--ignore-columns", &options->ignore_columns, "Ignore unknown columns"},
           {"--last-line", &options->last_line, "Accept a last line without its line end"},
           {"--tables", &options->tables, "An owner's own table, as YAML; may be repeated"},
           {"--json", &options->json, "One JSON document"}},
          [options](const Verb& verb) { return run(*options, verb); }};
}

}  // namespace sievecloth::tool
