#include "sievecloth/check.hpp"

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

#include <fmt/format.h>
#include <boost/container_hash/hash.hpp>

#include "base/text.hpp"
#include "check/chart_readings.hpp"
#include "check/corrections.hpp"
#include "check/different_wires.hpp"
#include "check/repeated_runs.hpp"
#include "check/uncertainty_terms.hpp"
#include "measurement/csv/positions.hpp"
#include "measurement/suspect_names.hpp"
#include "sievecloth/readings_binary.hpp"

namespace sievecloth {
namespace {

Errors placed(Errors errors, const Where& where) {
  for (Error& error : errors) {
    if (error.where.file.empty()) error.where = where;
  }
  return errors;
}

// Worded for the tool, which reports this most often: a rig finds the member of the same name in Job.
Error missing(std::string_view what, std::string expected) {
  return {ErrorCode::option_missing, fmt::format("--{} is missing", what), "", std::move(expected), {}};
}

// An agreed count is only for editions whose own is unknown.
Result<void> check_agreed_count(const Job& job, const Specification& specification) {
  if (!job.agreed_count || !specification.row->counts[specification.lookup_grade()]) return {};
  return Error{ErrorCode::option_conflict,
               fmt::format("{} has a count of its own for {}", specification.edition->title, specification.row->designation),
               job.agreed_count->where.file.empty() ? "--agreed-count" : "agreed_count", "no agreed count",
               job.agreed_count->where};
}

Error impossible(std::string_view what, std::string expected) {
  return {ErrorCode::option_value, fmt::format("a {} that cannot be", what), "", std::move(expected), {}};
}

// Values that the job file reader would refuse but a rig may have set.
Result<void> check_sources(const Job& job) {
  const UncertaintySources& sources = job.uncertainty;
  const auto negative = [](const std::optional<Length>& length) { return length && *length < Length(); };
  if (sources.resolution && *sources.resolution <= Length()) return impossible("resolution", "above 0");
  if (sources.scale_factor && !(*sources.scale_factor >= 0 && *sources.scale_factor <= 1))
    return impossible("factor of the scale", "0 to 1");
  if (negative(sources.scale_offset)) return impossible("offset of the scale", "0 or more");
  if (negative(sources.repeatability)) return impossible("repeatability", "0 or more");
  if (sources.repeatability_readings.value_or(2) < 2) return impossible("number of repeated readings", "2 or more");
  if (job.guard_factor && !(*job.guard_factor >= 0 && *job.guard_factor <= k_most_guard_factor))
    return impossible("guard factor", fmt::format("0 to {}", k_most_guard_factor));
  if (job.process &&
      !(std::isfinite(job.process->mean) && job.process->standard_deviation > 0 && std::isfinite(job.process->standard_deviation)))
    return impossible("process", "a mean, and a standard deviation above 0");
  return {};
}

/// A source whose first bytes can be inspected in advance.
class LookedAt {
 public:
  explicit LookedAt(const ByteSource& source) : source_(source) {}

  /// True if the bytes begin with `mark`.
  Result<bool> begins_with(std::string_view mark) {
    head_.resize(mark.size());
    std::size_t size = 0;
    while (size < mark.size()) {
      const Result<std::size_t> read = take(std::span(head_).subspan(size));
      if (!read.ok()) return read.errors();
      if (*read == 0) break;
      size += *read;
    }
    head_.resize(size);
    return head_ == mark;
  }

  Result<std::size_t> operator()(std::span<char> to) {
    const std::size_t size = std::min(head_.size() - given_, to.size());
    std::copy_n(head_.data() + given_, size, to.data());
    given_ += size;
    return size > 0 || to.empty() ? Result<std::size_t>(size) : take(to);
  }

 private:
  Result<std::size_t> take(std::span<char> to) {
    Result<std::size_t> read = source_(to);
    if (read.ok() && *read > to.size())
      return Error{ErrorCode::read_failed, "a source gave more bytes than were asked for", "", "", {}};
    return read;
  }

  const ByteSource& source_;
  std::string head_;
  std::size_t given_ = 0;
};

/// Adds up the readings of one piece and collects what was requested of them.
class PieceCheck {
 public:
  PieceCheck(const Job& job, const Specification& specification, const Conditions& conditions, const CheckSettings& settings)
      : job_(job),
        specification_(specification),
        conditions_(conditions),
        settings_(settings),
        corrections_(job),
        chart_readings_(settings.keep_readings) {
    evidence_.sample = make_sample(specification);
    reading_guard_ = make_guards(uncertainties_of({}), guard_factor()).reading;
    if (settings.diagnose) observations_.emplace(observation_settings(specification, job.contiguous));
  }

  // Reads one file after the other, and all of them where some have errors.
  Result<ReadRows> read(std::span<const ReadingsFile> files) {
    ReadRows all;
    Errors errors;
    several_files_ = files.size() > 1;
    for (const ReadingsFile& file : files) {
      content_ = {};
      repeated_runs_.begin_file();
      CsvOptions csv = csv_options_of(job_, file.name);
      csv.direction = file.direction;
      lines_before_.push_back(all.last_line);
      const Result<ReadRows> rows = read(file.bytes, csv);
      if (rows.ok()) {
        append(all, *rows);
        if (const Result<void> fresh = check_fresh(file.name); !fresh) return fresh.errors();
        if (const Result<void> fresh = check_overlap(files); !fresh) return fresh.errors();
      } else {
        errors.insert(errors.end(), rows.errors().begin(), rows.errors().end());
      }
      if (errors.size() >= k_most_complaints) break;
      if (all.rows > k_most_readings)  // the sample takes no more
        return Error{ErrorCode::too_many_readings, "too many readings for one piece", "", "at most 10^10", {file.name, 0, 0}};
    }
    errors.resize(std::min<std::size_t>(errors.size(), k_most_complaints));
    if (!errors.empty()) return errors;
    if (const Result<void> found = corrections_.check(); !found) return found.errors();
    evidence_.sample.set_named_suspects(suspects_.count());
    for (const Direction direction : k_directions) evidence_.different_wires[direction] = different_wires_[direction].count();
    return all;
  }

  Result<CheckedPiece> judge(ReadRows rows) {
    for (const Direction direction : k_directions) {
      evidence_.uncertainty[direction] = uncertainties_of(evidence_.sample[direction]);
      if (conditions_.decision == DecisionRule::simple) continue;
      evidence_.guards[direction] = make_guards(evidence_.uncertainty[direction], guard_factor());
      evidence_.guards[direction].reading = reading_guard_;  // at w + X, known before the first reading
    }
    Result<Assessment> assessment = assess(specification_, evidence_, conditions_);
    if (!assessment.ok()) return assessment.errors();
    if (const Result<void> plausible = check_uncertainties(job_, *assessment); !plausible) return plausible.errors();
    warn_of_uncertainties(*assessment);
    assessment->ignored_columns = std::move(rows.ignored_columns);
    if (const auto& repeat = repeated_runs_.within_file())
      assessment->warnings.push_back(
          {.kind = Warning::Kind::repeated_run, .line = repeat->line, .earlier_line = repeat->earlier_line});
    if (!rows.positions_compared) assessment->warnings.push_back({.kind = Warning::Kind::positions_not_compared});
    CheckedPiece piece{*std::move(assessment),  job_, std::nullopt, chart_readings_.take(), chart_readings_.rows(),
                       std::move(lines_before_)};
    if (observations_) piece.diagnosis = diagnose(piece.assessment, *observations_, diagnosis_settings());
    return piece;
  }

 private:
  /// What the readings of one file are, in their order.
  struct Content {
    std::size_t hash = 0;
    std::int64_t readings = 0;
    std::string file;
  };

  void add_to_content(Direction direction, Length aperture, Length wire) {
    for (const std::int64_t part : {static_cast<std::int64_t>(direction), aperture.pm(), wire.pm()})
      boost::hash_combine(content_.hash, part);
    ++content_.readings;
  }

  // The same table, saved in another way, would count twice: no two files of so many readings agree in all of them by chance.
  Result<void> check_fresh(const std::string& name) {
    constexpr std::int64_t k_fewest = 10;
    content_.file = name;
    const auto same = std::find_if(contents_.begin(), contents_.end(), [&](const Content& other) {
      return other.hash == content_.hash && other.readings == content_.readings;
    });
    if (same != contents_.end() && content_.readings >= k_fewest) {
      return Error{ErrorCode::wrong_value,
                   fmt::format("the same readings as {}, in the same order, which would count twice", printable(same->file, 4096)),
                   "",
                   "each file of readings once",
                   {name, 0, 0}};
    }
    contents_.push_back(content_);
    return {};
  }

  // A file that was saved while it grew holds the readings of the shorter one too.
  Result<void> check_overlap(std::span<const ReadingsFile> files) const {
    const auto& repeat = repeated_runs_.across_files();
    if (!repeat) return {};
    const std::size_t file = lines_before_.size() - 1;
    const std::int64_t earlier_line = repeat->earlier_line - lines_before_[repeat->earlier_file - 1];
    return Error{ErrorCode::wrong_value,
                 fmt::format("the apertures up to this line are those up to line {} of {}, which would count twice", earlier_line,
                             printable(files[repeat->earlier_file - 1].name, 4096)),
                 "",
                 "each reading once",
                 {files[file].name, repeat->line - lines_before_[file], 0}};
  }

  static void append(ReadRows& all, const ReadRows& rows) {
    all.rows += rows.rows;
    all.last_line += rows.last_line;
    all.positions_compared = all.positions_compared && rows.positions_compared;
    for (const std::string& column : rows.ignored_columns) {
      if (std::find(all.ignored_columns.begin(), all.ignored_columns.end(), column) == all.ignored_columns.end())
        all.ignored_columns.push_back(column);
    }
  }

  Result<ReadRows> read(const ByteSource& source, const CsvOptions& csv) {
    LookedAt looked_at(source);
    const Result<bool> binary = looked_at.begins_with(k_binary_magic);
    if (!binary.ok()) return binary.errors();
    const ByteSource whole = [&](std::span<char> to) { return looked_at(to); };
    if (*binary) return read_binary_runs(whole, csv);
    const ColumnSink sink = [this](const ReadingColumns& rows) { take(rows); };
    return read_readings(whole, csv, sink, settings_.threads, positions_);
  }

  // True if more than sums of the readings is needed.
  bool needs_each_reading() const {
    return several_files_ || observations_ || settings_.keep_readings > 0 || !corrections_.done() || counts_at_moved_limits();
  }

  Result<ReadRows> read_binary_runs(const ByteSource& source, const CsvOptions& csv) {
    if (csv.unit)
      return Error{
          ErrorCode::option_conflict, "a unit was given, but binary readings name their own", "", "no unit", {csv.file, 0, 0}};
    if (!csv.columns.empty())
      return Error{ErrorCode::option_conflict, "columns were named, but binary readings have none", "", "a text", {csv.file, 0, 0}};
    bool agree = true;
    const Result<std::int64_t> readings = read_binary(source, csv.file, [&](const Run& run, Length quantum) {
      agree = agree && run.direction == csv.direction.value_or(run.direction);
      take(run, quantum);
    });
    if (!readings.ok()) return readings.errors();
    if (!agree)
      return Error{ErrorCode::unknown_direction,
                   "readings of another direction than the job gives for this file",
                   "",
                   std::string(to_text(*csv.direction)),
                   {csv.file, 0, 0}};
    return ReadRows{.rows = *readings};
  }

  void take(ReadingColumns rows) {
    rows.first_line += lines_before_.back();
    (void)evidence_.sample.add(rows);  // the reader passes valid rows only
    suspects_.add(rows);
    if (!corrections_.done()) corrections_.add(rows);
    if (!rows.gap.empty()) add_wires(rows);
    if (observations_) observations_->add(rows);
    for (std::size_t row = 0; several_files_ && row < rows.size(); ++row) {
      if (rows.has_reading(row))
        add_to_content(rows.direction[row], rows.aperture.empty() ? Length() : rows.aperture[row],
                       rows.wire.empty() ? Length() : rows.wire[row]);
    }
    if (!repeated_runs_.full()) find_repeats(rows);
    chart_readings_.add(rows);
    if (!counts_at_moved_limits()) return;
    for (std::size_t row = 0; row < rows.aperture.size(); ++row) {
      const bool of_sample = rows.role.empty() || rows.role[row] == Role::sample;
      if (of_sample && rows.aperture[row] != Length()) count_at_moved_limits(rows.direction[row], rows.aperture[row]);
    }
  }

  void add_wires(const ReadingColumns& rows) {
    for (std::size_t row = 0; row < rows.wire.size(); ++row) {
      if (rows.wire[row] != Length()) different_wires_[rows.direction[row]].add(rows.gap[row]);
    }
  }

  void find_repeats(const ReadingColumns& rows) {
    for (std::size_t row = 0; row < rows.aperture.size(); ++row) {
      const bool of_sample = rows.role.empty() || rows.role[row] == Role::sample;
      if (of_sample && rows.aperture[row] != Length())
        repeated_runs_.add(rows.direction[row], rows.aperture[row], rows.first_line + static_cast<std::int64_t>(row));
    }
  }

  void take(const Reading& reading) {
    (void)evidence_.sample.add(reading);  // the reader passes valid rows only
    if (observations_) observations_->add(reading);
    corrections_.add(reading);
    if (several_files_) add_to_content(reading.direction, reading.aperture.value_or(Length()), reading.wire.value_or(Length()));
    chart_readings_.add(reading);
    if (counts_at_moved_limits() && reading.aperture && reading.role == Role::sample)
      count_at_moved_limits(reading.direction, *reading.aperture);
  }

  void take(const Run& run, Length quantum) {
    if (!needs_each_reading()) return static_cast<void>(add(evidence_.sample, run, quantum));  // the reader has checked them
    for (const std::int32_t value : run.values) {
      Reading reading;
      reading.direction = run.direction;
      reading.role = run.quantity == RunQuantity::suspect ? Role::suspect : Role::sample;
      (run.quantity == RunQuantity::wire ? reading.wire : reading.aperture) = Length::from_pm(value * quantum.pm());
      take(reading);
    }
  }

  FigureUncertainties uncertainties_of(const DirectionSample& sample) const {
    return figure_uncertainties(job_.uncertainty, sample, specification_.row->largest_aperture());
  }
  double guard_factor() const { return job_.guard_factor.value_or(1); }

  // The share is judged at moved limits, which are known before the first reading.
  bool counts_at_moved_limits() const {
    return conditions_.decision != DecisionRule::simple && reading_guard_ && specification_.row->intermediate_limit;
  }

  void count_at_moved_limits(Direction direction, Length aperture) {
    const Length limit = specification_.row->intermediate_limit->value;
    std::optional<GuardedCounts>& counts = evidence_.shares[direction];
    if (!counts) counts.emplace();
    counts->above_lowered += aperture > limit - reading_guard_->band ? 1 : 0;
    counts->above_raised += aperture > limit + reading_guard_->band ? 1 : 0;
  }

  DiagnosisSettings diagnosis_settings() const {
    return {.uncertainty = job_.uncertainty, .process = job_.process, .contiguous = job_.contiguous};
  }

  const Job& job_;
  const Specification& specification_;
  const Conditions& conditions_;
  const CheckSettings& settings_;
  Evidence evidence_;
  SuspectNames suspects_;
  Corrections corrections_;
  PerDirection<DifferentWires> different_wires_;
  bool several_files_ = false;
  Content content_;                // of the file that is read
  std::vector<Content> contents_;  // of those before it
  RepeatedRuns repeated_runs_;
  Positions positions_;
  std::vector<std::int64_t> lines_before_;  // of each file: the lines of those before it
  std::optional<Guard> reading_guard_;
  std::optional<Observations> observations_;
  ChartReadings chart_readings_;
};

}  // namespace

Result<Specification> find_specification(const Job& job, std::span<const Edition* const> owners) {
  if (std::find(owners.begin(), owners.end(), nullptr) != owners.end())
    return Error{ErrorCode::null_argument, "one of the editions is null", "", "editions", {}};
  if (!job.standard) return missing("standard", "an edition, as `sievecloth editions` lists them");
  if (!job.size) return missing("size", "a size such as \"No. 200\" or 75um");
  const Result<const Edition*> edition = find_edition(job.standard->text, owners);
  if (!edition.ok()) return placed(edition.errors(), job.standard->where);
  std::optional<Grade> grade;
  if (job.grade) {
    const Result<Grade> parsed = parse_grade(job.grade->text);
    if (!parsed.ok()) return placed(parsed.errors(), job.grade->where);
    grade = *parsed;
  } else if ((*edition)->rules.graded) {
    return missing("grade", "compliance, inspection or calibration");
  }
  Result<Specification> specification = specify(**edition, job.size->text, grade);
  if (specification.ok()) return specification;
  const bool of_grade = specification.error().code == ErrorCode::grade_not_in_edition;
  return placed(specification.errors(), of_grade ? job.grade->where : job.size->where);
}

Result<Conditions> conditions_of(const Job& job) {
  Conditions conditions{.piece = job.piece,
                        .resolution = std::max(job.measured.resolution, job.uncertainty.resolution),  // an empty one is less
                        .measured_only = job.measured_only,
                        .apertures_only = job.apertures_only,
                        .only_seen = job.only_seen};
  if (job.viewing) {
    conditions.viewing_passed = job.viewing->passed;
    conditions.suspects_recorded = job.viewing->suspects;
  }
  if (job.agreed_count) conditions.agreed_count = job.agreed_count->value;
  if (job.decision_rule) {
    const Result<DecisionRule> rule = parse_decision_rule(job.decision_rule->text);
    if (!rule.ok()) return placed(rule.errors(), job.decision_rule->where);
    conditions.decision = *rule;
  }
  return conditions;
}

CsvOptions csv_options_of(const Job& job, std::string file) {
  CsvOptions csv{.unit = job.unit,
                 .ignore_columns = job.ignore_columns,
                 .last_line = job.last_line,
                 .file = std::move(file),
                 .columns = job.columns};
  if (job.readings.text.empty()) return csv;
  csv.last_line = true;  // inline readings end where the job's text does
  csv.first_line = job.readings.first_line;
  csv.indentation = job.readings.indentation;
  return csv;
}

Result<CheckedPiece> check_piece(const Job& job, std::span<const Edition* const> owners, const ByteSource& readings,
                                 const std::string& file, const CheckSettings& settings) {
  const ReadingsFile only{readings, file};
  return check_piece(job, owners, {&only, 1}, settings);
}

Result<CheckedPiece> check_piece(const Job& job, std::span<const Edition* const> owners, std::span<const ReadingsFile> readings,
                                 const CheckSettings& settings) {
  const Result<Specification> specification = find_specification(job, owners);
  if (!specification.ok()) return specification.errors();
  if (const Result<void> agreed = check_agreed_count(job, *specification); !agreed) return agreed.errors();
  if (const Result<void> sources = check_sources(job); !sources) return sources.errors();
  const Result<Conditions> conditions = conditions_of(job);
  if (!conditions.ok()) return conditions.errors();
  if (readings.empty() || std::any_of(readings.begin(), readings.end(), [](const ReadingsFile& file) { return !file.bytes; }))
    return Error{ErrorCode::null_argument, "there is no source of readings", "", "a function", {}};
  PieceCheck check(job, *specification, *conditions, settings);
  Result<ReadRows> rows = check.read(readings);
  if (!rows.ok()) return rows.errors();
  return check.judge(*std::move(rows));
}

}  // namespace sievecloth
