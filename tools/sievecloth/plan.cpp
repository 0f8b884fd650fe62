// sievecloth plan: how many apertures and wires to measure, and which.
#include "sievecloth/plan.hpp"

#include <limits>
#include <memory>
#include <optional>

#include "files.hpp"
#include "output.hpp"
#include "owners_table.hpp"
#include "report/plan_report.hpp"
#include "sievecloth/check.hpp"
#include "verbs.hpp"

namespace sievecloth::tool {
namespace {

struct Options {
  std::string standard, size, grade, frame, square, clear, width, length, csv, picture, tables;
  std::int64_t seed = 1;
  bool overwrite = false;
  bool json = false;
};

Result<Specification> read_specification(const Options& options, const std::optional<TableFile>& owners) {
  Job job{.standard = Located{options.standard, {}}, .size = Located{options.size, {}}};
  if (!options.grade.empty()) job.grade = Located{options.grade, {}};
  return find_specification(job, owners_editions(owners));
}

Result<Piece> read_piece(const Options& options) {
  const Result<std::optional<Length>> frame = length_option("--frame", options.frame);
  const Result<std::optional<Length>> square = length_option("--square", options.square);
  const Result<std::optional<Length>> width = length_option("--width", options.width);
  const Result<std::optional<Length>> length = length_option("--length", options.length);
  for (const auto* each : {&frame, &square, &width, &length}) {
    if (!each->ok()) return each->errors();
  }
  Piece piece;
  if (*frame) piece.frame = Frame{FrameShape::round, **frame};
  if (*square) piece.frame = Frame{FrameShape::square, **square};
  if (*width) piece.roll = Roll{**width, **length};
  return piece;
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
  files.add_input(options.tables);
  for (Document& document : documents) {
    if (document.path.empty() || document.path == "-") continue;
    if (const Result<void> added = files.add_output(document.path); !added) return added.errors();
    Result<std::optional<FileState>> replaced = files.may_write(document.path);
    if (!replaced.ok()) return replaced.errors();
    document.replaced = *replaced;
  }
  return files.add_standard_output();
}

int write_files(const Options& options, const Plan& plan, const Verb& verb) {
  const bool asked = !options.csv.empty() || !options.picture.empty();
  if (asked && plan.readings.empty()) {
    return complain({{ErrorCode::option_missing,
                      "no places to list: the piece is not known",
                      "",
                      "--frame, --square, or --width and --length",
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
  const Result<std::optional<TableFile>> owners = read_owners_table(options.tables);
  if (!owners.ok()) return complain(owners.errors(), options.json, &verb);
  const Result<Specification> specification = read_specification(options, *owners);
  if (!specification.ok()) return complain(specification.errors(), options.json, &verb);
  const Result<Piece> piece = read_piece(options);
  if (!piece.ok()) return complain(piece.errors(), options.json, &verb);
  const Result<std::optional<Length>> clear = length_option("--clear", options.clear);
  if (!clear.ok()) return complain(clear.errors(), options.json, &verb);
  const Result<Plan> plan = make_plan(*specification, *piece, *clear, static_cast<std::uint64_t>(options.seed));
  if (!plan.ok()) return complain(plan.errors(), options.json, &verb);
  if (const int failed = write_files(options, *plan, verb); failed != 0) return failed;
  if (options.csv == "-" || options.picture == "-") return 0;  // standard output holds only that document
  return answer(options.json ? plan_json(*plan) : to_text(plan_figures(*plan)) + plan_list(*plan));
}

}  // namespace

Verb plan_verb() {
  const auto options = std::make_shared<Options>();
  return {"plan",
          "Says how many apertures and wires to measure, and which.",
          "  sievecloth plan --standard astm-e11-17 --size \"No. 200\" --grade inspection --frame 8in --csv readings.csv\n"
          "  sievecloth plan --standard astm-e11-17 --size 75um --grade compliance --width 48in --length 30m",
          {{"--standard", &options->standard, "Edition, as `sievecloth editions` lists them", {.required = true}},
           {"--size", &options->size, "Size, such as \"No. 200\", 75um, 4.75mm, \"3/8 in.\"", {.required = true}},
           {"--grade", &options->grade, "compliance, inspection or calibration"},
           {"--frame", &options->frame, "Nominal diameter of a round frame, such as 200mm or 8in"},
           {"--square", &options->square, "Side of a square frame", {.excludes = {"--frame"}}},
           {"--clear", &options->clear, "Clear diameter or side, where it is known"},
           {"--width", &options->width, "Width of a roll", {.needs = {"--length"}, .excludes = {"--frame", "--square", "--clear"}}},
           {"--length", &options->length, "Length of a roll, such as 30m", {.needs = {"--width"}}},
           {"--seed",
            &options->seed,
            "Another number gives another choice of places",
            {.within = Range{0, std::numeric_limits<std::int64_t>::max()}}},
           {"--csv", &options->csv, "Write the places as readings to fill in; - is standard output"},
           {"--picture", &options->picture, "Write the places as an SVG picture; - is standard output"},
           {"--overwrite", &options->overwrite, "Replace files that are there"},
           {"--tables", &options->tables, "An owner's own table, as YAML"},
           {"--json", &options->json, "One JSON document"}},
          [options](const Verb& verb) { return run(*options, verb); }};
}

}  // namespace sievecloth::tool
