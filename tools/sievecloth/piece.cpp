#include "piece.hpp"

#include <array>
#include <filesystem>

#include <fmt/format.h>

#include "input.hpp"
#include "owners_table.hpp"
#include "sievecloth/digest.hpp"
#include "sievecloth/readings_csv.hpp"

namespace sievecloth::tool {
namespace {

constexpr std::size_t k_longest_job = 64u << 20;

/// What the beginning of an input tells about it: a job begins with `key:`, readings with column names.
enum class Kind { not_yet, job, readings };

Kind kind_of(std::string_view head, bool complete) {
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
    Result<std::int64_t> rows = read_input();
    if (!rows.ok()) return rows.errors();
    Result<Assessment> assessment = assess(specification_, sample_, conditions());
    if (!assessment.ok()) return placed(assessment.errors(), {file_, 0, 0});
    CheckedPiece piece{*std::move(assessment), std::move(job_), std::move(kept_), "", ""};
    if (options_.for_report) {
      const bool own_file = piece.job && !piece.job->readings.file.empty();
      piece.readings_file = own_file ? piece.job->readings.file : std::filesystem::path(file_).filename().string();
      piece.readings_sha256 = digest_->hexadecimal();
    }
    return piece;
  }

 private:
  // Readings are judged as they stream past; a job is read whole, and then its readings.
  Result<std::int64_t> read_input() {
    std::string head;
    Kind kind = Kind::not_yet;
    const Result<bool> end = read_blocks(file_, [&](std::string_view block) {
      if (kind == Kind::readings) return feed(block);
      head += block;
      if (kind == Kind::not_yet) kind = kind_of(head, false);
      return kind == Kind::readings ? begin_readings() && feed(head) : head.size() <= k_longest_job;
    });
    if (!end.ok()) return end.errors();
    if (kind == Kind::not_yet) kind = kind_of(head, true);
    if (kind == Kind::job) return read_job_and_readings(head);
    if (!reader_ && begin_readings()) feed(head);
    return finish();
  }

  Result<std::int64_t> read_job_and_readings(const std::string& yaml) {
    Result<Job> job = read_job(yaml, file_);
    if (!job.ok()) return job.errors();
    job_ = *std::move(job);
    const ReadingsSource& readings = job_->readings;
    if (!begin_readings()) return finish();
    if (readings.file.empty()) {
      if (digest_) digest_->add(yaml);
      reader_->feed(readings.text);
      return finish();
    }
    const Result<bool> end = read_blocks(readings_path(), [&](std::string_view block) { return feed(block); });
    if (!end.ok()) return end.errors();
    return finish();
  }

  // Names in a job file are meant from where the job file is.
  std::string readings_path() const {
    const std::filesystem::path folder = file_ == "-" ? std::filesystem::path() : std::filesystem::path(file_).parent_path();
    return (folder / job_->readings.file).string();
  }

  bool begin_readings() {
    if (!find_specification()) return false;
    sample_ = make_sample(specification_);
    CsvOptions csv{unit(), options_.ignore_columns || (job_ && job_->ignore_columns), file_, 1, 0};
    if (job_ && !job_->readings.file.empty()) csv.file = readings_path();
    if (job_ && job_->readings.file.empty()) {
      csv.first_line = job_->readings.first_line;
      csv.indentation = job_->readings.indentation;
    }
    reader_.emplace(std::move(csv), [this](const Reading& reading) { take(reading); });
    if (options_.for_report) digest_.emplace();
    return true;
  }

  void take(const Reading& reading) {
    sample_.add(reading);
    if (options_.for_report && kept_.size() < k_most_kept_readings) kept_.push_back(reading);
  }

  bool feed(std::string_view bytes) {
    if (digest_) digest_->add(bytes);
    return reader_->feed(bytes);
  }

  Result<std::int64_t> finish() {
    if (!errors_.empty()) return errors_;
    return reader_->finish();
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
    return true;
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
      if (job_->viewing) conditions.viewing_passed = job_->viewing->passed;
    }
    if (!options_.viewing.empty()) conditions.viewing_passed = options_.viewing == "passed";
    conditions.measured_only = options_.measured_only || (job_ && job_->measured_only);
    conditions.apertures_only = options_.apertures_only || (job_ && job_->apertures_only);
    conditions.only_seen = options_.only_seen || (job_ && job_->only_seen);
    return conditions;
  }

  const std::string& file_;
  const CheckOptions& options_;
  const std::optional<TableFile>& table_;
  std::optional<Job> job_;
  Specification specification_;
  Sample sample_;
  std::optional<CsvReader> reader_;
  std::vector<Reading> kept_;
  std::optional<Sha256> digest_;
  Errors errors_;
};

}  // namespace

Result<CheckedPiece> check_piece(const std::string& file, const CheckOptions& options, const std::optional<TableFile>& table) {
  return PieceChecker(file, options, table).check();
}

void add_check_options(CLI::App& verb, CheckOptions& options, std::string& tables) {
  verb.add_option("--standard", options.standard, "Edition, as `sievecloth editions` lists them");
  verb.add_option("--size", options.size, "Size, such as \"No. 200\", 75um, 4.75mm, \"3/8 in.\"");
  verb.add_option("--grade", options.grade, "compliance, inspection or calibration");
  verb.add_option("--viewing", options.viewing, "The two viewing tests over all apertures")
      ->check(CLI::IsMember({"passed", "failed"}));
  verb.add_flag("--measured-only", options.measured_only, "Leave the viewing tests out of the verdict");
  verb.add_flag("--apertures-only", options.apertures_only, "Leave the wires out of the verdict");
  verb.add_flag("--only-seen", options.only_seen, "Leave undecided what rests on a limit or rule that was not seen");
  verb.add_option("--unit", options.unit, "Unit of columns that do not name theirs")->check(CLI::IsMember({"um", "mm", "in"}));
  verb.add_flag("--ignore-columns", options.ignore_columns, "Take columns of other names as notes");
  verb.add_option("--tables", tables, "An owner's own table, as YAML");
}

}  // namespace sievecloth::tool
