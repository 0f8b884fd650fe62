// The report on a piece as plain data, and its writers.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "sievecloth/assessment.hpp"
#include "sievecloth/diagnosis.hpp"
#include "sievecloth/drawing.hpp"
#include "sievecloth/job.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// The words of a report in one language; English is built in, and `report_file.hpp` reads others.
struct Wording {
  std::string language = "en";               ///< BCP 47
  char decimal_mark = '.';                   ///< of shown numbers
  std::map<std::string, std::string> texts;  ///< by key; a key that is not here is English
};

/// A laboratory's own face. Empty where not given.
struct Letterhead {
  /// What the bytes of the logo are.
  enum class LogoKind : std::uint8_t { none, png, svg };
  std::string name;                     ///< of the laboratory
  std::vector<std::string> address;     ///< lines
  std::string accreditation;            ///< as the laboratory states it
  LogoKind logo_kind = LogoKind::none;  ///< none where there is no logo
  std::string logo;                     ///< bytes of the picture
};

/// What a report is made from besides the assessment.
struct ReportSource {
  Job job;                             ///< its records; `Job{}` where there are none
  Letterhead letterhead;               ///< whose report it is
  Wording wording;                     ///< in which language
  std::vector<Reading> readings;       ///< in the order of measurement, for pictures and annex; may be empty
  std::int64_t readings_left_out = 0;  ///< further readings that are in the assessment but not in `readings`
  bool annex = false;                  ///< list all readings
  std::optional<Diagnosis> diagnosis;  ///< for the sections `how-sure` and `weave`, which are left out without it
  std::string readings_file;           ///< name of the file they came from
  std::string readings_sha256;         ///< of that file's bytes, in hexadecimal digits
};

/// What the writers know how to show, in any section.
struct Paragraph {
  std::string text;  ///< in the report's language
};
/// Short remarks, a line each.
struct Notes {
  std::vector<std::string> items;  ///< one line each
};
/// A name and its value, as shown.
struct Fact {
  std::string name;   ///< what it is
  std::string value;  ///< as shown
};
/// Facts below each other.
struct Facts {
  std::vector<Fact> facts;  ///< in their order
};
/// One cell of a table.
struct TableCell {
  std::string text;     ///< as shown
  bool strong = false;  ///< stands out
};
/// One column of a table.
struct TableColumn {
  std::string title;    ///< at the head of the column
  bool number = false;  ///< set to the right
};
/// A row with a single cell is a heading over the rows below it.
struct Table {
  std::vector<TableColumn> columns;          ///< from left to right
  std::vector<std::vector<TableCell>> rows;  ///< from top to bottom; a cell for each column, or one alone
};
/// A drawing with its title.
struct Picture {
  std::string title;  ///< what can be seen
  Drawing drawing;    ///< as shapes
  std::string key;    ///< what its lines and marks mean
};
/// Pictures that stand side by side where there is room.
struct Pictures {
  std::vector<Picture> pictures;  ///< from left to right
};
/// Lines to sign on, each with what stands below it.
struct Signatures {
  std::vector<std::string> names;  ///< what stands below each line
};
/// Anything that a section can hold.
using Block = std::variant<Paragraph, Notes, Facts, Table, Pictures, Signatures>;

/// A part of the report under a title.
struct Section {
  std::string id;             ///< the same in every language: `piece`, `criteria`
  std::string title;          ///< in the report's language
  std::vector<Block> blocks;  ///< from top to bottom
  bool new_page = false;      ///< begins a page, where there are pages and the last one has not just begun
};

/// Something the reader of the verdict must know: a name that stays the same in every language, and the sentence.
struct Caution {
  std::string id;        ///< the same in every language
  std::string sentence;  ///< in the report's language
};

/// The margin that comes closest to its limit, or lies furthest beyond it, as a share of what the limit allows: Y, X, the permitted
/// standard deviation, or half the range of the wire.
struct WorstMargin {
  const Criterion* criterion = nullptr;  ///< of the assessment
  double share = 0;                      ///< 1 in the middle, 0 on the limit, negative beyond it
};

/// None where no length was judged.
std::optional<WorstMargin> worst_margin(const Assessment& assessment);

/// A report: everything it says, in its language and with its numbers written out, and what it was made from.
struct Report {
  std::string title;                    ///< `Inspection report`
  std::string subject;                  ///< size, standard and grade
  std::string number;                   ///< as shown; a phrase where there is none
  std::string verdict;                  ///< in words
  std::vector<std::string> qualifiers;  ///< what qualifies the verdict, a clause each
  std::vector<Fact> facts;              ///< number, dates and customer, at the head
  std::vector<Caution> cautions;        ///< what the reader must know of the verdict
  std::vector<Section> sections;        ///< from top to bottom
  std::string page_pattern;             ///< `page {page} of {pages}`
  Assessment assessment;                ///< what is reported
  ReportSource source;                  ///< what it was made from besides
};

/// Makes the report. No clock, no file, no locale: the same input gives the same report.
Report make_report(const Assessment& assessment, ReportSource source);

/// Plain text, lines of at most 100 characters apart from tables.
std::string to_text(const Report& report);
/// Markdown with tables; pictures are left out.
std::string to_markdown(const Report& report);
/// One HTML5 file without script and without a reference to anything outside it; all text from outside is escaped.
std::string to_html(const Report& report);
/// The document of `to_json(assessment)` with the member `report`.
std::string to_json(const Report& report);

/// One JSON document, `"schema": "sievecloth-assessment/1"`; docs/assessment.schema.json describes it. `*_um` are micrometres;
/// every number is the shortest decimal that gives back the nearest double.
std::string to_json(const Assessment& assessment);

/// The same with the members `how_sure`, `how_sure_warp`, `how_sure_weft` and `weave`, where there is a diagnosis.
std::string to_json(const Assessment& assessment, const std::optional<Diagnosis>& diagnosis);

/// Plain text, English: uncertainty and confidence intervals of the assessment, and the signs of weave faults, a sentence beside
/// each figure.
std::string to_text(const Assessment& assessment, const Diagnosis& diagnosis);

/// Plain text: the verdict, a line for each criterion and direction, what was not examined, what makes it provisional.
std::string to_text(const Assessment& assessment);

/// What a warning says, as one sentence.
std::string to_text(const Warning& warning, const Assessment& assessment);

/// What a summary says of one piece of a batch: so little that tens of thousands can be kept.
struct BatchLine {
  std::string name;                          ///< as the caller named it
  std::optional<Verdict> verdict;            ///< empty where an error kept it from one
  std::string error;                         ///< which, as one line
  bool provisional = false;                  ///< of the verdict
  std::optional<CriterionId> criterion;      ///< whose margin is the worst; empty where none has one
  std::optional<Direction> direction;        ///< of that; empty where no length was judged
  double margin_um = 0;                      ///< the margin [um]
  double share = 0;                          ///< of what the limit allows, as in WorstMargin
  std::string margin;                        ///< as shown, with its unit
  std::vector<std::string> cautions;         ///< what the readings look like, a sentence each
  std::vector<std::string> ignored_columns;  ///< of the piece's readings
  std::vector<std::string> notes;            ///< what was put right in the table, and a count that was agreed, a sentence each
};

/// The line of a piece, or of what kept it from an assessment.
BatchLine summarize(std::string name, const Result<Assessment>& result);

/// One line for each piece with its worst margin, as a table for the eye; then the cautions and the columns ignored.
std::string to_text(const std::vector<BatchLine>& batch);
/// The same as CSV, comma separated, decimal point. No cell can be taken for a formula.
std::string to_csv(const std::vector<BatchLine>& batch);

/// One piece of a batch: its name, and the assessment or what kept it from one.
struct BatchPiece {
  std::string name;                      ///< as the caller named it
  Result<Assessment> result;             ///< or why there is none
  std::optional<Diagnosis> diagnosis{};  ///< only where it was asked for
};

/// One JSON document, `"schema": "sievecloth-batch/1"`, with the assessment or the errors of each piece.
std::string to_json(const std::vector<BatchPiece>& batch);

/// Errors as one JSON document, `"schema": "sievecloth-error/1"`.
std::string to_json(const Errors& errors);

}  // namespace sievecloth
