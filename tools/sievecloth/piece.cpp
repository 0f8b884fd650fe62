#include "piece.hpp"

#include <algorithm>
#include <filesystem>
#include <span>

#include <fmt/format.h>

#include "input.hpp"
#include "owners_table.hpp"
#include "progress.hpp"
#include "sievecloth/digest.hpp"
#include "sievecloth/job_file.hpp"
#include "sievecloth/readings_binary.hpp"

namespace sievecloth::tool {
namespace {

constexpr std::size_t k_longest_job = 64u << 20;
constexpr std::size_t k_longest_preface = 1u << 20;  // comments and empty lines searched for the content

/// What the beginning of an input reveals: a job begins with `key:`, readings with column names or, if binary, with their own first
/// bytes.
enum class FileContent { not_yet, job, readings };

FileContent kind_of(std::string_view head, bool complete) {
  complete = complete || head.size() >= k_longest_preface;
  head = head.substr(0, k_longest_preface);
  if (head.starts_with(k_binary_magic)) return FileContent::readings;
  if (k_binary_magic.starts_with(head) && !complete) return FileContent::not_yet;
  if (head.starts_with("\xFF\xFE") || head.starts_with("\xFE\xFF")) return FileContent::readings;  // UTF-16
  if (head.starts_with("\xEF\xBB\xBF")) head.remove_prefix(3);
  while (!head.empty()) {
    const std::size_t end = head.find('\n');
    const std::string_view line = head.substr(0, end);
    const bool significant = line.find_first_not_of(" \t\r") != std::string_view::npos && !line.starts_with('#');
    if (significant) {
      const std::size_t mark = line.find_first_of(":,;\t\"");
      if (line.starts_with("---") || (mark != std::string_view::npos && line[mark] == ':')) return FileContent::job;
      return end != std::string_view::npos || complete || head.size() > k_longest_line ? FileContent::readings
                                                                                       : FileContent::not_yet;
    }
    if (end == std::string_view::npos) break;
    head.remove_prefix(end + 1);
  }
  return complete ? FileContent::readings : FileContent::not_yet;
}

/// Reads the input of one piece and checks it.
class PieceReader {
 public:
  PieceReader(const std::string& file, const CheckOptions& options, const OwnersTables& table)
      : file_(file), options_(options), owners_(owners_editions(table)) {}

  // Readings are judged as they stream in; a job is read completely, and then its readings.
  Result<CheckedFile> read() {
    Result<Input> input = Input::open(file_);
    if (!input.ok()) return input.errors();
    std::string head;
    const Result<bool> is_job = read_head(*input, head);
    if (!is_job.ok()) return is_job.errors();
    Result<CheckedFile> checked = *is_job ? check_job(head) : check_readings(*input, head);
    if (checked.ok()) checked->from_standard_input = file_ == "-";
    return checked;
  }

  // The files that the job named, once it has been read.
  const std::vector<std::string>& named() const { return named_; }

  // The text of a job; none where the file is something else or cannot be read.
  std::optional<std::string> job_text() {
    Result<Input> input = Input::open(file_);
    std::string text;
    if (!input.ok()) return std::nullopt;
    const Result<bool> is_job = read_head(*input, text);
    return is_job.ok() && *is_job ? std::optional(std::move(text)) : std::nullopt;
  }

 private:
  // Reads a job whole, and of anything else what it takes to see that it is none. Result: whether it is a job.
  Result<bool> read_head(Input& input, std::string& head) {
    FileContent kind = named_as_job() ? FileContent::job : FileContent::not_yet;
    while (kind != FileContent::readings) {
      const Result<std::size_t> read = read_more(input, head);
      if (!read.ok()) return read.errors();
      if (kind == FileContent::not_yet) kind = kind_of(head, *read == 0);
      if (kind == FileContent::job && head.size() > k_longest_job) return too_long();
      if (kind == FileContent::job && *read == 0) return true;
    }
    return false;
  }

  // So that a job file that is empty or begins oddly is not taken for readings.
  bool named_as_job() const { return file_.ends_with(".yaml") || file_.ends_with(".yml"); }
  // A job is never judged by its beginning alone.
  Error too_long() const {
    return {
        ErrorCode::read_failed, fmt::format("longer than {} bytes, which no job file needs", k_longest_job), "", "", {file_, 0, 0}};
  }

  static Result<std::size_t> read_more(Input& input, std::string& text) {
    constexpr std::size_t k_step = std::size_t{4} * 1024;  // at first: most files reveal their kind within a page
    const std::size_t before = text.size();
    text.resize(before + std::max(before, k_step));
    Result<std::size_t> read = input.read(std::span(text).subspan(before));
    text.resize(before + (read.ok() ? *read : 0));
    return read;
  }

  Result<CheckedFile> check_readings(Input& input, std::string_view head) {
    const Result<Job> job = job_with(Job(), options_);
    if (!job.ok()) return job.errors();
    std::vector<OpenFile> files;
    files.push_back({file_, {name_of_file()}, head, &input});
    return check(*job, files);
  }

  Result<CheckedFile> check_job(const std::string& yaml) {
    Result<Job> written = read_job(yaml, file_);
    if (!written.ok()) return written.errors();
    named_ = readings_paths(file_, *written);
    const Result<Job> job = job_with(*std::move(written), options_);
    if (!job.ok()) return job.errors();
    if (!job->readings.files.empty()) return check_named_files(*job);
    std::vector<OpenFile> files;
    files.push_back({file_, {name_of_file()}, job->readings.text});
    Result<CheckedFile> checked = check(*job, files);
    if (checked.ok() && options_.for_report) checked->files.front().sha256 = sha256_of(yaml);  // the readings are part of the job
    return checked;
  }

  Result<CheckedFile> check_named_files(const Job& job) {
    if (const Result<Specification> known = find_specification(job, owners_); !known.ok())
      return known.errors();  // before files that may be long
    std::vector<Input> inputs;
    inputs.reserve(named_.size());
    std::vector<OpenFile> files;
    for (std::size_t i = 0; i < named_.size(); ++i) {
      Result<Input> input = Input::open(named_[i], NamedBy::file);
      if (!input.ok()) return input.errors();
      inputs.push_back(*std::move(input));
      const NamedFile& named = job.readings.files[i];
      files.push_back({named_[i], {.name = named.name, .direction = named.direction}, "", &inputs.back()});
    }
    return check(job, files);
  }

  // A file of readings that is being read: it begins with `head` and goes on in `rest`, where there is one.
  struct OpenFile {
    std::string path;  // in complaints
    DigestedFile file;
    std::string_view head;
    Input* rest = nullptr;
    Sha256 digest = {};
  };

  Result<CheckedFile> check(const Job& job, std::vector<OpenFile>& files) {
    if (const Result<void> once = each_once(files); !once) return once.errors();
    Progress progress(size_of(files));
    std::vector<ReadingsFile> readings;
    readings.reserve(files.size());
    for (OpenFile& file : files)
      readings.push_back({source_of(file, options_.for_report || files.size() > 1, progress), file.path, file.file.direction});
    const CheckSettings settings{
        .diagnose = options_.how_sure, .keep_readings = options_.keep_readings, .threads = options_.threads};
    Result<CheckedPiece> piece = check_piece(job, owners_, readings, settings);
    if (!piece.ok()) return in_file(piece.errors());
    CheckedFile checked{.piece = *std::move(piece)};
    for (std::size_t i = 0; i < files.size(); ++i) {
      files[i].file.lines_before = checked.piece.lines_before[i];
      if (options_.for_report || files.size() > 1) files[i].file.sha256 = files[i].digest.hexadecimal();
      checked.files.push_back(files[i].file);
    }
    if (const Result<void> no_copies = no_copies_in(checked.files, files); !no_copies) return no_copies.errors();
    return checked;
  }

  std::string name_of_file() const { return std::filesystem::path(file_).filename().string(); }

  static std::string sha256_of(std::string_view bytes) {
    Sha256 digest;
    digest.add(bytes);
    return digest.hexadecimal();
  }

  // Readings that count twice make a piece look better measured than it is.
  static Result<void> each_once(const std::vector<OpenFile>& files) {
    for (auto file = files.begin(); file != files.end(); ++file) {
      const auto is_same = [&](const OpenFile& other) {
        const struct stat a = file->rest->status(), b = other.rest->status();
        return a.st_dev == b.st_dev && a.st_ino == b.st_ino;
      };
      const auto other = std::find_if(files.begin(), file, is_same);
      if (other != file) return counted_twice("is the same file as", file->path, other->path);
    }
    return {};
  }

  static Result<void> no_copies_in(const std::vector<DigestedFile>& digested, const std::vector<OpenFile>& files) {
    for (std::size_t i = 0; i < files.size(); ++i) {
      for (std::size_t k = 0; k < i; ++k) {
        if (digested[i].sha256 == digested[k].sha256) return counted_twice("is a copy of", files[i].path, files[k].path);
      }
    }
    return {};
  }

  static Error counted_twice(std::string_view what, const std::string& file, const std::string& other) {
    return {ErrorCode::wrong_value,
            fmt::format("{} {}, whose readings would count twice", what, printable(other, 4096)),
            "",
            "each file of readings once",
            {file, 0, 0}};
  }

  // None where one of them is no regular file.
  static std::optional<std::int64_t> size_of(const std::vector<OpenFile>& files) {
    std::int64_t total = 0;
    for (const OpenFile& file : files) {
      const std::optional<std::int64_t> size = file.rest == nullptr ? std::nullopt : file.rest->size();
      if (!size) return std::nullopt;
      total += *size;
    }
    return total;
  }

  // Locates contradictions without a location of their own in the file that was named.
  Errors in_file(Errors errors) const {
    for (Error& error : errors) {
      if (error.code == ErrorCode::piece_contradicted && error.where.file.empty()) error.where.file = file_;
    }
    return errors;
  }

  static ByteSource source_of(OpenFile& file, bool digested, Progress& progress) {
    return [&file, digested, &progress](std::span<char> to) -> Result<std::size_t> {
      std::size_t size = std::min(file.head.size(), to.size());
      std::copy_n(file.head.data(), size, to.data());
      file.head.remove_prefix(size);
      if (size == 0 && file.rest != nullptr) {
        Result<std::size_t> read = file.rest->read(to);
        if (!read.ok()) return read;
        size = *read;
      }
      progress.add(static_cast<std::int64_t>(size));
      if (digested) file.digest.add({to.data(), size});
      return size;
    };
  }

  const std::string& file_;
  const CheckOptions& options_;
  const std::vector<const Edition*> owners_;
  std::vector<std::string> named_;
};

// One of the two is wrong, and the signatory must say which.
Error contradiction(const std::string& option, std::string found, const Where& where) {
  return {ErrorCode::option_conflict, fmt::format("{} contradicts the job file", option), std::move(found), "one of them", where};
}

}  // namespace

Result<Job> job_with(Job job, const CheckOptions& options) {
  const auto choose = [](std::optional<Located>& in_job, const std::string& option) {
    if (!option.empty()) in_job = Located{option, {}};
  };
  choose(job.standard, options.standard);
  choose(job.size, options.size);
  choose(job.grade, options.grade);
  // What was agreed is the rule of the job file, not another one.
  if (!options.decision.empty() && (!job.decision_rule || job.decision_rule->text != options.decision))
    job.paper.decision_agreed.clear();
  choose(job.decision_rule, options.decision);
  const Result<std::optional<Piece>> piece = read_piece(options.piece);
  if (!piece.ok()) return piece.errors();
  if (*piece && (job.piece.frame || job.piece.roll)) {
    if (job.piece.frame != (*piece)->frame || job.piece.roll != (*piece)->roll)
      return contradiction((*piece)->frame ? "the frame of the options" : "the roll of the options", {}, {});
  } else if (*piece) {
    job.piece.frame = (*piece)->frame;
    job.piece.roll = (*piece)->roll;
    job.piece_record.frame_size = options.piece.frame + options.piece.square;  // one of them is empty
  }
  if (!options.unit.empty()) job.unit = find_unit(options.unit);
  job.measured_only = job.measured_only || options.measured_only;
  job.apertures_only = job.apertures_only || options.apertures_only;
  job.only_seen = job.only_seen || options.only_seen;
  job.contiguous = job.contiguous || options.contiguous;
  job.ignore_columns = job.ignore_columns || options.ignore_columns;
  job.last_line = job.last_line || options.last_line;
  job.laboratory.capability = options.laboratory.capability;
  job.laboratory.scope = options.laboratory.scope;
  for (const CertifiedFigure figure : k_certified_figures) {
    if (!job.uncertainty.budget[figure]) job.uncertainty.budget[figure] = options.budget[figure];
  }
  if (!options.viewing.empty()) {
    const bool passed = options.viewing == "passed";
    if (job.viewing && job.viewing->passed != passed)
      return contradiction("--viewing " + options.viewing, job.viewing->passed ? "passed" : "failed", job.viewing->where);
    if (!job.viewing) job.viewing = ViewingRecord{.passed = passed};
  }
  if (options.agreed_count > 0) {
    if (job.agreed_count && job.agreed_count->value != options.agreed_count)
      return contradiction(fmt::format("--agreed-count {}", options.agreed_count),
                           fmt::format("agreed_count {}", job.agreed_count->value), job.agreed_count->where);
    if (!job.agreed_count) job.agreed_count = AgreedCount{.value = options.agreed_count};
  }
  return job;
}

Result<CheckedFile> check_file(const std::string& file, const CheckOptions& options, const OwnersTables& table,
                               std::vector<std::string>& named) {
  PieceReader reader(file, options, table);
  Result<CheckedFile> checked = reader.read();
  named = reader.named();
  return checked;
}

std::optional<Job> job_in(const std::string& file) {
  if (file == "-") return std::nullopt;
  const std::optional<std::string> text = PieceReader(file, {}, {}).job_text();
  if (!text) return std::nullopt;
  Result<Job> job = read_job(*text, file);
  return job.ok() ? std::optional(*std::move(job)) : std::nullopt;
}

std::vector<std::string> readings_paths(const std::string& job_file, const Job& job) {
  const std::filesystem::path folder = job_file == "-" ? std::filesystem::path() : std::filesystem::path(job_file).parent_path();
  std::vector<std::string> paths;
  for (const NamedFile& file : job.readings.files) paths.push_back((folder / file.name).string());
  return paths;
}

std::vector<Option> check_options(CheckOptions& options, std::vector<std::string>& tables) {
  std::vector<Option> list{
      {"--standard", &options.standard, "Edition, as `sievecloth editions` lists them"},
      {"--size", &options.size, "Size, such as \"No. 200\", 75um, 4.75mm, \"3/8 in.\""},
      {"--grade", &options.grade, "compliance, inspection or calibration"},
      {"--viewing", &options.viewing, "Result of the visual examination of all apertures", {.one_of = {"passed", "failed"}}},
      {"--measured-only", &options.measured_only, "Do without a visual examination that nobody recorded"},
      {"--apertures-only", &options.apertures_only, "Leave the wires out of the verdict"},
      {"--only-seen", &options.only_seen, "Leave undecided what rests on a limit or rule that was not verified"},
      {"--agreed-count",
       &options.agreed_count,
       "Apertures in each direction, agreed where the edition's count is not known",
       {.within = Range{1, k_most_readings}}},
      {"--unit", &options.unit, "Unit of columns that do not name theirs", {.one_of = {"um", "mm", "in"}}},
      {"--ignore-columns", &options.ignore_columns, "Ignore unknown columns"},
      {"--last-line", &options.last_line, "Accept a last line without its line end"},
      {"--tables", &tables, "An owner's own table, as YAML; may be repeated"}};
  append(list, piece_options(options.piece));
  return list;
}

}  // namespace sievecloth::tool
