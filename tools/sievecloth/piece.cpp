#include "piece.hpp"

#include <algorithm>
#include <array>
#include <filesystem>
#include <span>

#include <fmt/format.h>

#include "input.hpp"
#include "measurement/suspect_names.hpp"
#include "owners_table.hpp"
#include "progress.hpp"
#include "sievecloth/digest.hpp"
#include "sievecloth/readings_binary.hpp"
#include "sievecloth/readings_csv.hpp"

namespace sievecloth::tool {
namespace {

constexpr std::size_t k_longest_job = 64u << 20;
constexpr std::size_t k_longest_preface = 1u << 20;  // comments and empty lines that are looked through for what follows

/// What the beginning of an input tells about it: a job begins with `key:`, readings with column names, binary
/// readings with bytes of their own.
enum class Kind { not_yet, job, readings, binary };

Kind kind_of(std::string_view head, bool complete) {
  complete = complete || head.size() >= k_longest_preface;
  head = head.substr(0, k_longest_preface);
  if (head.starts_with(k_binary_magic)) return Kind::binary;
  if (k_binary_magic.starts_with(head) && !complete) return Kind::not_yet;
  if (head.starts_with("\xEF\xBB\xBF")) head.remove_prefix(3);
  while (!head.empty()) {
    const std::size_t end = head.find('\n');
    const std::string_view line = head.substr(0, end);
    const bool significant = line.find_first_not_of(" \t\r") != std::string_view::npos && !line.starts_with('#');
    if (significant) {
      const std::size_t mark = line.find_first_of(":,;\t\"");
      if (line.starts_with("---") || (mark != std::string_view::npos && line[mark] == ':')) return Kind::job;
      return end != std::string_view::npos || complete || head.size() > k_longest_line ? Kind::readings : Kind::not_yet;
    }
    if (end == std::string_view::npos) break;
    head.remove_prefix(end + 1);
  }
  return complete ? Kind::readings : Kind::not_yet;
}

Error missing_option(std::string_view option, std::string expected) {
  return {ErrorCode::option_missing, fmt::format("{} is missing", option), "", std::move(expected), {}};
}

/// A choice as it was made on the command line, or else in the job file.
std::optional<Located> chosen(const std::string& option, const std::optional<Located>& in_job) {
  return option.empty() ? in_job : std::optional(Located{option, {}});
}

Errors placed(Errors errors, const Where& where) {
  for (Error& error : errors) {
    if (error.where.file.empty()) error.where = where;
  }
  return errors;
}

class PieceChecker {
 public:
  PieceChecker(const std::string& file, const CheckOptions& options, const std::optional<TableFile>& table)
      : file_(file), options_(options), table_(table) {}

  Result<CheckedPiece> check() {
    const Result<ReadRows> rows = read_input();
    if (!rows.ok()) return rows.errors();
    Result<Assessment> assessment = assess(specification_, sample_, conditions());
    if (!assessment.ok()) return placed(assessment.errors(), {file_, 0, 0});
    assessment->ignored_columns = rows->ignored_columns;
    CheckedPiece piece{*std::move(assessment), std::move(job_), std::nullopt, std::move(kept_), "", ""};
    if (options_.how_sure) piece.diagnosis = diagnose(piece.assessment, piece.readings, diagnosis_settings(piece.job));
    if (options_.for_report) {
      const bool own_file = piece.job && !piece.job->readings.file.empty();
      piece.readings_file = own_file ? piece.job->readings.file : std::filesystem::path(file_).filename().string();
      piece.readings_sha256 = digest_->hexadecimal();
    }
    return piece;
  }

 private:
  // Readings are judged as they stream past; a job is read whole, and then its readings.
  Result<ReadRows> read_input() {
    Result<Input> input = Input::open(file_);
    if (!input.ok()) return input.errors();
    std::string head;
    Kind kind = named_as_job() ? Kind::job : Kind::not_yet;
    while (kind == Kind::not_yet || kind == Kind::job) {
      const Result<std::size_t> read = read_more(*input, head);
      if (!read.ok()) return read.errors();
      if (kind == Kind::not_yet) kind = kind_of(head, *read == 0);
      if (kind == Kind::job && head.size() > k_longest_job) return too_long();
      if (kind == Kind::job && *read == 0) return read_job_and_readings(head);
    }
    return kind == Kind::binary ? read_binary_from(*input, head) : read_text(&*input, head);
  }

  // So that a job file that is empty or begins oddly is not taken for readings.
  bool named_as_job() const { return file_.ends_with(".yaml") || file_.ends_with(".yml"); }
  // A job is never judged by its beginning.
  Error too_long() const {
    return {
        ErrorCode::read_failed, fmt::format("longer than {} bytes, which no job file needs", k_longest_job), "", "", {file_, 0, 0}};
  }

  static Result<std::size_t> read_more(Input& input, std::string& text) {
    constexpr std::size_t k_step = std::size_t{4} * 1024;  // at first: most files tell what they are in a page
    const std::size_t before = text.size();
    text.resize(before + std::max(before, k_step));
    Result<std::size_t> read = input.read(std::span(text).subspan(before));
    text.resize(before + (read.ok() ? *read : 0));
    return read;
  }

  Result<ReadRows> read_job_and_readings(const std::string& yaml) {
    Result<Job> job = read_job(yaml, file_);
    if (!job.ok()) return job.errors();
    job_ = *std::move(job);
    if (job_->readings.file.empty()) {
      Result<ReadRows> rows = read_text(nullptr, job_->readings.text);
      if (digest_) digest_.emplace().add(yaml);
      return rows;
    }
    if (!find_specification()) return errors_;  // before a file that may be long
    Result<Input> input = Input::open(readings_path(), NamedBy::file);
    if (!input.ok()) return input.errors();
    std::string head;
    Kind kind = Kind::not_yet;
    while (kind == Kind::not_yet) {
      const Result<std::size_t> read = read_more(*input, head);
      if (!read.ok()) return read.errors();
      kind = kind_of(head, *read == 0);
    }
    return kind == Kind::binary ? read_binary_from(*input, head) : read_text(&*input, head);
  }

  // The text that begins with `head` and goes on in `rest`, where there is one.
  Result<ReadRows> read_text(Input* rest, std::string_view head) {
    if (!begin_readings()) return errors_;
    Progress progress(rest == nullptr ? std::nullopt : rest->size());
    const ByteSource source = source_of(rest, head, progress);
    Result<ReadRows> rows = read_readings(
        source, csv_options(), [this](const ReadingColumns& some) { take(some); }, options_.threads);
    if (rows.ok()) sample_.set_named_suspects(suspects_.count());
    return rows;
  }

  Result<ReadRows> read_binary_from(Input& rest, std::string_view head) {
    if (!begin_readings()) return errors_;
    const std::string file = csv_options().file;
    if (unit()) {
      return Error{ErrorCode::option_conflict, "a unit was given, but binary readings name their own", "", "no unit", {file, 0, 0}};
    }
    Progress progress(rest.size());
    const Result<std::int64_t> readings =
        read_binary(source_of(&rest, head, progress), file, [this](const Run& run, Length quantum) { take(run, quantum); });
    if (!readings.ok()) return readings.errors();
    return ReadRows{*readings, {}};
  }

  bool begin_readings() {
    if (!find_specification()) return false;
    sample_ = make_sample(specification_);
    if (!find_decision()) return false;
    if (options_.for_report) digest_.emplace();
    return true;
  }

  // Whether somebody asks for more than sums of the readings.
  bool needs_each_reading() const { return options_.for_report || options_.how_sure || decision_.rule != DecisionRule::simple; }

  ByteSource source_of(Input* rest, std::string_view head, Progress& progress) {
    return [this, rest, head, &progress](std::span<char> to) mutable -> Result<std::size_t> {
      std::size_t size = std::min(head.size(), to.size());
      std::copy_n(head.data(), size, to.data());
      head.remove_prefix(size);
      if (size == 0 && rest != nullptr) {
        Result<std::size_t> read = rest->read(to);
        if (!read.ok()) return read;
        size = *read;
      }
      progress.add(static_cast<std::int64_t>(size));
      if (digest_) digest_->add({to.data(), size});
      return size;
    };
  }

  // Names in a job file are meant from where the job file is.
  std::string readings_path() const {
    const std::filesystem::path folder = file_ == "-" ? std::filesystem::path() : std::filesystem::path(file_).parent_path();
    return (folder / job_->readings.file).string();
  }

  CsvOptions csv_options() const {
    CsvOptions csv{.unit = unit(),
                   .ignore_columns = options_.ignore_columns || (job_ && job_->ignore_columns),
                   .last_line = options_.last_line || (job_ && job_->last_line),
                   .file = file_};
    if (job_ && !job_->readings.file.empty()) csv.file = readings_path();
    if (job_ && job_->readings.file.empty()) {
      csv.last_line = true;  // the job ends them
      csv.first_line = job_->readings.first_line;
      csv.indentation = job_->readings.indentation;
    }
    return csv;
  }

  std::size_t most_kept() const {
    return options_.how_sure ? k_most_diagnosed_readings : options_.for_report ? k_most_kept_readings : 0;
  }

  void take(const ReadingColumns& rows) {
    (void)sample_.add(rows);  // the reader let nothing else through
    suspects_.add(rows);
    for (std::size_t row = 0; row < rows.size() && kept_.size() < most_kept(); ++row) {
      if (rows.has_reading(row)) kept_.push_back(rows.reading(row));
    }
    if (decision_.rule == DecisionRule::simple) return;
    for (std::size_t row = 0; row < rows.aperture.size(); ++row) {
      const bool of_sample = rows.role.empty() || rows.role[row] == Role::sample;
      if (of_sample && rows.aperture[row] != Length()) count_at_moved_limits(rows.direction[row], rows.aperture[row]);
    }
  }

  void take(const Reading& reading) {
    (void)sample_.add(reading);  // the reader let nothing else through
    if (kept_.size() < most_kept()) kept_.push_back(reading);
    if (decision_.rule != DecisionRule::simple && reading.aperture && reading.role == Role::sample)
      count_at_moved_limits(reading.direction, *reading.aperture);
  }

  void take(const Run& run, Length quantum) {
    if (!needs_each_reading())
      return static_cast<void>(add(sample_, run, quantum));  // the reader of the file let nothing else through
    for (const std::int32_t value : run.values) {
      const Length length = Length::from_pm(value * quantum.pm());
      Reading reading;
      reading.direction = run.direction;
      reading.role = run.quantity == RunQuantity::suspect ? Role::suspect : Role::sample;
      (run.quantity == RunQuantity::wire ? reading.wire : reading.aperture) = length;
      take(reading);
    }
  }

  bool fail(Errors errors) {
    errors_ = std::move(errors);
    return false;
  }

  bool find_specification() {
    const std::optional<Located> standard = chosen(options_.standard, job_ ? job_->standard : std::nullopt);
    const std::optional<Located> size = chosen(options_.size, job_ ? job_->size : std::nullopt);
    const std::optional<Located> grade = chosen(options_.grade, job_ ? job_->grade : std::nullopt);
    if (!standard) return fail({missing_option("--standard", "an edition, as `sievecloth editions` lists them")});
    if (!size) return fail({missing_option("--size", "a size such as \"No. 200\" or 75um")});

    const Result<const Edition*> edition = edition_named(standard->text, table_);
    if (!edition.ok()) return fail(placed(edition.errors(), standard->where));
    std::optional<Grade> parsed;
    if (grade) {
      const Result<Grade> result = parse_grade(grade->text);
      if (!result.ok()) return fail(placed(result.errors(), grade->where));
      parsed = *result;
    } else if ((*edition)->rules.graded) {
      return fail({missing_option("--grade", "compliance, inspection or calibration")});
    }
    const Result<const Row*> row = find_size(**edition, size->text);
    if (!row.ok()) return fail(placed(row.errors(), size->where));
    const Result<Specification> specification = specify(**edition, size->text, parsed);
    if (!specification.ok()) return fail(placed(specification.errors(), grade ? grade->where : Where{}));
    specification_ = *specification;
    return find_agreed_count();
  }

  bool find_agreed_count() {
    if (options_.agreed_count == 0 && !(job_ && job_->agreed_count)) return true;
    const bool by_option = options_.agreed_count > 0;
    if (by_option && job_ && job_->agreed_count && job_->agreed_count->value != options_.agreed_count) return other_agreement();
    agreed_count_ = by_option ? options_.agreed_count : job_->agreed_count->value;
    if (!specification_.row->counts[specification_.lookup_grade()]) return true;
    return fail(
        {{ErrorCode::option_conflict,
          fmt::format("{} has a count of its own for {}", specification_.edition->title, specification_.row->designation),
          by_option ? "--agreed-count" : "agreed_count", "no agreed count", by_option ? Where{} : job_->agreed_count->where}});
  }

  // Whoever agreed to one number did not agree to another.
  bool other_agreement() {
    return fail({{ErrorCode::option_conflict,
                  fmt::format("another count was agreed in the job file than --agreed-count {} says", options_.agreed_count),
                  fmt::format("agreed_count {}", job_->agreed_count->value), "one of them", job_->agreed_count->where}});
  }

  bool find_decision() {
    const std::optional<Located> rule = chosen(options_.decision, job_ ? job_->decision_rule : std::nullopt);
    if (!rule) return true;
    const Result<DecisionRule> parsed = parse_decision_rule(rule->text);
    if (!parsed.ok()) return fail(placed(parsed.errors(), rule->where));
    decision_.rule = *parsed;
    reading_guard_ = guards({}).reading;
    return true;
  }

  Guards guards(const DirectionSample& sample) const {
    if (!job_) return {};
    return make_guards(job_->uncertainty, job_->guard_factor.value_or(1), sample, specification_.row->largest_aperture());
  }

  // The share is judged at moved limits, and these are known before the first reading is.
  void count_at_moved_limits(Direction direction, Length aperture) {
    const std::optional<Limit>& limit = specification_.row->intermediate_limit;
    if (!limit || !reading_guard_) return;
    std::optional<GuardedCounts>& counts = decision_.shares[direction];
    if (!counts) counts.emplace();
    counts->above_lowered += aperture > limit->value - reading_guard_->band ? 1 : 0;
    counts->above_raised += aperture > limit->value + reading_guard_->band ? 1 : 0;
  }

  Decision decision() const {
    Decision decision = decision_;
    if (decision.rule == DecisionRule::simple) return decision;
    for (const Direction direction : k_directions) decision.guards[direction] = guards(sample_[direction]);
    return decision;
  }

  DiagnosisSettings diagnosis_settings(const std::optional<Job>& job) const {
    DiagnosisSettings settings;
    if (job) settings = {job->uncertainty, job->process, job->contiguous};
    settings.contiguous = settings.contiguous || options_.contiguous;
    settings.suspects_found = job && job->viewing && job->viewing->suspects.value_or(0) > 0;
    return settings;
  }

  std::optional<Unit> unit() const {
    for (const Unit unit : {Unit::micrometre, Unit::millimetre, Unit::inch}) {
      if (options_.unit == to_text(unit)) return unit;
    }
    return job_ ? job_->unit : std::nullopt;
  }

  Conditions conditions() const {
    Conditions conditions;
    if (job_) {
      conditions.piece = job_->piece;
      conditions.resolution = job_->measured.resolution;
      if (job_->viewing) {
        conditions.viewing_passed = job_->viewing->passed;
        conditions.suspects_recorded = job_->viewing->suspects;
      }
    }
    if (!options_.viewing.empty()) conditions.viewing_passed = options_.viewing == "passed";
    conditions.measured_only = options_.measured_only || (job_ && job_->measured_only);
    conditions.apertures_only = options_.apertures_only || (job_ && job_->apertures_only);
    conditions.only_seen = options_.only_seen || (job_ && job_->only_seen);
    conditions.agreed_count = agreed_count_;
    conditions.decision = decision();
    return conditions;
  }

  const std::string& file_;
  const CheckOptions& options_;
  const std::optional<TableFile>& table_;
  std::optional<Job> job_;
  Specification specification_;
  Sample sample_;
  SuspectNames suspects_;
  Decision decision_;
  std::optional<Guard> reading_guard_;
  std::optional<std::int64_t> agreed_count_;
  std::vector<Reading> kept_;
  std::optional<Sha256> digest_;
  Errors errors_;
};

}  // namespace

Result<CheckedPiece> check_piece(const std::string& file, const CheckOptions& options, const std::optional<TableFile>& table) {
  return PieceChecker(file, options, table).check();
}

std::vector<Option> check_options(CheckOptions& options, std::string& tables) {
  return {{"--standard", &options.standard, "Edition, as `sievecloth editions` lists them"},
          {"--size", &options.size, "Size, such as \"No. 200\", 75um, 4.75mm, \"3/8 in.\""},
          {"--grade", &options.grade, "compliance, inspection or calibration"},
          {"--viewing", &options.viewing, "The two viewing tests over all apertures", {.one_of = {"passed", "failed"}}},
          {"--measured-only", &options.measured_only, "Leave the viewing tests out of the verdict"},
          {"--apertures-only", &options.apertures_only, "Leave the wires out of the verdict"},
          {"--only-seen", &options.only_seen, "Leave undecided what rests on a limit or rule that was not verified"},
          {"--agreed-count",
           &options.agreed_count,
           "Apertures in each direction, agreed where the edition's count is not known",
           {.within = Range{1, k_most_readings}}},
          {"--unit", &options.unit, "Unit of columns that do not name theirs", {.one_of = {"um", "mm", "in"}}},
          {"--ignore-columns", &options.ignore_columns, "Take columns of other names as notes"},
          {"--last-line", &options.last_line, "The instrument never ends the last line of its files"},
          {"--tables", &tables, "An owner's own table, as YAML"}};
}

}  // namespace sievecloth::tool
