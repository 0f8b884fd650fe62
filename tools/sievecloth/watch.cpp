// sievecloth watch: the verdict so far, while readings still come.
#include <chrono>
#include <memory>
#include <thread>

#include <fmt/format.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "check/different_wires.hpp"
#include "files.hpp"
#include "followed_file.hpp"
#include "input.hpp"
#include "owners_table.hpp"
#include "piece.hpp"
#include "report/json_parts.hpp"
#include "sievecloth/inspector.hpp"
#include "sievecloth/readings_csv.hpp"
#include "sievecloth/report.hpp"
#include "verbs.hpp"

namespace sievecloth::tool {
namespace {

struct Options {
  std::string file = "-";
  std::vector<std::string> tables;
  CheckOptions check;
  std::int64_t planned = 0;
  std::int64_t every = 100;
  double follow = 0;
  bool stop_early = false;
};

void write_figures(JsonWriter& json, Direction direction, const Summary& summary) {
  json.object(to_text(direction), [&] {
    json.member("n", summary.count());
    json.member("mean_um", summary.mean_um());
    json.member("standard_deviation_um", summary.standard_deviation_um());
    if (summary.empty()) return;
    json.member("minimum_um", summary.minimum());
    json.member("maximum_um", summary.maximum());
  });
}

std::string figures_text(const Inspector& inspector, Direction direction) {
  const Summary& apertures = inspector.sample()[direction].aperture;
  std::string text = fmt::format("{} {}", to_text(direction), apertures.count());
  if (const auto& planned = inspector.conditions().planned) text += fmt::format("/{}", (*planned)[direction]);
  if (const auto mean = apertures.mean_um()) text += fmt::format(" mean {:.2f}", *mean);
  if (const auto s = apertures.standard_deviation_um()) text += fmt::format(" s {:.2f}", *s);
  if (!apertures.empty()) text += fmt::format(" max {:.2f}", apertures.maximum().um());
  return text;
}

constexpr std::string_view k_again = "\r\x1b[K";  // return to the start of the line and clear it

std::size_t terminal_width() {
  struct winsize size {};
  return ::ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0 ? size.ws_col : 80;
}

/// Adds rows and reports the standing: one line that is overwritten on a terminal, JSON lines otherwise.
class Watch {
 public:
  Watch(const Inspector& inspector, const Options& options)
      : inspector_(inspector), options_(options), terminal_(::isatty(STDOUT_FILENO) == 1) {
    show();
  }

  void take(const Reading& reading) {
    if (stopped()) return;
    const Quantity aperture = reading.role == Role::suspect ? Quantity::suspect : Quantity::aperture;
    if (reading.aperture) (void)inspector_.add(aperture, reading.direction, *reading.aperture);  // the reader has checked its range
    if (reading.wire) {
      (void)inspector_.add(Quantity::wire, reading.direction, *reading.wire);
      wires_[reading.direction].add(reading.gap.value_or(k_no_gap));
    }
    ++rows_;
    const bool failed_before = standing_.rejected;
    standing_ = inspector_.standing();
    const bool has_failed = standing_.rejected && !failed_before;
    if (!terminal_ && (rows_ % options_.every == 0 || has_failed)) failed_ = answer(json_line(nullptr));
  }

  /// Updates the line on a terminal.
  void show() {
    if (terminal_ && failed_ == 0) failed_ = answer(std::string(k_again) + status_line());
  }

  /// Clears the line on a terminal before other output.
  void wipe() const {
    if (terminal_) (void)answer(k_again);
  }

  /// True if rejected with --stop-early, or if output failed.
  bool stopped() const { return failed_ != 0 || (options_.stop_early && standing_.rejected); }

  // What the answer says about how the text was read.
  void note(const CsvReader& reader) {
    ignored_columns_ = reader.ignored_columns();
    compares_positions_ = reader.compares_positions();
  }

  int finish() {
    if (failed_ != 0) return failed_;
    for (const Direction direction : k_directions) {
      if (const auto different = wires_[direction].count()) inspector_.set_different_wires(direction, *different);
    }
    Result<Assessment> assessment = inspector_.finish();
    if (!assessment.ok()) return complain(assessment.errors(), false);
    assessment->ignored_columns = ignored_columns_;
    if (!compares_positions_) assessment->warnings.push_back({.kind = Warning::Kind::positions_not_compared});
    if (terminal_) {
      for (const Warning& warning : assessment->warnings) say(fmt::format("warning: {}", to_text(warning, *assessment)));
    }
    const int failed = answer(terminal_ ? to_text(*assessment) : json_line(&*assessment));
    return failed != 0 ? failed : exit_code(assessment->verdict);
  }

 private:
  // Never longer than the terminal is wide, or it could not be overwritten.
  std::string status_line() const {
    const std::string standing = !standing_.rejected ? "open" : fmt::format("FAILED: {}", to_text(standing_.criterion));
    const std::string line = fmt::format("{} | {} | {} um", standing, figures_text(inspector_, Direction::warp),
                                         figures_text(inspector_, Direction::weft));
    return line.substr(0, terminal_width() - 1);
  }

  std::string json_line(const Assessment* assessment) const {
    JsonText json(JsonText::Layout::line);
    json.object([&] {
      json.member("schema", "sievecloth-watch/1");
      json.member("rows", rows_);
      json.member("standing", standing_.rejected ? "failed" : "open");
      if (standing_.rejected) json.member("criterion", to_text(standing_.criterion));
      if (standing_.direction) json.member("direction", to_text(*standing_.direction));
      for (const Direction direction : k_directions) write_figures(json, direction, inspector_.sample()[direction].aperture);
      if (assessment == nullptr) return;
      json.member("verdict", to_text(assessment->verdict));
      json.member("provisional", assessment->provisional);
      write_remarks(json, *assessment);
    });
    return json.text();
  }

  Inspector inspector_;
  const Options& options_;
  bool terminal_;
  std::int64_t rows_ = 0;
  Standing standing_;
  PerDirection<DifferentWires> wires_;
  std::vector<std::string> ignored_columns_;
  bool compares_positions_ = true;
  int failed_ = 0;  // exit code of output that failed
};

/// Waits at the end of a growing file, until nothing arrives for the given time, or Ctrl-C.
class Patience {
 public:
  explicit Patience(double seconds) : naps_(static_cast<std::int64_t>(seconds * 20)) {}
  void something_came() { slept_ = 0; }
  bool wait() {
    if (slept_ >= naps_ || interrupted()) return false;
    ++slept_;
    std::this_thread::sleep_for(std::chrono::milliseconds(50));
    return true;
  }

 private:
  std::int64_t naps_;
  std::int64_t slept_ = 0;
};

// Stops at the first error: no verdict can rest on rows of which some were not understood. A row cut off by Ctrl-C is discarded.
int follow(Watch& watch, const Job& job, const Options& options) {
  // How the bytes arrive must not matter: rows behind an error or the end are in the same block or in none.
  const CsvReader* so_far = nullptr;
  CsvReader reader(csv_options_of(job, options.file), [&](const Reading& reading) {
    if (!so_far->has_complaints() && !watch.stopped()) watch.take(reading);
  });
  so_far = &reader;
  Patience patience(options.follow);
  end_input_on_interrupt();
  const auto take = [&](std::string_view block) {
    patience.something_came();
    (void)reader.feed(block);
    watch.show();
    return !reader.has_complaints() && !watch.stopped();
  };
  const Result<void> end =
      options.follow > 0 ? follow_file(options.file, take, [&] { return patience.wait(); }) : read_blocks(options.file, take);
  watch.wipe();
  watch.note(reader);
  if (!end.ok()) return complain(end.errors(), false);
  if (watch.stopped() || (interrupted() && !reader.has_complaints())) return watch.finish();
  const Result<std::int64_t> rows = reader.finish();
  return rows.ok() || watch.stopped() ? watch.finish() : complain(rows.errors(), false);
}

int run(const Options& options, const Verb& verb) {
  if (options.follow > 0 && options.check.last_line) {  // a row still being written would be read as complete
    return complain({{ErrorCode::option_conflict, "--last-line cannot be used while a file grows", "--follow", "one of them", {}}},
                    false, &verb);
  }
  if (const Result<void> apart = keep_answer_apart(options.file); !apart) return complain(apart.errors(), false);
  const Result<OwnersTables> table = read_owners_tables(options.tables);
  if (!table.ok()) return complain(table.errors(), false);
  const Result<Job> job = job_with(Job(), options.check);
  if (!job.ok()) return complain(job.errors(), false, &verb);
  const Result<Specification> specification = find_specification(*job, owners_editions(*table));
  if (!specification.ok()) return complain(specification.errors(), false, &verb);
  Result<Conditions> conditions = conditions_of(*job);
  if (!conditions.ok()) return complain(conditions.errors(), false, &verb);
  if (options.planned > 0) conditions->planned = {options.planned, options.planned};
  const Result<Inspector> inspector = Inspector::create(*specification, *conditions);
  if (!inspector.ok()) return complain(inspector.errors(), false, &verb);
  Watch watch(*inspector, options);
  return follow(watch, *job, options);
}

}  // namespace

Verb watch_verb() {
  const auto options = std::make_shared<Options>();
  Verb verb{"watch",
            "Says how a piece stands while its readings still come.",
            "  rig | sievecloth watch --standard astm-e11-17 --size \"No. 200\" --grade inspection --stop-early\n"
            "  sievecloth watch rig.csv --follow 60 --standard astm-e11-17 --size 75um --grade inspection --planned 200",
            {{"FILE", &options->file, "Readings as CSV; - is standard input", {.otherwise = "-"}}},
            [options](const Verb& watch) { return run(*options, watch); }};
  append(verb.options, check_options(options->check, options->tables));
  append(verb.options, {{"--planned",
                         &options->planned,
                         "Apertures planned in each direction, fixed beforehand",
                         {.within = Range{1, k_most_readings}}},
                        {"--every",
                         &options->every,
                         "A line of JSON for every N rows, where the answer is no terminal",
                         {.within = Range{1, k_most_readings}, .otherwise = "100"}},
                        {"--stop-early", &options->stop_early, "Stop when no further reading can save the piece"},
                        {"--follow",
                         &options->follow,
                         "FILE grows: read on until nothing came for so many seconds",
                         {.within = Range{0, 1'000'000}}}});
  return verb;
}

}  // namespace sievecloth::tool
