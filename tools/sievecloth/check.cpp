// sievecloth check: the readings of one piece, or of several, against a size of an edition.
#include <algorithm>
#include <filesystem>
#include <memory>

#include <fmt/format.h>

#include "output.hpp"
#include "owners_table.hpp"
#include "piece.hpp"
#include "reports.hpp"
#include "sievecloth/report.hpp"
#include "verbs.hpp"

namespace sievecloth::tool {
namespace {

struct Options {
  std::vector<std::string> files;
  std::string tables;
  CheckOptions check;
  ReportOptions report;
  std::vector<std::string> summaries;
  bool json = false;
};

void say_warnings(const Assessment& assessment, const std::string& where) {
  for (const Warning& warning : assessment.warnings) say(fmt::format("{}warning: {}", where, to_text(warning, assessment)));
}

// Checks one file and writes its reports.
Result<Assessment> check_file(const std::string& file, const Options& options, const std::optional<TableFile>& table,
                              const ReportWriter& reports) {
  Result<CheckedPiece> piece = check_piece(file, options.check, table);
  if (!piece.ok()) return piece.errors();
  if (reports.wanted()) {
    if (std::optional<Errors> errors = reports.write(*piece, file)) return *std::move(errors);
  }
  return std::move(piece->assessment);
}

int check_one(const Options& options, const std::optional<TableFile>& table, const ReportWriter& reports, const CLI::App& verb) {
  const Result<Assessment> assessment = check_file(options.files.front(), options, table, reports);
  if (!assessment.ok()) return complain(assessment.errors(), options.json, &verb);
  if (!options.json) say_warnings(*assessment, "");
  const int failed = answer(options.json ? to_json(*assessment) : to_text(*assessment));
  return failed != 0 ? failed : exit_code(assessment->verdict);
}

// ---- several pieces

// Two pieces must not write the same report.
std::optional<Error> find_shared_target(const Options& options, const ReportWriter& reports) {
  std::vector<std::string> seen;
  for (const std::string& file : options.files) {
    for (std::string& path : reports.targets(file)) {
      if (std::find(seen.begin(), seen.end(), path) != seen.end())
        return Error{ErrorCode::option_conflict,
                     "two reports would go to the same file",
                     path,
                     "{} in its name, which stands for the name of the piece's file",
                     {}};
      seen.push_back(std::move(path));
    }
  }
  return std::nullopt;
}

std::optional<Error> write_summaries(const Options& options, const std::vector<BatchPiece>& batch) {
  for (const std::string& file : options.summaries) {
    const bool csv = std::filesystem::path(file).extension() == ".csv";
    if (std::optional<Error> error = write_file(file, csv ? to_csv(batch) : to_text(batch))) return error;
  }
  return std::nullopt;
}

// The worst of all: conforms < undecided < does not conform < an error, of which the first counts.
int worst(const std::vector<BatchPiece>& batch) {
  Verdict verdict = Verdict::conforms;
  for (const BatchPiece& piece : batch) {
    if (!piece.result.ok()) return exit_code(piece.result.error());
    verdict = std::max(verdict, piece.result->verdict);
  }
  return exit_code(verdict);
}

int check_batch(const Options& options, const std::optional<TableFile>& table, const ReportWriter& reports) {
  if (const std::optional<Error> error = find_shared_target(options, reports)) return complain({*error}, options.json);
  std::vector<BatchPiece> batch;
  for (const std::string& file : options.files) {
    batch.push_back({file, check_file(file, options, table, reports)});
    const Result<Assessment>& result = batch.back().result;
    if (options.json) continue;
    if (!result.ok()) complain(result.errors(), false);
    if (result.ok()) say_warnings(*result, printable(file, 4096) + ": ");
  }
  if (const std::optional<Error> error = write_summaries(options, batch)) return complain({*error}, options.json);
  const int failed = answer(options.json ? to_json(batch) : to_text(batch));
  return failed != 0 ? failed : worst(batch);
}

int run(Options options, const CLI::App& verb) {
  const Result<std::optional<TableFile>> table = read_owners_table(options.tables);
  if (!table.ok()) return complain(table.errors(), options.json);
  const Result<ReportWriter> reports = ReportWriter::make(options.report);
  if (!reports.ok()) return complain(reports.errors(), options.json, &verb);
  options.check.for_report = reports->wanted();
  const bool batch = options.files.size() > 1 || !options.summaries.empty();
  return batch ? check_batch(options, *table, *reports) : check_one(options, *table, *reports, verb);
}

void add_report_options(CLI::App& verb, ReportOptions& report, std::vector<std::string>& summaries) {
  const auto one_each = [](CLI::Option* option) { option->expected(1)->multi_option_policy(CLI::MultiOptionPolicy::TakeAll); };
  one_each(verb.add_option("--report", report.files,
                           "A report; .pdf, .html, .json, .txt or .md. {} stands for the name of the piece's file"));
  verb.add_option("--annex", report.annex, "List all readings in the reports")->check(CLI::IsMember({"readings"}));
  verb.add_option("--laboratory", report.laboratory, "The laboratory's face on reports, as YAML");
  verb.add_option("--language", report.language, "Words of reports in another language, as YAML");
  one_each(verb.add_option("--template", report.templates, "Mustache template for the reports of the same ending"));
  one_each(verb.add_option("--summary", summaries, "A line for each piece, with its worst margin; .csv or text"));
}

}  // namespace

void add_check(CLI::App& app, int& exit) {
  CLI::App* verb =
      add_verb(app, "check", "Checks the readings of one piece, or of several, against a size of an edition.",
               "  sievecloth check readings.csv --standard astm-e11-17 --size \"No. 200\" --grade inspection --viewing passed\n"
               "  sievecloth check job.yaml --report job.pdf\n"
               "  sievecloth check jobs/*.yaml --report reports/{}.pdf --summary summary.csv");
  const auto options = std::make_shared<Options>();
  verb->add_option("FILE", options->files, "Readings as CSV, or a job file; - is standard input")->required();
  add_check_options(*verb, options->check, options->tables);
  verb->add_flag("--json", options->json, "One JSON document");
  add_report_options(*verb, options->report, options->summaries);
  verb->callback([options, verb, &exit] { exit = run(*options, *verb); });
}

}  // namespace sievecloth::tool
