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
#include "output.hpp"
#include "owners_table.hpp"
#include "report/figures.hpp"
#include "report/json_parts.hpp"
#include "report/phrases.hpp"
#include "sievecloth/assessment.hpp"
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

/// Apertures by direction and field, and people by name; each is numbered in order of appearance.
class Study {
 public:
  /// Who read.
  struct Person {
    std::string name;                                      ///< of the column operator; empty where the file is one person's
    std::string file;                                      ///< in which they are first seen
    std::vector<std::pair<std::size_t, Length>> readings;  ///< apertures by number, in order
  };

  Result<void> add(const KeptReadings& kept, bool wires, const std::string& file) {
    const auto is_named = [](const Reading& reading) { return !reading.operator_name.empty(); };
    const bool has_names = std::any_of(kept.readings.begin(), kept.readings.end(), is_named);
    for (const Reading& reading : kept.readings) {
      const std::optional<Length>& value = wires ? reading.wire : reading.aperture;
      if (!value) continue;
      const auto missing = [&](const char* message, const char* expected) {
        return Error{ErrorCode::column_missing, message, "", expected, {file, reading.line, 0}};
      };
      if (reading.field.empty()) return missing("which aperture was read is not said", "its name in the column field");
      if (has_names && !is_named(reading))
        return missing("who read is not said", "a name in the column operator, as in other rows");
      const std::pair item(reading.direction, reading.field);
      const auto [found, is_new] = items_.try_emplace(item, items_.size());
      if (is_new) directions_.push_back(reading.direction);
      person(reading.operator_name, file).readings.emplace_back(found->second, *value);
    }
    note_ignored_columns(kept.ignored_columns);
    return {};
  }

  /// Errors: study_unbalanced, with who read which aperture too often or too seldom, or whose readings are another's.
  Result<void> check() const {
    for (std::size_t i = 0; i < people_.size(); ++i) {
      for (std::size_t k = 0; k < i; ++k) {
        if (people_[i].readings == people_[k].readings) {
          return uneven(people_[i], fmt::format("these readings are those of {}", name_of(people_[k])),
                        "each person's own readings");
        }
      }
    }
    const std::size_t times = usual_count();
    for (const Person& person : people_) {
      for (const auto& [item, number] : items_) {
        const auto is_this = [&](const auto& reading) { return reading.first == number; };
        const auto count = static_cast<std::size_t>(std::count_if(person.readings.begin(), person.readings.end(), is_this));
        if (count == times) continue;
        return uneven(
            person, fmt::format("{} read '{}', {}, {} times", name_of(person), printable(item.second), to_text(item.first), count),
            fmt::format("{} times, as the others: every aperture equally often by everybody", times));
      }
    }
    return {};
  }

  std::vector<GaugeReading> readings() const {
    std::vector<GaugeReading> all;
    for (std::size_t i = 0; i < people_.size(); ++i) {
      for (const auto& [item, value] : people_[i].readings)
        all.push_back({static_cast<std::int32_t>(item), static_cast<std::int32_t>(i), value.um()});
    }
    return all;
  }

  Sample sample(const Specification& specification) const {
    Sample sample = make_sample(specification);
    for (const Person& person : people_) {
      for (const auto& [item, value] : person.readings)
        (void)sample.add(Reading{.direction = directions_[item], .aperture = value});
    }
    return sample;
  }

  const std::vector<Person>& people() const { return people_; }
  const std::vector<std::string>& ignored_columns() const { return ignored_columns_; }

  /// By their name, or else their file's, with its folder where that alone would be the same twice.
  std::string name_of(const Person& person) const {
    if (!person.name.empty()) return printable(person.name, 4096);
    const auto stem = [](const Person& one) { return std::filesystem::path(one.file).stem().string(); };
    const auto is_alike = [&](const Person& other) { return (other.name.empty() ? stem(other) : other.name) == stem(person); };
    return printable(std::count_if(people_.begin(), people_.end(), is_alike) == 1 ? stem(person) : person.file, 4096);
  }

 private:
  Person& person(const std::string& name, const std::string& file) {
    const auto is_this = [&](const Person& one) { return one.name == name && (!name.empty() || one.file == file); };
    const auto found = std::find_if(people_.begin(), people_.end(), is_this);
    return found != people_.end() ? *found : people_.emplace_back(Person{name, file, {}});
  }

  // How often most apertures were read by one person.
  std::size_t usual_count() const {
    std::map<std::size_t, std::size_t> counts;
    for (const Person& person : people_) {
      std::map<std::size_t, std::size_t> times;
      for (const auto& [item, value] : person.readings) ++times[item];
      for (const auto& [item, count] : times) ++counts[count];
    }
    const auto less = [](const auto& a, const auto& b) { return a.second < b.second; };
    return counts.empty() ? 0 : std::max_element(counts.begin(), counts.end(), less)->first;
  }

  static Error uneven(const Person& person, std::string message, std::string expected) {
    return {ErrorCode::study_unbalanced, std::move(message), "", std::move(expected), {person.file, 0, 0}};
  }

  void note_ignored_columns(const std::vector<std::string>& columns) {
    for (const std::string& column : columns) {
      if (std::find(ignored_columns_.begin(), ignored_columns_.end(), column) == ignored_columns_.end())
        ignored_columns_.push_back(column);
    }
  }

  std::map<std::pair<Direction, std::string>, std::size_t> items_;
  std::vector<Direction> directions_;  // of the items
  std::vector<Person> people_;
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
  for (const std::string& file : options.files) {
    const Result<KeptReadings> kept = keep_readings(
        file, {.unit = find_unit(options.unit), .ignore_columns = options.ignore_columns, .last_line = options.last_line});
    if (!kept.ok()) return kept.errors();
    if (const Result<void> added = study.add(*kept, options.wires, file); !added) return added.errors();
  }
  if (const Result<void> even = study.check(); !even) return even.errors();
  Result<Gauge> gauge = study_gauge(study.readings());
  if (gauge.ok()) return gauge;
  Error error = gauge.error();
  error.where.file = options.files.front();
  return error;
}

// The readings of another size, unit or quantity than the tolerances are for.
std::vector<std::string> cautions_of(const Study& study, const Edition& edition, const Row& row, bool wires) {
  if (wires) return {};
  const Specification specification{&edition, &row, edition.rules.graded ? std::optional(Grade::compliance) : std::nullopt};
  const Result<Assessment> assessment = assess(specification, study.sample(specification), {.measured_only = true});
  std::vector<std::string> cautions;
  if (!assessment.ok()) return cautions;
  for (const Warning& warning : assessment->warnings) {
    const bool of_size = warning.kind == Warning::Kind::fits_other_size || warning.kind == Warning::Kind::looks_like_inches ||
                         warning.kind == Warning::Kind::looks_like_thousand;
    if (of_size) cautions.push_back(to_text(warning, *assessment));
  }
  return cautions;
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

std::vector<Person> biases_of(const Gauge& gauge, const Study& study) {
  std::vector<Person> people;
  for (const Study::Person& person : study.people()) people.push_back({study.name_of(person), gauge.biases[people.size()]});
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
  std::vector<std::string> cautions;
  if (!options.size.empty()) {
    const Result<const Edition*> edition = find_edition(options.standard, owners_editions(*owners));
    if (!edition.ok()) return complain(edition.errors(), options.json, &verb);
    const Result<const Row*> row = find_size(**edition, options.size);
    if (!row.ok()) return complain(row.errors(), options.json, &verb);
    groups.push_back(tolerance_figures(*gauge, **row, options));
    cautions = cautions_of(study, **edition, **row, options.wires);
    const std::string doubts = doubts_phrase(**edition, **row);
    if (!doubts.empty()) groups.back().notes.push_back(fmt::format("The table looks mistyped here: {}.", doubts));
  } else {
    groups.front().notes.emplace_back("--standard and --size say whether the instrument can decide a tolerance.");
  }
  if (!study.ignored_columns().empty()) groups.back().notes.push_back(ignored_columns_note(study.ignored_columns()));
  const std::vector<Person> people = biases_of(*gauge, study);
  if (!options.json) {
    for (const std::string& caution : cautions) say("warning: " + caution);
    return answer(fmt::format("{}\n{}", to_text(groups), people_text(people)));
  }
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
    json.array("warnings", cautions, [&](const std::string& caution) { json.value(caution); });
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
            "Readings as CSV, one file for each person, or with names in the column operator; the column field names the aperture, "
            "and every person reads every aperture equally often",
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
