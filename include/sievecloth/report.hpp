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

/// The wording of a report in one language; English is built in, and `report_file.hpp` reads others.
struct Wording {
  std::string language = "en";                       ///< BCP 47
  char decimal_mark = '.';                           ///< of shown numbers
  std::map<std::string, std::string> texts;          ///< by key; missing keys are in English
  std::map<std::string, std::string> table_texts{};  ///< titles of sources, and what a table rests on, by their English
};

/// Laboratory branding. Empty if not given.
struct Letterhead {
  /// Format of the logo.
  enum class LogoKind : std::uint8_t { none, png, svg };
  std::string name;                     ///< of the laboratory
  std::vector<std::string> address;     ///< lines
  std::string accreditation;            ///< as the laboratory states it
  LogoKind logo_kind = LogoKind::none;  ///< none if there is no logo
  std::string logo;                     ///< bytes of the image
};

/// A file of readings.
struct DigestedFile {
  std::string name;                         ///< as the job names it
  std::string sha256;                       ///< of its bytes, in hexadecimal digits
  std::optional<Direction> direction = {};  ///< of all its readings, if the job says so
  std::int64_t lines_before = 0;            ///< lines of the files before it, which the numbers of its lines include
};

/// The inputs of a report besides the assessment.
struct ReportSource {
  Job job;                             ///< its records; `Job{}` where there are none
  Letterhead letterhead;               ///< branding of the laboratory
  Wording wording;                     ///< language and texts
  std::vector<Reading> readings;       ///< in the order of measurement, for charts and annex; may be empty or a part
  std::int64_t readings_left_out = 0;  ///< rows of readings that are not in `readings`
  bool annex = false;                  ///< list all readings
  bool short_form = false;             ///< what is required on one page, for a customer who agreed to it (`short_agreed` of the job)
  bool opinions = false;               ///< state signs of weave faults on a certificate too
  std::optional<Diagnosis> diagnosis;  ///< for the sections `how-sure` and `weave`, which are omitted without it
  std::vector<DigestedFile> files;     ///< that the readings came from, in the order in which they were read
};

/// A paragraph of text; like every block below, it may appear in any section.
struct Paragraph {
  std::string text;  ///< in the report's language
};
/// Short remarks, one line each.
struct Notes {
  std::vector<std::string> items;  ///< one line each
};
/// A name and its value, as shown.
struct Fact {
  std::string name;   ///< what it is
  std::string value;  ///< as shown
};
/// A list of facts.
struct Facts {
  std::vector<Fact> facts;  ///< in their order
};
/// One cell of a table.
struct TableCell {
  std::string text;                  ///< as shown
  bool strong = false;               ///< emphasised
  std::optional<Drawing> drawing{};  ///< instead of a text, in a column of drawings
};
/// One column of a table.
struct TableColumn {
  std::string title;     ///< column heading
  bool number = false;   ///< right-aligned
  bool drawing = false;  ///< its cells draw what the row says otherwise; text and Markdown omit it
};
/// A row with a single cell is a heading over the rows below it.
struct Table {
  std::vector<TableColumn> columns;          ///< from left to right
  std::vector<std::vector<TableCell>> rows;  ///< from top to bottom; one cell per column, or a single one
  std::string key = {};                      ///< legend of its drawings, omitted where they are
  bool side_by_side = false;                 ///< many narrow rows, without headings: set in as many columns of rows as fit
};
/// A drawing with its title.
struct Picture {
  std::string title;  ///< what it shows
  Drawing drawing;    ///< as shapes
  std::string key;    ///< legend of its lines and marks
  bool wide = false;  ///< takes the whole width
};
/// Charts, set side by side if there is room.
struct Pictures {
  std::vector<Picture> pictures;  ///< from left to right
};
/// Signature lines, each with its caption.
struct Signatures {
  std::vector<std::string> names;  ///< caption of each line
};
/// Any content of a section.
using Block = std::variant<Paragraph, Notes, Facts, Table, Pictures, Signatures>;

/// A part of the report under a title.
struct Section {
  std::string id;             ///< the same in every language: `piece`, `criteria`
  std::string title;          ///< in the report's language
  std::vector<Block> blocks;  ///< from top to bottom
};

/// Something that the reader of the verdict must know: a language-independent name and a sentence.
struct Caution {
  std::string id;        ///< the same in every language
  std::string sentence;  ///< in the report's language
};

/// The margin closest to its limit, or furthest beyond it, as a share of the allowance: Y, X, the permitted standard deviation, or
/// half the range of the wire.
struct WorstMargin {
  const Criterion* criterion = nullptr;  ///< of the assessment
  double share = 0;                      ///< 1 in the middle, 0 on the limit, negative beyond it
};

/// Returns the worst margin; empty if no length was judged.
std::optional<WorstMargin> worst_margin(const Assessment& assessment);

/// A report: its complete contents, in its language and with numbers formatted, and what it was made from.
struct Report {
  std::string title;                    ///< `Inspection report`
  std::string page_head;                ///< at the head of each page; empty, or `DRAFT`
  std::string subject;                  ///< size, standard and grade
  std::string number;                   ///< as shown; a phrase if there is none
  std::string verdict;                  ///< in words
  std::vector<std::string> qualifiers;  ///< qualifications of the verdict, one clause each
  std::vector<Fact> facts;              ///< number, dates and customer, for the head of the report
  std::vector<Caution> cautions;        ///< what the reader must know about the verdict
  std::vector<Section> sections;        ///< from top to bottom
  std::string page_pattern;             ///< `page {page} of {pages}`
  Assessment assessment;                ///< what is reported
  ReportSource source;                  ///< the other inputs
};

/// Makes the report. Uses no clock, file or locale: the same input gives the same report.
Report make_report(const Assessment& assessment, ReportSource source);

/// Plain text, lines of at most 100 characters apart from tables.
std::string to_text(const Report& report);
/// Markdown with tables; charts are omitted.
std::string to_markdown(const Report& report);
/// A self-contained HTML5 file without script or external references; all external text is escaped.
std::string to_html(const Report& report);
/// The document of `to_json(assessment)` plus the member `report`.
std::string to_json(const Report& report);

/// One JSON document, `"schema": "sievecloth-assessment/1"`; docs/assessment.schema.json describes it. `*_um` are micrometres;
/// every number is the shortest decimal that converts back to the nearest double.
std::string to_json(const Assessment& assessment);

/// The same plus the members `how_sure`, `how_sure_warp`, `how_sure_weft` and `weave`, if there is a diagnosis.
std::string to_json(const Assessment& assessment, const std::optional<Diagnosis>& diagnosis);

/// Plain text, English: uncertainty and confidence intervals of the assessment, and the signs of weave faults, with a sentence for
/// each figure.
std::string to_text(const Assessment& assessment, const Diagnosis& diagnosis);

/// Plain text: the verdict, a line for each criterion and direction, what was not examined, and what makes it provisional.
std::string to_text(const Assessment& assessment);

/// Formats a warning as one sentence.
std::string to_text(const Warning& warning, const Assessment& assessment);

/// Cautions about the records, besides those about the readings: a further examination that was not met, a certificate of the length
/// standard that was due, what the kind of document must hold and does not. One English sentence each.
std::vector<std::string> record_cautions(const Assessment& assessment, const Job& job, const Letterhead& letterhead);

/// The verdict on a piece by another edition, beside the one that counts.
struct ComparedVerdict {
  std::string standard;              ///< name of that edition
  std::optional<Verdict> verdict;    ///< empty if an error prevented one
  bool provisional = false;          ///< of the verdict
  std::vector<std::string> not_met;  ///< criteria, as `average-aperture warp`
  std::string error;                 ///< that error, as one line
};

/// Returns that verdict. `standard`: name of the edition.
ComparedVerdict compared_verdict(std::string standard, const Result<Assessment>& result);

/// Summary of one piece of a batch, small enough to keep tens of thousands.
struct BatchLine {
  std::string name;                              ///< as the caller named it
  std::string serial;                            ///< serial number; empty if not given, as the report's number
  std::string state;                             ///< `as found` or `as left`; empty if not given
  std::string size;                              ///< designation
  std::string grade;                             ///< its name; empty in an edition without grades
  std::string report;                            ///< number of the report
  std::optional<Verdict> verdict;                ///< empty if an error prevented one
  std::string statement;                         ///< of the decision rule, or the verdict again
  DecisionRule decision = DecisionRule::simple;  ///< the decision rule
  std::string error;                             ///< that error, as one line
  bool provisional = false;                      ///< of the verdict
  std::vector<std::string> not_met;              ///< criteria, as `average-aperture warp`
  std::vector<std::string> undecided;            ///< criteria, likewise
  std::vector<std::string> reasons;              ///< why they are not met or undecided: criteria, a colon and a clause
  std::optional<CriterionId> criterion;          ///< with the worst margin; empty if none has a margin
  std::optional<Direction> direction;            ///< of that criterion; empty if no length was judged
  double margin_um = 0;                          ///< the margin [um]
  double share = 0;                              ///< of the allowance, as in WorstMargin
  std::string margin;                            ///< as shown, with its unit
  std::vector<std::string> cautions;             ///< mistakes that the readings suggest, one sentence each
  std::vector<std::string> ignored_columns;      ///< of the piece's readings
  std::vector<std::string> notes;                ///< corrections of the table, and an agreed count, one sentence each
  std::optional<ComparedVerdict> compared;       ///< by another edition, if it was asked for
};

/// Summarises a piece, or the error that prevented its assessment. `job`: its records; `Job{}` where there are none.
BatchLine summarize(std::string name, const Result<Assessment>& result, const Job& job);

/// A human-readable table, one line per piece with its worst margin; below it the reasons of what is not met or undecided, the
/// cautions, the ignored columns and the notes of each piece, and at the end how many pieces have which verdict.
std::string to_text(const std::vector<BatchLine>& batch);
/// The same as CSV, comma separated, with decimal points and without the totals, which would be one more piece to a spreadsheet. No
/// cell can be interpreted as a formula.
std::string to_csv(const std::vector<BatchLine>& batch);

/// One piece of a batch: its name, and the assessment or the errors that prevented it.
struct BatchPiece {
  std::string name;                      ///< as the caller named it
  Result<Assessment> result;             ///< the assessment, or the errors
  std::optional<Diagnosis> diagnosis{};       ///< only if requested
  std::optional<ComparedVerdict> compared{};  ///< likewise
};

/// One JSON document, `"schema": "sievecloth-batch/1"`, with the assessment or the errors of each piece.
std::string to_json(const std::vector<BatchPiece>& batch);

/// Errors as one JSON document, `"schema": "sievecloth-error/1"`.
std::string to_json(const Errors& errors);

}  // namespace sievecloth
