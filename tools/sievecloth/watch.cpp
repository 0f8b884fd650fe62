// sievecloth watch: the verdict so far, while readings still come.
#include <chrono>
#include <csignal>
#include <memory>
#include <thread>

#include <fmt/format.h>
#include <unistd.h>

#include "input.hpp"
#include "owners_table.hpp"
#include "piece.hpp"
#include "sievecloth/inspector.hpp"
#include "sievecloth/readings_csv.hpp"
#include "sievecloth/report.hpp"
#include "verbs.hpp"

namespace sievecloth::tool {
namespace {

struct Options {
  std::string file = "-";
  std::string tables;
  CheckOptions check;
  std::int64_t planned = 0;
  std::int64_t every = 100;
  double follow = 0;
  bool stop_early = false;
};

volatile std::sig_atomic_t interrupted = 0;

Error missing(std::string_view option, std::string expected) {
  return {ErrorCode::option_missing, fmt::format("{} is missing", option), "", std::move(expected), {}};
}

Result<Specification> find_specification(const CheckOptions& options, const std::optional<TableFile>& table) {
  if (options.standard.empty()) return missing("--standard", "an edition, as `sievecloth editions` lists them");
  if (options.size.empty()) return missing("--size", "a size such as \"No. 200\" or 75um");
  const bool own = table && table->edition().name == options.standard;
  const Result<const Edition*> edition = own ? &table->edition() : find_edition(options.standard);
  if (!edition.ok()) return edition.errors();
  if (options.grade.empty()) return specify(**edition, options.size, std::nullopt);
  const Result<Grade> grade = parse_grade(options.grade);
  if (!grade.ok()) return grade.errors();
  return specify(**edition, options.size, *grade);
}

Conditions conditions_of(const Options& options) {
  Conditions conditions{.measured_only = options.check.measured_only,
                        .apertures_only = options.check.apertures_only,
                        .only_seen = options.check.only_seen};
  if (!options.check.viewing.empty()) conditions.viewing_passed = options.check.viewing == "passed";
  if (options.planned > 0) conditions.planned = {options.planned, options.planned};
  return conditions;
}

CsvOptions csv_options(const Options& options) {
  CsvOptions csv{.ignore_columns = options.check.ignore_columns, .file = options.file};
  for (const Unit unit : {Unit::micrometre, Unit::millimetre, Unit::inch}) {
    if (options.check.unit == to_text(unit)) csv.unit = unit;
  }
  return csv;
}

std::string figures_json(const Summary& summary) {
  std::string json = fmt::format("{{\"n\":{}", summary.count());
  if (const auto mean = summary.mean_um()) json += fmt::format(",\"mean_um\":{}", *mean);
  if (const auto s = summary.standard_deviation_um()) json += fmt::format(",\"standard_deviation_um\":{}", *s);
  if (!summary.empty()) json += fmt::format(",\"minimum_um\":{},\"maximum_um\":{}", summary.minimum().um(), summary.maximum().um());
  return json + "}";
}

std::string figures_text(const Summary& summary) {
  if (summary.count() < 2) return fmt::format("n {}", summary.count());
  return fmt::format("n {} mean {:.2f} s {:.2f} largest {:.2f} um", summary.count(), *summary.mean_um(),
                     *summary.standard_deviation_um(), summary.maximum().um());
}

/// Takes rows and says how things stand: one line that is written over on a terminal, JSON lines anywhere else.
class Watch {
 public:
  Watch(Inspector inspector, const Options& options)
      : inspector_(std::move(inspector)), options_(options), terminal_(::isatty(STDOUT_FILENO) == 1) {}

  void take(const Reading& reading) {
    if (stopped()) return;
    const Quantity aperture = reading.role == Role::suspect ? Quantity::suspect : Quantity::aperture;
    if (reading.aperture) (void)inspector_.add(aperture, reading.direction, *reading.aperture);  // the reader has checked its range
    if (reading.wire) (void)inspector_.add(Quantity::wire, reading.direction, *reading.wire);
    ++rows_;
    const bool failed_before = standing_.failed_for_good;
    standing_ = inspector_.standing();
    if (rows_ % options_.every == 0 || standing_.failed_for_good != failed_before) say_standing();
  }

  /// Failed for good, and asked to stop then; or the answers cannot be written any more.
  bool stopped() const { return failed_ != 0 || (options_.stop_early && standing_.failed_for_good); }

  int finish() {
    if (failed_ != 0) return failed_;
    const Result<Assessment> assessment = inspector_.finish();
    if (!assessment.ok()) return complain(assessment.errors(), false);
    const int failed = answer(terminal_ ? "\r\x1b[K" + to_text(*assessment) : json_line(&*assessment));
    return failed != 0 ? failed : exit_code(assessment->verdict);
  }

 private:
  void say_standing() { failed_ = answer(terminal_ ? "\r\x1b[K" + status_line() : json_line(nullptr)); }

  std::string status_line() const {
    const Sample& sample = inspector_.sample();
    const std::string standing = !standing_.failed_for_good ? "open" : fmt::format("FAILED: {}", to_text(standing_.criterion));
    return fmt::format("{} | warp {} | weft {}", standing, figures_text(sample[Direction::warp].aperture),
                       figures_text(sample[Direction::weft].aperture));
  }

  // Every member is a number or a fixed word, so that nothing needs to be escaped.
  std::string json_line(const Assessment* assessment) const {
    std::string json = fmt::format("{{\"schema\":\"sievecloth-watch/1\",\"rows\":{},\"standing\":\"{}\"", rows_,
                                   standing_.failed_for_good ? "failed" : "open");
    if (standing_.failed_for_good) json += fmt::format(",\"criterion\":\"{}\"", to_text(standing_.criterion));
    if (standing_.direction) json += fmt::format(",\"direction\":\"{}\"", to_text(*standing_.direction));
    for (const Direction direction : k_directions) {
      json += fmt::format(",\"{}\":{}", to_text(direction), figures_json(inspector_.sample()[direction].aperture));
    }
    if (assessment != nullptr)
      json += fmt::format(",\"verdict\":\"{}\",\"provisional\":{}", to_text(assessment->verdict), assessment->provisional);
    return json + "}\n";
  }

  Inspector inspector_;
  const Options& options_;
  bool terminal_;
  std::int64_t rows_ = 0;
  Standing standing_;
  int failed_ = 0;  // exit code of an answer that could not be written
};

/// At the end of a growing file: sleeps, until nothing has come for the time given, or Ctrl-C.
class Patience {
 public:
  explicit Patience(double seconds) : naps_(static_cast<std::int64_t>(seconds * 20)) {
    if (seconds > 0) std::signal(SIGINT, [](int) { interrupted = 1; });
  }
  void something_came() { slept_ = 0; }
  bool wait() {
    if (slept_ >= naps_ || interrupted != 0) return false;
    ++slept_;
    std::this_thread::sleep_for(std::chrono::milliseconds(50));
    return true;
  }

 private:
  std::int64_t naps_;
  std::int64_t slept_ = 0;
};

int run(const Options& options, const CLI::App& verb) {
  const Result<std::optional<TableFile>> table = read_owners_table(options.tables);
  if (!table.ok()) return complain(table.errors(), false);
  const Result<Specification> specification = find_specification(options.check, *table);
  if (!specification.ok()) return complain(specification.errors(), false, &verb);
  const Result<Inspector> inspector = Inspector::create(*specification, conditions_of(options));
  if (!inspector.ok()) return complain(inspector.errors(), false, &verb);

  Watch watch(*inspector, options);
  CsvReader reader(csv_options(options), [&](const Reading& reading) { watch.take(reading); });
  Patience patience(options.follow);
  const Result<bool> end = read_blocks(
      options.file,
      [&](std::string_view block) {
        patience.something_came();
        return reader.feed(block) && !watch.stopped();
      },
      [&] { return patience.wait(); });
  if (!end.ok()) return complain(end.errors(), false);
  if (watch.stopped()) return watch.finish();
  const Result<std::int64_t> rows = reader.finish();
  return rows.ok() || watch.stopped() ? watch.finish() : complain(rows.errors(), false);
}

}  // namespace

void add_watch(CLI::App& app, int& exit) {
  CLI::App* verb =
      add_verb(app, "watch", "Says how a piece stands while its readings still come.",
               "  rig | sievecloth watch --standard astm-e11-17 --size \"No. 200\" --grade inspection --stop-early\n"
               "  sievecloth watch rig.csv --follow 60 --standard astm-e11-17 --size 75um --grade inspection --planned 200");
  const auto options = std::make_shared<Options>();
  verb->add_option("FILE", options->file, "Readings as CSV; - is standard input")->capture_default_str();
  add_check_options(*verb, options->check, options->tables);
  verb->add_option("--planned", options->planned, "Apertures planned in each direction, fixed beforehand")
      ->check(CLI::Range(std::int64_t{1}, k_most_readings));
  verb->add_option("--every", options->every, "A line for every N rows; JSON unless on a terminal")
      ->check(CLI::Range(std::int64_t{1}, k_most_readings))
      ->capture_default_str();
  verb->add_flag("--stop-early", options->stop_early, "Stop when no further reading can save the piece");
  verb->add_option("--follow", options->follow, "FILE grows: read on until nothing came for so many seconds")
      ->check(CLI::Range(0.0, 1e6));
  verb->callback([options, verb, &exit] { exit = run(*options, *verb); });
}

}  // namespace sievecloth::tool
