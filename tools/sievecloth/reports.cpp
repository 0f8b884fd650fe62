#include "reports.hpp"

#include <algorithm>
#include <array>
#include <filesystem>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "base/complaints.hpp"
#include "base/text.hpp"
#include "input.hpp"
#include "output.hpp"
#include "own_process.hpp"
#include "report/mark.hpp"
#include "sievecloth/report_file.hpp"
#include "sievecloth/report_pdf.hpp"
#include "sievecloth/report_template.hpp"
#include "verbs.hpp"
#include "yaml/yaml_file.hpp"

namespace sievecloth::tool {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t k_longest_yaml = 4u << 20;
constexpr std::size_t k_longest_logo = 8u << 20;
constexpr std::size_t k_longest_template = 4u << 20;
// For a picture, and for documents of up to a million readings.
constexpr ProcessLimits k_logo_limits{.seconds = 5, .memory = 512u << 20, .result = 1u << 20};
constexpr ProcessLimits k_document_limits{.seconds = 300, .memory = std::size_t{4} << 30, .result = 1u << 30};
constexpr ProcessLimits k_template_limits{.seconds = 10, .memory = std::size_t{2} << 30, .result = 1u << 30};

// The file that a laboratory's file names, which must be in the same folder or below it: whoever writes such a file must not have
// the tool read what it finds elsewhere.
Result<std::string> beside(const std::string& file, const std::string& name) {
  std::error_code ignored;
  const fs::path folder = fs::weakly_canonical(fs::absolute(file, ignored).parent_path(), ignored);
  const fs::path path = fs::path(file).parent_path() / name;
  const fs::path relative = fs::weakly_canonical(fs::absolute(path, ignored), ignored).lexically_relative(folder);
  if (!relative.empty() && *relative.begin() != "..") return path.string();
  return Error{ErrorCode::wrong_value,
               "leads out of the folder of the laboratory's file",
               printable(name),
               "a file in that folder",
               {file, 0, 0}};
}

Result<void> check_logo_within_limits(const Letterhead& letterhead, const std::string& file) {
  if (letterhead.logo_kind == Letterhead::LogoKind::none) return {};
  const Result<std::string> checked = in_own_process(file, k_logo_limits, [&]() -> Result<std::string> {
    const Result<void> drawn = check_logo(letterhead);
    return drawn ? Result<std::string>(std::string()) : drawn.errors();
  });
  return checked.ok() ? Result<void>() : checked.errors();
}

// The first ten names, and how many more there are.
std::string beginning_of(const std::vector<std::string>& names) {
  constexpr std::size_t k_most = 10;
  if (names.size() <= k_most) return fmt::format("{}", fmt::join(names, ", "));
  return fmt::format("{} and {} more", fmt::join(names.begin(), names.begin() + k_most, ", "), names.size() - k_most);
}

std::vector<std::string> names_of(const std::u32string& characters) {
  std::vector<std::string> names;
  for (const char32_t character : characters) names.push_back(fmt::format("U+{:04X}", static_cast<std::uint32_t>(character)));
  return names;
}

// The process hands back two results: a line with the characters that could not be printed, and the document.
Result<std::string> render_pdf(const Report& report, const std::string& path) {
  const Result<std::string> made = in_own_process(path, k_document_limits, [&]() -> Result<std::string> {
    const Result<Pdf> pdf = to_pdf(report);
    return pdf.ok() ? Result<std::string>(beginning_of(names_of(pdf->missing)) + "\n" + pdf->bytes) : pdf.errors();
  });
  if (!made.ok()) return made.errors();
  const std::size_t end = made->find('\n');
  if (end > 0)
    say(fmt::format("warning: {}: boxes stand for characters that the fonts of PDF lack: {}", printable(path, 4096),
                    made->substr(0, end)));
  return made->substr(end + 1);
}

std::string name_of(const std::string& file) { return file == "-" ? "readings" : fs::path(file).stem().string(); }

// `{}` in the pattern stands for the name of the piece's file, which must not lead to another folder.
Result<std::string> path_of(const std::string& pattern, const std::string& file) {
  const std::string name = name_of(file);
  if (pattern.find("{}") != std::string::npos && (name == "." || name == ".."))
    return Error{ErrorCode::option_value, "no name for a report", printable(file), "a file with a name before its ending", {}};
  std::string path;
  for (std::size_t i = 0; i < pattern.size(); ++i) {
    const bool place = pattern.compare(i, 2, "{}") == 0;
    path += place ? name : std::string(1, pattern[i]);
    if (place) ++i;
  }
  return path;
}

}  // namespace

std::optional<ReportWriter::Format> ReportWriter::format_of(const std::string& path) {
  constexpr std::array<std::pair<std::string_view, Format>, 6> endings{{{".pdf", Format::pdf},
                                                                        {".html", Format::html},
                                                                        {".htm", Format::html},
                                                                        {".json", Format::json},
                                                                        {".txt", Format::text},
                                                                        {".md", Format::markdown}}};
  const std::string ending = lower_case(fs::path(path).extension().string());
  for (const auto& [known, format] : endings) {
    if (ending == known) return format;
  }
  return std::nullopt;
}

Result<void> ReportWriter::add_output(const std::string& pattern) {
  const std::optional<Format> format = format_of(pattern);
  if (!format)
    return Error{ErrorCode::option_value, "unknown report extension", printable(pattern), ".pdf, .html, .json, .txt or .md", {}};
  outputs_.push_back({pattern, *format, nullptr});
  return {};
}

Result<void> ReportWriter::read_face(const ReportOptions& options) {
  std::string language = options.language;
  NamedBy by = NamedBy::user;
  if (!options.laboratory.empty()) {
    files_->add_input(options.laboratory);
    const Result<std::string> yaml = read_whole(options.laboratory, k_longest_yaml);
    if (!yaml.ok()) return yaml.errors();
    Result<LaboratoryFile> laboratory = read_laboratory(*yaml, options.laboratory);
    if (!laboratory.ok()) return laboratory.errors();
    letterhead_ = std::move(laboratory->letterhead);
    record_ = std::move(laboratory->record);
    budget_ = laboratory->budget;
    if (!laboratory->logo_file.empty()) {
      const Result<std::string> file = beside(options.laboratory, laboratory->logo_file);
      if (!file.ok()) return file.errors();
      files_->add_input(*file);
      Result<std::string> logo = read_whole(*file, k_longest_logo, NamedBy::file);
      if (!logo.ok()) return logo.errors();
      letterhead_.logo = *std::move(logo);
      if (const Result<void> drawn = check_logo_within_limits(letterhead_, *file); !drawn) return drawn.errors();
    }
    if (!laboratory->wording_file.empty()) {
      Result<std::string> file = beside(options.laboratory, laboratory->wording_file);
      if (!file.ok()) return file.errors();
      files_->add_input(*file);
      if (language.empty()) {
        language = *std::move(file);
        by = NamedBy::file;
      }
    }
  }
  if (language.empty()) return {};
  files_->add_input(language);
  const Result<std::string> yaml = read_whole(language, k_longest_yaml, by);
  if (!yaml.ok()) return yaml.errors();
  Result<Wording> wording = read_wording(*yaml, language);
  if (!wording.ok()) return wording.errors();
  wording_ = *std::move(wording);
  if (const std::vector<std::string> missing = missing_texts(wording_); !missing.empty())
    say(fmt::format("{}: {} of its texts are missing and stay English: {}", printable(language, 4096), missing.size(),
                    beginning_of(missing)));
  return {};
}

// A template is used for the reports with its file extension.
Result<void> ReportWriter::read_templates(const std::vector<std::string>& files) {
  for (const std::string& file : files) {
    const std::optional<Format> format = format_of(file);
    if (!format || *format == Format::pdf || *format == Format::json)
      return Error{ErrorCode::option_value, "no template ends like this", printable(file), ".html, .txt or .md", {}};
    files_->add_input(file);
    Result<std::string> text = read_whole(file, k_longest_template);
    if (!text.ok()) return text.errors();
    Complaints complaints(file);
    if (!check_text(*text, complaints)) return complaints.take();
    const auto layout = std::make_shared<const Template>(Template{file, *std::move(text)});
    bool used = false;
    for (Output& output : outputs_) {
      if (output.format != *format) continue;
      output.layout = layout;
      used = true;
    }
    if (!used)
      return Error{
          ErrorCode::option_conflict, "a template that no report uses", printable(file), "--report with the same ending", {}};
  }
  return {};
}

Result<ReportWriter> ReportWriter::make(const ReportOptions& options, Files& files) {
  ReportWriter writer(files);
  writer.annex_ = options.annex == "readings";
  writer.short_form_ = options.short_form;
  writer.opinions_ = options.opinions;
  for (const std::string& pattern : options.files) {
    if (const Result<void> added = writer.add_output(pattern); !added) return added.errors();
  }
  if (const Result<void> face = writer.read_face(options); !face) return face.errors();
  if (const Result<void> templates = writer.read_templates(options.templates); !templates) return templates.errors();
  return writer;
}

Result<std::vector<std::string>> ReportWriter::targets(const std::string& file) const {
  std::vector<std::string> paths;
  for (const Output& output : outputs_) {
    Result<std::string> path = path_of(output.pattern, file);
    if (!path.ok()) return path.errors();
    paths.push_back(*std::move(path));
  }
  return paths;
}

ReportSource ReportWriter::source_of(const CheckedFile& checked) const {
  const CheckedPiece& piece = checked.piece;
  ReportSource source;
  source.job = piece.job;
  source.letterhead = letterhead_;
  source.wording = wording_;
  source.readings = piece.readings;
  source.readings_left_out = piece.rows - static_cast<std::int64_t>(piece.readings.size());
  source.annex = annex_;
  source.short_form = short_form_;
  source.opinions = opinions_;
  source.diagnosis = piece.diagnosis;
  source.files = checked.files;
  return source;
}

// What a template prints last must not look like the mark of another report.
Result<std::string> ReportWriter::fill(const Report& report, const Output& output) const {
  const TemplateKind kind = output.format == Format::html ? TemplateKind::html : TemplateKind::text;
  Result<std::string> filled =
      in_own_process(output.layout->file, k_template_limits, [&] { return fill_template(report, output.layout->text, kind); });
  if (!filled.ok()) return filled;
  const std::string_view mark = mark_in(*filled);
  if (mark.empty() || mark == report_mark(report.source.job)) return filled;
  return Error{ErrorCode::wrong_value,
               "makes what looks like another report",
               printable(mark),
               "{{report.mark}} or no mark",
               {output.layout->file, 0, 0}};
}

Result<std::string> ReportWriter::render(const Report& report, const Output& output, const std::string& path) const {
  if (output.layout != nullptr) return fill(report, output);
  switch (output.format) {
    case Format::pdf: return render_pdf(report, path);
    case Format::html: return to_html(report);
    case Format::json: return to_json(report);
    case Format::markdown: return to_markdown(report);
    case Format::text: break;
  }
  return to_text(report);
}

// The readings of a job that came from standard input were not known before.
Result<std::optional<FileState>> ReportWriter::may_write(const std::string& path, const CheckedFile& checked) const {
  const std::string mark = report_mark(checked.piece.job);
  if (!checked.from_standard_input) return files_->may_write(path, mark);
  Files files = *files_;
  for (const std::string& read : readings_paths("-", checked.piece.job)) files.add_input(read);
  return files.may_write(path, mark);
}

Result<void> ReportWriter::write(const CheckedFile& checked, const std::string& file) const {
  const CheckedPiece& piece = checked.piece;
  const Report report = make_report(piece.assessment, source_of(checked));
  if (annex_ && report.source.readings_left_out > 0)
    return Error{ErrorCode::option_conflict,
                 "too many readings for an annex",
                 fmt::format("{} rows", piece.rows),
                 fmt::format("at most {}", k_most_in_annex),
                 {}};
  if (short_form_ && piece.job.paper.short_agreed.empty())
    return Error{ErrorCode::option_conflict,
                 "a short report that no customer agreed to (ISO/IEC 17025:2017, 7.8.1.3)",
                 "--short",
                 "short_agreed under report: in the job file, with whom and when",
                 {file, 0, 0}};
  const Result<std::vector<std::string>> paths = targets(file);
  if (!paths.ok()) return paths.errors();
  std::vector<std::string> documents;
  for (std::size_t i = 0; i < outputs_.size(); ++i) {
    Result<std::string> document = render(report, outputs_[i], (*paths)[i]);
    if (!document.ok()) return document.errors();
    documents.push_back(*std::move(document));
  }
  std::vector<std::optional<FileState>> replaced;
  for (const std::string& path : *paths) {
    Result<std::optional<FileState>> may = may_write(path, checked);
    if (!may.ok()) return may.errors();
    replaced.push_back(*may);
  }
  for (std::size_t i = 0; i < outputs_.size(); ++i) {
    if (const Result<void> written = write_file((*paths)[i], documents[i], replaced[i]); !written) return written.errors();
  }
  return {};
}

}  // namespace sievecloth::tool
