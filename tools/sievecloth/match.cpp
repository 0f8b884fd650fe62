// sievecloth match: every size that a measured cloth meets.
#include "sievecloth/match.hpp"

#include <algorithm>
#include <memory>

#include <fmt/format.h>

#include "kept_readings.hpp"
#include "owners_table.hpp"
#include "report/figures.hpp"
#include "report/json_parts.hpp"
#include "report/phrases.hpp"
#include "sievecloth/version.hpp"
#include "verbs.hpp"

namespace sievecloth::tool {
namespace {

constexpr std::size_t k_most_misses = 10;

struct Options {
  std::string file, viewing, unit;
  std::vector<std::string> tables;
  std::int64_t agreed_count = 0;
  bool apertures_only = false;
  bool ignore_columns = false;
  bool last_line = false;
  bool json = false;
};

std::string name_of(const Assessment& assessment) {
  const Specification& specification = assessment.specification;
  std::string name(specification.row->designation);
  if (!specification.row->alternative.empty()) name += fmt::format(" ({})", specification.row->alternative);
  name += fmt::format(", {}", specification.edition->title);
  if (specification.grade) name += fmt::format(", {}", to_text(*specification.grade));
  return name;
}

std::string criterion_name(const Criterion& criterion) {
  return criterion.direction ? fmt::format("{} parallel to the {}", to_text(criterion.id), to_text(*criterion.direction))
                             : std::string(to_text(criterion.id));
}

std::string miss_of(const Criterion& criterion) {
  if (criterion.margin_um) return fmt::format("{} by {}", criterion_name(criterion), shown_length(-*criterion.margin_um, 3));
  if (criterion.observed && criterion.limit) {
    return fmt::format("{}: {} instead of at most {}", criterion_name(criterion), shown_number(*criterion.observed, 3),
                       shown_number(*criterion.limit, 3));
  }
  return criterion_name(criterion);
}

std::string missed(const Assessment& assessment) {
  std::string text;
  for (const Criterion& criterion : assessment.criteria) {
    if (!is_missed(criterion)) continue;
    text += (text.empty() ? "" : "; ") + miss_of(criterion);
    if (criterion.outcome == Outcome::undecided) text += fmt::format(" (so far, n = {})", criterion.n);
  }
  return text;
}

// A criterion open in both directions is named once.
std::string open(const Assessment& assessment) {
  std::string text;
  for (const Criterion& criterion : assessment.criteria) {
    if (criterion.outcome != Outcome::undecided) continue;
    const auto twin = std::find_if(assessment.criteria.begin(), assessment.criteria.end(), [&](const Criterion& other) {
      return other.id == criterion.id && other.direction != criterion.direction && other.outcome == Outcome::undecided;
    });
    const bool both = twin != assessment.criteria.end();
    if (both && criterion.direction == Direction::weft) continue;
    text += (text.empty() ? "" : "; ") + (both ? std::string(to_text(criterion.id)) : criterion_name(criterion));
  }
  return text;
}

enum class Fit { met, open, missed };

Fit kind_of(const Match& match) {
  if (match.assessment.verdict == Verdict::does_not_conform || match.excess > 0) return Fit::missed;
  return match.assessment.verdict == Verdict::conforms ? Fit::met : Fit::open;
}

std::string sentence_of(const Match& match) {
  const Assessment& assessment = match.assessment;
  const Specification& specification = assessment.specification;
  const std::string doubts = doubts_phrase(*specification.edition, *specification.row);
  if (!doubts.empty()) return fmt::format("the table looks mistyped, and decides nothing: {}", doubts);
  switch (kind_of(match)) {
    case Fit::met: return assessment.provisional ? "met (provisional: not verified against the standard)" : "met";
    case Fit::open: return fmt::format("nothing fails; open: {}", open(assessment));
    case Fit::missed: break;
  }
  return fmt::format("missed: {}", missed(assessment));
}

std::string agreed_of(const Match& match) {
  const std::optional<std::int64_t>& count = match.assessment.conditions.agreed_count;
  return count ? fmt::format("; count of {} agreed, not the edition's", *count) : "";
}

// Cautions about the readings; that they fit another size is what is being found out.
std::string cautions_of(const Match& match) {
  std::string text;
  for (const Warning& warning : match.assessment.warnings) {
    if (warning.kind != Warning::Kind::fits_other_size) text += fmt::format(". Warning: {}", to_text(warning, match.assessment));
  }
  return text;
}

std::string errata_of(const Match& match) {
  std::string text;
  for (const std::string& sentence : erratum_sentences(match.assessment.specification)) text += ". " + sentence;
  return text;
}

FigureGroup group_of(const std::vector<Match>& matches, Fit kind, const std::string& id, const std::string& title,
                     std::size_t most) {
  FigureGroup group{id, title, {}, {}};
  for (const Match& match : matches) {
    if (kind_of(match) != kind || group.figures.size() == most) continue;
    const Specification& specification = match.assessment.specification;
    const std::string key = fmt::format("{} {} {}", specification.edition->name, specification.row->designation,
                                        specification.grade ? to_text(*specification.grade) : "");
    group.figures.push_back({key, name_of(match.assessment), kind == Fit::missed ? fmt::format("{:.0f} %", 100 * match.excess) : "",
                             sentence_of(match) + agreed_of(match) + cautions_of(match) + errata_of(match), match.excess});
  }
  if (group.figures.empty()) group.notes.emplace_back("none");
  return group;
}

std::vector<FigureGroup> groups_of(const std::vector<Match>& matches, const std::vector<std::string>& ignored_columns) {
  std::vector<FigureGroup> groups{
      group_of(matches, Fit::met, "met", "Met", matches.size()),
      group_of(matches, Fit::open, "open", "Not decided, but nothing fails", matches.size()),
      group_of(matches, Fit::missed, "missed", "Nearest misses, with how far beyond the limit as a part of the tolerance",
               k_most_misses)};
  if (!matches.empty() && matches.front().assessment.conditions.apertures_only)
    groups.back().notes.emplace_back("Judged by the apertures alone.");
  if (!matches.empty() && matches.front().assessment.conditions.measured_only) {
    groups.back().notes.emplace_back("Judged by measured quantities alone; the visual examination must be passed too.");
  }
  if (!ignored_columns.empty()) groups.back().notes.push_back(ignored_columns_note(ignored_columns));
  return groups;
}

std::string json_of(const std::vector<Match>& matches, const std::vector<std::string>& ignored_columns) {
  JsonText json;
  json.object([&] {
    json.member("schema", "sievecloth-match/1");
    json.array("matches", matches, [&](const Match& match) {
      const Assessment& assessment = match.assessment;
      json.object([&] {
        json.member("standard", assessment.specification.edition->name);
        json.member("designation", assessment.specification.row->designation);
        if (assessment.specification.grade) json.member("grade", to_text(*assessment.specification.grade));
        json.member("verdict", to_text(assessment.verdict));
        json.member("provisional", assessment.provisional);
        json.member("apertures_only", assessment.conditions.apertures_only);
        json.member("measured_only", assessment.conditions.measured_only);
        if (assessment.conditions.agreed_count) json.member("agreed_count", *assessment.conditions.agreed_count);
        json.member("excess", match.excess);
        json.member("sentence", sentence_of(match));
        json.array("warnings", assessment.warnings, [&](const Warning& warning) { json.value(to_text(warning, assessment)); });
        write_errata(json, assessment.specification);
        write_doubts(json, *assessment.specification.edition, *assessment.specification.row);
        json.array("missed", assessment.criteria, [&](const Criterion& criterion) {
          if (!is_missed(criterion)) return;
          json.object([&] {
            json.member("id", to_text(criterion.id));
            if (criterion.direction) json.member("direction", to_text(*criterion.direction));
            if (criterion.margin_um) json.member("by_um", -*criterion.margin_um);
            json.member("excess", excess_of(criterion, *assessment.specification.row));
          });
        });
      });
    });
    write_ignored_columns(json, ignored_columns);
    json.member("library", k_version);
  });
  return json.text();
}

int run(const Options& options) {
  const Result<OwnersTables> owners = read_owners_tables(options.tables);
  if (!owners.ok()) return complain(owners.errors(), options.json);
  const Result<KeptReadings> kept = keep_readings(
      options.file, {.unit = find_unit(options.unit), .ignore_columns = options.ignore_columns, .last_line = options.last_line});
  if (!kept.ok()) return complain(kept.errors(), options.json);
  Conditions conditions{.measured_only = options.viewing.empty(), .apertures_only = options.apertures_only};
  if (!options.viewing.empty()) conditions.viewing_passed = options.viewing == "passed";
  if (options.agreed_count > 0) conditions.agreed_count = options.agreed_count;
  const Result<std::vector<Match>> matches = find_matches(kept->readings, known_editions(*owners), conditions);
  if (!matches.ok()) return complain(matches.errors(), options.json);
  return answer(options.json ? json_of(*matches, kept->ignored_columns) : to_text(groups_of(*matches, kept->ignored_columns)));
}

}  // namespace

Verb match_verb() {
  const auto options = std::make_shared<Options>();
  return {"match",
          "Lists every size, edition and grade that the measured cloth meets, and the nearest misses.",
          "  sievecloth match readings.csv --viewing passed",
          {{"FILE", &options->file, "Readings as CSV; - is standard input", {.required = true}},
           {"--viewing",
            &options->viewing,
            "Result of the visual examination of all apertures; else measured quantities alone are judged",
            {.one_of = {"passed", "failed"}}},
           {"--agreed-count",
            &options->agreed_count,
            "Apertures in each direction, agreed where the edition's count is not known",
            {.within = Range{1, k_most_readings}}},
           {"--apertures-only", &options->apertures_only, "Leave the wires out"},
           {"--unit", &options->unit, "Unit of columns that do not name theirs", {.one_of = {"um", "mm", "in"}}},
           {"--ignore-columns", &options->ignore_columns, "Ignore unknown columns"},
           {"--last-line", &options->last_line, "Accept a last line without its line end"},
           {"--tables", &options->tables, "An owner's own table, as YAML; may be repeated"},
           {"--json", &options->json, "One JSON document"}},
          [options](const Verb&) { return run(*options); }};
}

}  // namespace sievecloth::tool
