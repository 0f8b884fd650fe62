// sievecloth check: checks the readings of one or several pieces against a size of an edition.
#include <algorithm>
#include <atomic>
#include <exception>
#include <filesystem>
#include <map>
#include <memory>
#include <mutex>
#include <system_error>
#include <thread>

#include <fmt/format.h>
#include <sched.h>

#include "base/text.hpp"
#include "output.hpp"
#include "owners_table.hpp"
#include "piece.hpp"
#include "report/mark.hpp"
#include "reports.hpp"
#include "sievecloth/report.hpp"
#include "verbs.hpp"

namespace sievecloth::tool {
namespace {

struct Options {
  std::vector<std::string> files;
  std::vector<std::string> tables;
  CheckOptions check;
  ReportOptions report;
  std::vector<std::string> summaries;
  std::string compare_standard;
  bool overwrite = false;
  bool json = false;
};

constexpr unsigned k_most_threads = 256;

unsigned available_processors() {
  cpu_set_t set;
  if (::sched_getaffinity(0, sizeof(set), &set) != 0) return 1;
  return std::clamp(static_cast<unsigned>(CPU_COUNT(&set)), 1u, k_most_threads);
}

std::vector<std::string> warnings_of(const Assessment& assessment) {
  std::vector<std::string> warnings;
  for (const Warning& warning : assessment.warnings) warnings.push_back(to_text(warning, assessment));
  return warnings;
}

void say_warnings(const std::vector<std::string>& warnings, const std::string& where) {
  for (const std::string& warning : warnings) say(fmt::format("{}warning: {}", where, warning));
}

// Checks one file and writes its reports.
Result<CheckedPiece> check_and_report(const std::string& file, const Options& options, const OwnersTables& table,
                                      const ReportWriter& reports, std::vector<std::string>& named) {
  Result<CheckedFile> checked = check_file(file, options.check, table, named);
  if (!checked.ok()) return checked.errors();
  if (reports.wanted()) {
    if (const Result<void> written = reports.write(*checked, file); !written) return written.errors();
  }
  return std::move(checked->piece);
}

int check_one(const Options& options, const OwnersTables& table, const ReportWriter& reports, const Verb& verb) {
  std::vector<std::string> named;
  const Result<CheckedPiece> piece = check_and_report(options.files.front(), options, table, reports, named);
  if (!piece.ok()) return complain(piece.errors(), options.json, &verb);
  const Assessment& assessment = piece->assessment;
  if (!options.json) {
    say_warnings(warnings_of(assessment), "");
    say_warnings(record_cautions(assessment, piece->job, reports.letterhead()), "");
  }
  std::string text = options.json ? to_json(assessment, piece->diagnosis) : to_text(assessment);
  if (!options.json && piece->diagnosis) text += "\n" + to_text(assessment, *piece->diagnosis);
  const int failed = answer(text);
  return failed != 0 ? failed : exit_code(assessment.verdict);
}

// A summary, and the file whose place it takes.
struct SummaryFile {
  std::string path;
  std::optional<FileState> replaced;
};

// The jobs among the files, as far as they can be read in advance; empty ones for all else.
std::vector<Job> jobs_in(const std::vector<std::string>& files) {
  std::vector<Job> jobs;
  for (const std::string& file : files) jobs.push_back(job_in(file).value_or(Job()));
  return jobs;
}

std::string ending_of(const std::string& path) { return lower_case(std::filesystem::path(path).extension().string()); }

// Names all inputs and outputs, so that a refusal comes before anything is written.
Result<void> name_files(const Options& options, const std::vector<Job>& jobs, const ReportWriter& reports, Files& files,
                        std::vector<SummaryFile>& summaries) {
  for (std::size_t i = 0; i < options.files.size(); ++i) {
    files.add_input(options.files[i]);
    for (const std::string& path : readings_paths(options.files[i], jobs[i])) files.add_input(path);
  }
  for (std::size_t i = 0; i < options.files.size(); ++i) {
    const Result<std::vector<std::string>> paths = reports.targets(options.files[i]);
    if (!paths.ok()) return paths.errors();
    for (const std::string& path : *paths) {
      if (const Result<void> added = files.add_output(path); !added) return added.errors();
      if (options.files[i] == "-") continue;  // what it holds is not known yet
      if (const auto may = files.may_write(path, report_mark(jobs[i])); !may.ok()) return may.errors();
    }
  }
  for (const std::string& path : options.summaries) {
    if (const Result<void> added = files.add_output(path); !added) return added.errors();
    Result<std::optional<FileState>> replaced = files.may_write(path);
    if (!replaced.ok()) return replaced.errors();
    summaries.push_back({path, *replaced});
  }
  return files.add_standard_output();
}

// ---- several pieces

// What must not be the same in two pieces of a batch.
struct Identity {
  std::string number, serial_and_state;
  std::vector<std::string> readings;  // files
};

Identity identity_of(const std::string& file, const Job& job) {
  Identity identity{.number = job.paper.number};
  if (!job.piece_record.serial.empty()) identity.serial_and_state = job.piece_record.serial + '\n' + job.piece_record.state;
  std::vector<std::string> paths = readings_paths(file, job);
  if (paths.empty() && file != "-") paths = {file};  // readings themselves, or in the job
  std::error_code ignored;
  for (const std::string& path : paths) identity.readings.push_back(std::filesystem::weakly_canonical(path, ignored).string());
  return identity;
}

// Two reports of one number could not be told apart.
Result<void> check_numbers(const std::vector<std::string>& files, const std::vector<Identity>& identities) {
  std::map<std::string_view, std::size_t> first;
  for (std::size_t i = 0; i < files.size(); ++i) {
    if (identities[i].number.empty()) continue;
    const auto [known, is_new] = first.emplace(identities[i].number, i);
    if (is_new || files[known->second] == files[i]) continue;
    return Error{ErrorCode::wrong_value,
                 fmt::format("the same report number as {}", printable(files[known->second], 4096)),
                 printable(identities[i].number),
                 "a number of its own for each report",
                 {files[i], 0, 0}};
  }
  return {};
}

// A piece measured twice may be meant, as found and as left, and may be a copy that was not changed.
void caution_repeated(std::vector<BatchLine>& lines, const std::vector<Identity>& identities) {
  std::map<std::string_view, std::size_t> serials, files;
  const auto note = [&](std::map<std::string_view, std::size_t>& known, std::string_view what, std::size_t i, std::string_view is) {
    const auto [first, is_new] = known.emplace(is, i);
    if (!is_new && first->second != i)
      lines[i].cautions.push_back(fmt::format("{} as {}", what, printable(lines[first->second].name, 4096)));
    return is_new || first->second == i;
  };
  for (std::size_t i = 0; i < lines.size(); ++i) {
    if (!lines[i].verdict) continue;
    if (!identities[i].serial_and_state.empty()) note(serials, "the same serial number", i, identities[i].serial_and_state);
    for (const std::string& file : identities[i].readings) {
      if (!note(files, "the same file of readings", i, file)) break;  // one sentence is enough
    }
  }
}

// `files`: with what a job from standard input named, which was not known before.
Result<void> write_summaries(const std::vector<SummaryFile>& summaries, const std::vector<BatchLine>& lines, const Files& files) {
  for (const SummaryFile& file : summaries) {
    if (const auto may = files.may_write(file.path); !may.ok()) return may.errors();
    if (Result<void> written =
            write_file(file.path, ending_of(file.path) == ".csv" ? to_csv(lines) : to_text(lines), file.replaced);
        !written)
      return written;
  }
  return {};
}

// What is kept of the pieces: the line and the confidence figures of each, or everything for JSON.
struct Batch {
  Batch(const Options& options, const Letterhead& printed)
      : letterhead(printed), lines(options.files.size()), how_sure(lines.size()), errors(lines.size()), named(lines.size()) {
    if (options.json) pieces.resize(lines.size(), {"", Error{}});
  }

  void take(std::size_t i, const std::string& name, Result<CheckedPiece> piece, std::optional<ComparedVerdict> compared) {
    if (!piece.ok()) errors[i] = piece.errors();
    const Job job = piece.ok() ? std::move(piece->job) : Job();
    std::optional<Diagnosis> diagnosis = piece.ok() ? std::move(piece->diagnosis) : std::nullopt;
    Result<Assessment> result = piece.ok() ? Result<Assessment>(std::move(piece->assessment)) : piece.errors();
    lines[i] = summarize(name, result, job);
    if (result.ok()) std::ranges::copy(record_cautions(*result, job, letterhead), std::back_inserter(lines[i].cautions));
    lines[i].compared = compared;
    if (!pieces.empty()) {
      pieces[i] = {name, std::move(result), std::move(diagnosis), std::move(compared)};
    } else if (diagnosis) {
      how_sure[i] = fmt::format("\n{}\n{}", printable(name, 4096), to_text(*result, *diagnosis));
    }
  }

  const Letterhead& letterhead;
  std::vector<BatchLine> lines;
  std::vector<std::string> how_sure;
  std::vector<Errors> errors;
  std::vector<std::vector<std::string>> named;  // files that the jobs named
  std::vector<BatchPiece> pieces;
};

// The worst verdict of pieces that were all checked: conforms < undecided < does not conform.
int worst(const std::vector<BatchLine>& lines) {
  Verdict verdict = Verdict::conforms;
  for (const BatchLine& line : lines) verdict = std::max(verdict, *line.verdict);
  return exit_code(verdict);
}

// The verdict by the other edition on the piece that was just checked, whose size may have another name there. A piece that could
// not be checked is compared under its own name of the size.
std::optional<ComparedVerdict> compare(const std::string& file, const Options& options, const OwnersTables& table,
                                       const Result<CheckedPiece>& piece) {
  if (options.compare_standard.empty()) return std::nullopt;
  CheckOptions other = options.check;
  other.standard = options.compare_standard;
  other.for_report = false;
  other.keep_readings = 0;
  other.how_sure = false;
  if (piece.ok()) other.size = to_text(piece->assessment.specification.row->nominal);
  std::vector<std::string> named;
  Result<CheckedFile> checked = check_file(file, other, table, named);
  return compared_verdict(other.standard,
                          checked.ok() ? Result<Assessment>(std::move(checked->piece.assessment)) : checked.errors());
}

// Each file is checked, and its reports made, by one thread.
Batch check_files(const Options& options, const OwnersTables& table, const ReportWriter& reports, Files& files) {
  Options of_piece = options;
  of_piece.check.threads = 1;
  Batch batch(options, reports.letterhead());
  const auto check = [&](std::size_t i) {
    Result<CheckedPiece> piece = check_and_report(options.files[i], of_piece, table, reports, batch.named[i]);
    std::optional<ComparedVerdict> compared = compare(options.files[i], of_piece, table, piece);
    batch.take(i, options.files[i], std::move(piece), std::move(compared));
  };
  // What a job from standard input names is not known before: it comes first, so that no other report takes its place.
  const auto piped = static_cast<std::size_t>(std::find(options.files.begin(), options.files.end(), "-") - options.files.begin());
  if (piped < options.files.size()) {
    check(piped);
    for (const std::string& path : batch.named[piped]) files.add_input(path);
  }
  std::atomic<std::size_t> next = 0;
  std::mutex mutex;
  std::exception_ptr exception;
  const auto work = [&] {
    try {
      for (std::size_t i = next++; i < options.files.size(); i = next++) {
        if (i != piped) check(i);
      }
    } catch (...) {
      const std::lock_guard lock(mutex);
      exception = std::current_exception();
      next = options.files.size();
    }
  };
  {
    const std::size_t threads = std::min<std::size_t>(options.check.threads, options.files.size());
    std::vector<std::jthread> others;
    try {
      for (std::size_t i = 1; i < threads; ++i) others.emplace_back(work);
    } catch (const std::system_error&) {
      // continue with fewer threads
    }
    work();
  }
  if (exception) std::rethrow_exception(exception);
  return batch;
}

int check_batch(const Options& options, const std::vector<Job>& jobs, const OwnersTables& table, const ReportWriter& reports,
                const std::vector<SummaryFile>& summaries, Files& files) {
  std::vector<Identity> identities;
  for (std::size_t i = 0; i < jobs.size(); ++i) identities.push_back(identity_of(options.files[i], jobs[i]));
  if (const Result<void> unique = check_numbers(options.files, identities); !unique) return complain(unique.errors(), options.json);
  Batch batch = check_files(options, table, reports, files);
  caution_repeated(batch.lines, identities);
  Errors errors;
  for (std::size_t i = 0; i < batch.lines.size(); ++i) {
    errors.insert(errors.end(), batch.errors[i].begin(), batch.errors[i].end());
    if (!options.json) say_warnings(batch.lines[i].cautions, printable(batch.lines[i].name, 4096) + ": ");
  }
  if (const Result<void> written = write_summaries(summaries, batch.lines, files); !written) errors.push_back(written.error());
  if (!errors.empty()) complain(errors, options.json);
  const int failed =
      answer(options.json ? to_json(batch.pieces) : fmt::format("{}{}", to_text(batch.lines), fmt::join(batch.how_sure, "")));
  if (failed != 0) return failed;
  return errors.empty() ? worst(batch.lines) : exit_code(errors.front());
}

Result<void> check_summaries(const std::vector<std::string>& paths) {
  for (const std::string& path : paths) {
    const std::string ending = ending_of(path);
    if (path != "-" && (ending.empty() || ending == ".csv" || ending == ".txt")) continue;
    return Error{ErrorCode::option_value,
                 "--summary: neither a table nor a text",
                 printable(path),
                 "a name that ends in .csv or .txt; --json prints one document on standard output",
                 {}};
  }
  return {};
}

// Whether the other edition is there, before anything is judged by it.
Result<void> check_other_standard(const Options& options, const OwnersTables& table) {
  if (options.compare_standard.empty()) return {};
  const Result<const Edition*> other = find_edition(options.compare_standard, owners_editions(table));
  if (!other.ok()) return other.errors();
  if (std::find(options.files.begin(), options.files.end(), "-") == options.files.end()) return {};
  return Error{ErrorCode::option_conflict, "--compare-standard: standard input can be read only once", "-", "files", {}};
}

int run(Options options, const Verb& verb) {
  const Result<OwnersTables> table = read_owners_tables(options.tables);
  if (!table.ok()) return complain(table.errors(), options.json);
  if (const Result<void> named = check_summaries(options.summaries); !named) return complain(named.errors(), options.json, &verb);
  Files files(options.overwrite);
  const Result<ReportWriter> reports = ReportWriter::make(options.report, files);
  if (!reports.ok()) return complain(reports.errors(), options.json, &verb);
  for (const std::string& path : options.tables) files.add_input(path);
  if (const Result<void> other = check_other_standard(options, *table); !other)
    return complain(other.errors(), options.json, &verb);
  const bool batch = options.files.size() > 1 || !options.summaries.empty();
  const bool writes = reports->wanted() || !options.summaries.empty() || Files::standard_output_is_a_file();
  std::vector<Job> jobs;
  if (batch || writes) jobs = jobs_in(options.files);
  std::vector<SummaryFile> summaries;
  if (writes) {
    if (const Result<void> named = name_files(options, jobs, *reports, files, summaries); !named)
      return complain(named.errors(), options.json, &verb);
  }
  options.check.laboratory = reports->record();
  options.check.budget = reports->budget();
  options.check.for_report = reports->wanted();
  options.check.keep_readings = reports->keep_readings();
  return batch ? check_batch(options, jobs, *table, *reports, summaries, files) : check_one(options, *table, *reports, verb);
}

std::vector<Option> report_options(Options& options) {
  ReportOptions& report = options.report;
  return {
      {"--report", &report.files, "A report; .pdf, .html, .json, .txt or .md. {} stands for the name of the piece's file"},
      {"--annex", &report.annex, "List all readings in the reports", {.one_of = {"readings"}}},
      {"--short",
       &report.short_form,
       "What is required on one page, for customers who agreed to it",
       {.excludes = {"--annex", "--how-sure", "--opinions"}}},
      {"--opinions", &report.opinions, "Signs of weave faults on a certificate too"},
      {"--laboratory", &report.laboratory, "The laboratory's branding on reports, as YAML"},
      {"--language", &report.language, "Words of reports in another language, as YAML"},
      {"--template", &report.templates, "Mustache template for the reports of the same ending"},
      {"--summary", &options.summaries, "A line for each piece: verdict, what is open and why, worst margin; .csv or .txt"},
      {"--compare-standard",
       &options.compare_standard,
       "Another edition, whose verdict stands beside that of --standard; it changes no exit code",
       {.needs = {"--summary"}}},
      {"--overwrite", &options.overwrite, "Replace files that are there, other than drafts and the same report of the same piece"}};
}

}  // namespace

Verb check_verb() {
  const auto options = std::make_shared<Options>();
  options->check.threads = available_processors();
  Verb verb{"check",
            "Checks the readings of one piece, or of several, against a size of an edition.",
            "  sievecloth check readings.csv --standard astm-e11-17 --size \"No. 200\" --grade inspection --viewing passed\n"
            "  sievecloth check job.yaml --report job.pdf\n"
            "  sievecloth check jobs/*.yaml --report reports/{}.pdf --summary summary.csv",
            {{"FILE", &options->files, "Readings as CSV, or a job file; - is standard input", {.required = true}}},
            [options](const Verb& check) { return run(*options, check); }};
  append(verb.options, check_options(options->check, options->tables));
  append(verb.options, {{"--decision",
                         &options->check.decision,
                         "Decision rule; the uncertainty is given in the job file",
                         {.one_of = {"simple-acceptance", "guarded-acceptance", "four-outcomes"}}},
                        {"--how-sure", &options->check.how_sure,
                         "Add uncertainty and confidence intervals, and what the readings say about the loom"},
                        {"--contiguous",
                         &options->check.contiguous,
                         "The readings follow each other on the cloth, gap by gap",
                         {.needs = {"--how-sure"}}},
                        {"--threads",
                         &options->check.threads,
                         "Reader threads; results do not depend on it",
                         {.within = Range{1, k_most_threads}, .otherwise = "the processors available"}},
                        {"--json", &options->json, "One JSON document"}});
  append(verb.options, report_options(*options));
  return verb;
}

}  // namespace sievecloth::tool
