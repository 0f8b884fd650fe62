// sievecloth check: the readings of one piece against a size of an edition.
#include <memory>

#include <fmt/format.h>

#include "input.hpp"
#include "piece.hpp"
#include "sievecloth/report.hpp"
#include "verbs.hpp"

namespace sievecloth::tool {
namespace {

constexpr std::size_t k_longest_table = 64u << 20;

struct Options {
  std::string file;
  std::string tables;
  CheckOptions check;
  bool json = false;
};

int exit_code(Verdict verdict) {
  switch (verdict) {
    case Verdict::conforms: return k_conforms;
    case Verdict::does_not_conform: return k_does_not_conform;
    case Verdict::undecided: break;
  }
  return k_undecided;
}

Result<std::optional<TableFile>> read_owners_table(const std::string& file) {
  if (file.empty()) return std::optional<TableFile>();
  const Result<std::string> yaml = read_whole(file, k_longest_table);
  if (!yaml.ok()) return yaml.errors();
  Result<TableFile> table = read_table(*yaml, file);
  if (!table.ok()) return table.errors();
  for (const Edition* edition : built_in_editions()) {
    if (edition->name != table->edition().name) continue;
    return Error{ErrorCode::option_conflict,
                 "the table has the name of an edition that is built in",
                 std::string(edition->name),
                 "an edition name of its own",
                 {file, 0, 0}};
  }
  return std::optional(*std::move(table));
}

int run(const Options& options, const CLI::App& verb) {
  const Result<std::optional<TableFile>> table = read_owners_table(options.tables);
  if (!table.ok()) return complain(table.errors(), options.json);
  const Result<CheckedPiece> piece = check_piece(options.file, options.check, *table);
  if (!piece.ok()) return complain(piece.errors(), options.json, &verb);
  const Assessment& assessment = piece->assessment;
  if (!options.json) {
    for (const Warning& warning : assessment.warnings) say(fmt::format("warning: {}", to_text(warning, assessment)));
  }
  const int failed = answer(options.json ? to_json(assessment) : to_text(assessment));
  return failed != 0 ? failed : exit_code(assessment.verdict);
}

}  // namespace

void add_check(CLI::App& app, int& exit) {
  CLI::App* verb =
      add_verb(app, "check", "Checks the readings of one piece against a size of an edition.",
               "  sievecloth check readings.csv --standard astm-e11-17 --size \"No. 200\" --grade inspection --viewing passed\n"
               "  sievecloth check job.yaml");
  const auto options = std::make_shared<Options>();
  verb->add_option("FILE", options->file, "Readings as CSV, or a job file; - is standard input")->required();
  verb->add_option("--standard", options->check.standard, "Edition, as `sievecloth editions` lists them");
  verb->add_option("--size", options->check.size, "Size, such as \"No. 200\", 75um, 4.75mm, \"3/8 in.\"");
  verb->add_option("--grade", options->check.grade, "compliance, inspection or calibration");
  verb->add_option("--viewing", options->check.viewing, "The two viewing tests over all apertures")
      ->check(CLI::IsMember({"passed", "failed"}));
  verb->add_flag("--measured-only", options->check.measured_only, "Leave the viewing tests out of the verdict");
  verb->add_flag("--apertures-only", options->check.apertures_only, "Leave the wires out of the verdict");
  verb->add_flag("--only-seen", options->check.only_seen, "Leave undecided what rests on a limit or rule that was not seen");
  verb->add_option("--unit", options->check.unit, "Unit of columns that do not name theirs")
      ->check(CLI::IsMember({"um", "mm", "in"}));
  verb->add_flag("--ignore-columns", options->check.ignore_columns, "Take columns of other names as notes");
  verb->add_option("--tables", options->tables, "An owner's own table, as YAML");
  verb->add_flag("--json", options->json, "One JSON document");
  verb->callback([options, verb, &exit] { exit = run(*options, *verb); });
}

}  // namespace sievecloth::tool
