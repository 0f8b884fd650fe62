// sievecloth check: the readings of one piece, or of several, against a size of an edition.
#include <algorithm>
#include <atomic>
#include <filesystem>
#include <memory>
#include <thread>

#include <fmt/format.h>
#include <sched.h>

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

constexpr unsigned k_most_threads = 256;

unsigned available_processors() {
  cpu_set_t set;
  if (::sched_getaffinity(0, sizeof(set), &set) != 0) return 1;
  return std::clamp(static_cast<unsigned>(CPU_COUNT(&set)), 1u, k_most_threads);
}

int verdict_code(Verdict verdict) {
  switch (verdict) {
    case Verdict::conforms: return k_conforms;
    case Verdict::does_not_conform: return k_does_not_conform;
    case Verdict::undecided: break;
  }
  return k_undecided;
}

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
  return failed != 0 ? failed : verdict_code(assessment->verdict);
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
  return verdict_code(verdict);
}

// Each file is checked by one thread. Reports are written one after the other: what draws them is not made for more.
std::vector<BatchPiece> check_files(const Options& options, const std::optional<TableFile>& table, const ReportWriter& reports) {
  Options of_piece = options;
  of_piece.check.threads = 1;
  std::vector<std::optional<Result<Assessment>>> results(options.files.size());
  std::atomic<std::size_t> next = 0;
  const auto work = [&] {
    for (std::size_t i = next++; i < results.size(); i = next++) {
      results[i] = check_file(options.files[i], of_piece, table, reports);
    }
  };
  {
    const std::size_t threads = reports.wanted() ? 1 : std::min<std::size_t>(options.check.threads, results.size());
    std::vector<std::jthread> others;
    for (std::size_t i = 1; i < threads; ++i) others.emplace_back(work);
    work();
  }
  std::vector<BatchPiece> batch;
  for (std::size_t i = 0; i < results.size(); ++i) batch.push_back({options.files[i], *std::move(results[i])});
  return batch;
}

int check_batch(const Options& options, const std::optional<TableFile>& table, const ReportWriter& reports) {
  if (const std::optional<Error> error = find_shared_target(options, reports)) return complain({*error}, options.json);
  const std::vector<BatchPiece> batch = check_files(options, table, reports);
  for (const BatchPiece& piece : batch) {
    if (options.json) break;
    if (!piece.result.ok()) complain(piece.result.errors(), false);
    if (piece.result.ok()) say_warnings(*piece.result, printable(piece.name, 4096) + ": ");
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
  options->check.threads = available_processors();
  verb->add_option("FILE", options->files, "Readings as CSV, or a job file; - is standard input")->required();
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
  verb->add_option("--threads", options->check.threads, "Threads that read; no result depends on it")
      ->check(CLI::Range(1u, k_most_threads))
      ->default_str("the processors available");
  verb->add_flag("--json", options->json, "One JSON document");
  add_report_options(*verb, options->report, options->summaries);
  verb->callback([options, verb, &exit] { exit = run(*options, *verb); });
}

}  // namespace sievecloth::tool
