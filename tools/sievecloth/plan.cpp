// sievecloth plan: how many apertures and wires to measure, and which.
#include "sievecloth/plan.hpp"

#include <limits>
#include <memory>
#include <optional>

#include "files.hpp"
#include "output.hpp"
#include "owners_table.hpp"
#include "piece_options.hpp"
#include "report/plan_report.hpp"
#include "sievecloth/check.hpp"
#include "verbs.hpp"

namespace sievecloth::tool {
namespace {

struct Options {
  std::string standard, size, grade, clear, field, csv, picture;
  std::vector<std::string> tables;
  PieceOptions piece;
  bool scattered = false;
  std::int64_t seed = 1;
  bool overwrite = false;
  bool json = false;
};

Result<Specification> read_specification(const Options& options, const OwnersTables& owners) {
  Job job{.standard = Located{options.standard, {}}, .size = Located{options.size, {}}};
  if (!options.grade.empty()) job.grade = Located{options.grade, {}};
  return find_specification(job, owners_editions(owners));
}

Result<PlanChoice> read_choice(const Options& options) {
  const Result<std::optional<Length>> clear = length_option("--clear", options.clear);
  if (!clear.ok()) return clear.errors();
  const Result<std::optional<Length>> field = length_option("--field", options.field);
  if (!field.ok()) return field.errors();
  return PlanChoice{.clear = *clear,
                    .field = *field,
                    .method = options.scattered ? PlanMethod::scattered : PlanMethod::fields,
                    .seed = static_cast<std::uint64_t>(options.seed)};
}

// A document to write; one without a name is not asked for.
struct Document {
  std::string path;
  std::string text;
  std::optional<FileState> replaced = {};
};

// Neither a form nor a picture belongs to one piece, so that none replaces a file unasked.
Result<void> name_files(const Options& options, std::vector<Document>& documents) {
  Files files(options.overwrite);
  for (const std::string& table : options.tables) files.add_input(table);
  for (Document& document : documents) {
    if (document.path.empty() || document.path == "-") continue;
    if (const Result<void> added = files.add_output(document.path); !added) return added.errors();
    Result<std::optional<FileState>> replaced = files.may_write(document.path);
    if (!replaced.ok()) return replaced.errors();
    document.replaced = *replaced;
  }
  return files.add_standard_output();
}

// What goes to standard output, which holds one document.
Result<void> check_standard_output(const Options& options) {
  if (int{options.csv == "-"} + int{options.picture == "-"} + int{options.json} <= 1) return {};
  return Error{
      ErrorCode::option_conflict, "two documents on one standard output", "", "one of --csv -, --picture - and --json", {}};
}

int write_files(const Options& options, const Plan& plan, const Verb& verb) {
  const bool asked = !options.csv.empty() || !options.picture.empty();
  if (asked && plan.readings.empty()) {
    const bool known = plan.piece.frame || plan.piece.roll;
    return complain({{ErrorCode::option_missing,
                      known ? "no places to list: how many apertures this edition requires is not known"
                            : "no places to list: the piece is not known",
                      "",
                      known ? "an edition whose count is known" : "--frame, --square, or --width and --length",
                      {}}},
                    options.json, &verb);
  }
  std::vector<Document> documents{{options.csv, plan_csv(plan)}, {options.picture, plan_svg(plan)}};
  if (const Result<void> named = name_files(options, documents); !named) return complain(named.errors(), options.json, &verb);
  for (const Document& document : documents) {
    if (document.path == "-" && answer(document.text) != 0) return k_io_failed;
    if (document.path.empty() || document.path == "-") continue;
    if (const Result<void> written = write_file(document.path, document.text, document.replaced); !written)
      return complain(written.errors(), options.json);
  }
  return 0;
}

int run(const Options& options, const Verb& verb) {
  if (const Result<void> one = check_standard_output(options); !one) return complain(one.errors(), options.json, &verb);
  const Result<OwnersTables> owners = read_owners_tables(options.tables);
  if (!owners.ok()) return complain(owners.errors(), options.json, &verb);
  const Result<Specification> specification = read_specification(options, *owners);
  if (!specification.ok()) return complain(specification.errors(), options.json, &verb);
  const Result<std::optional<Piece>> piece = read_piece(options.piece);
  if (!piece.ok()) return complain(piece.errors(), options.json, &verb);
  const Result<PlanChoice> choice = read_choice(options);
  if (!choice.ok()) return complain(choice.errors(), options.json, &verb);
  const Result<Plan> plan = make_plan(*specification, piece->value_or(Piece()), *choice);
  if (!plan.ok()) return complain(plan.errors(), options.json, &verb);
  if (const int failed = write_files(options, *plan, verb); failed != 0) return failed;
  if (options.csv == "-" || options.picture == "-") return 0;  // standard output holds only that document
  return answer(options.json ? plan_json(*plan) : plan_text(*plan));
}

}  // namespace

Verb plan_verb() {
  const auto options = std::make_shared<Options>();
  Verb verb{"plan",
            "Says how many apertures and wires to measure, and which.",
            "  sievecloth plan --standard astm-e11-17 --size \"No. 200\" --grade inspection --frame 8in --csv readings.csv\n"
            "  sievecloth plan --standard astm-e11-17 --size 75um --grade compliance --width 48in --length 30m",
            {{"--standard", &options->standard, "Edition, as `sievecloth editions` lists them", {.required = true}},
             {"--size", &options->size, "Size, such as \"No. 200\", 75um, 4.75mm, \"3/8 in.\"", {.required = true}},
             {"--grade", &options->grade, "compliance, inspection or calibration"}},
            [options](const Verb& plan) { return run(*options, plan); }};
  append(verb.options, piece_options(options->piece));
  append(verb.options,
         {{"--clear", &options->clear, "Clear diameter or side, where it is known", {.excludes = {"--width"}}},
          {"--field", &options->field, "Length of the instrument's field of view, such as 2mm", {.otherwise = "ten gaps"}},
          {"--scattered", &options->scattered, "Single apertures, all over the piece", {.excludes = {"--field"}}},
          {"--seed",
           &options->seed,
           "Another number gives another choice of places",
           {.within = Range{0, std::numeric_limits<std::int64_t>::max()}}},
          {"--csv", &options->csv, "Write the places as readings to fill in; - is standard output"},
          {"--picture", &options->picture, "Write the places as an SVG picture; - is standard output"},
          {"--overwrite", &options->overwrite, "Replace files that are there"},
          {"--tables", &options->tables, "An owner's own table, as YAML; may be repeated"},
          {"--json", &options->json, "One JSON document"}});
  return verb;
}

}  // namespace sievecloth::tool
