// The reports written by `check`: which, with which branding and wording, and where.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "files.hpp"
#include "piece.hpp"
#include "sievecloth/report.hpp"

namespace sievecloth::tool {

/// Report options of the command line.
struct ReportOptions {
  std::vector<std::string> files;  ///< the extension selects the writer; `{}` stands for the name of the piece's file
  std::string annex;
  bool short_form = false;
  bool opinions = false;
  std::string laboratory;
  std::string language;
  std::vector<std::string> templates;
};

/// Data shared by the reports of all pieces, read and checked before the first piece.
class ReportWriter {
 public:
  /// Errors: option_value (an extension without a writer), option_conflict (a template that no report uses), and those of the
  /// laboratory file, its logo, the wording and the templates. Files that are read are added to `files`, which must outlive the
  /// writer.
  static Result<ReportWriter> make(const ReportOptions& options, Files& files);

  bool wanted() const noexcept { return !outputs_.empty(); }
  /// What the laboratory states about itself besides its branding.
  const Letterhead& letterhead() const noexcept { return letterhead_; }
  const LaboratoryRecord& record() const noexcept { return record_; }
  const StatedUncertainties& budget() const noexcept { return budget_; }
  /// How many readings of each piece the reports need.
  std::size_t keep_readings() const noexcept { return !wanted() ? 0 : annex_ ? k_most_in_annex : k_most_in_charts; }

  /// The report files of the piece in `file`. Errors: option_value (a file name that `{}` cannot stand for).
  Result<std::vector<std::string>> targets(const std::string& file) const;

  /// Makes all reports of a piece, then writes them. Errors: cannot_create, write_failed, option_conflict (an annex of more
  /// readings than are kept), wrong_value (a template that cannot be filled).
  Result<void> write(const CheckedFile& checked, const std::string& file) const;

 private:
  enum class Format { pdf, html, json, text, markdown };
  struct Template {
    std::string file;
    std::string text;
  };
  struct Output {
    std::string pattern;
    Format format = Format::text;
    std::shared_ptr<const Template> layout;
  };

  explicit ReportWriter(Files& files) : files_(&files) {}

  static std::optional<Format> format_of(const std::string& path);
  Result<void> add_output(const std::string& pattern);
  Result<void> read_face(const ReportOptions& options);
  Result<void> read_templates(const std::vector<std::string>& files);
  Result<std::string> render(const Report& report, const Output& output, const std::string& path) const;
  Result<std::optional<FileState>> may_write(const std::string& path, const CheckedFile& checked) const;
  Result<std::string> fill(const Report& report, const Output& output) const;
  ReportSource source_of(const CheckedFile& checked) const;

  Files* files_;
  std::vector<Output> outputs_;
  Letterhead letterhead_;
  Wording wording_;
  LaboratoryRecord record_;
  StatedUncertainties budget_;
  bool annex_ = false;
  bool short_form_ = false;
  bool opinions_ = false;
};

}  // namespace sievecloth::tool
