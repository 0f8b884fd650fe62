// Batches: one line per piece, with its worst margin.
#include <algorithm>
#include <array>
#include <utility>

#include <fmt/format.h>

#include "base/text.hpp"
#include "report/escape.hpp"
#include "report/phrases.hpp"
#include "report/shown.hpp"
#include "sievecloth/report.hpp"

namespace sievecloth {
namespace {

constexpr auto k_heads = std::to_array<std::string_view>(
    {"piece", "verdict", "", "by the other edition", "serial", "state", "size", "grade", "report", "worst margin", "direction", "margin", "of what is allowed"});
using Cells = std::array<std::string, k_heads.size()>;

// The decision rule and what it says are named where they are not those of simple acceptance.
std::string verdict_of(const BatchLine& line) {
  if (!line.verdict) return "error";
  std::string text(to_text(*line.verdict));
  if (line.decision == DecisionRule::simple) return text;
  if (line.statement != text) text += fmt::format(" ({})", line.statement);
  return text + fmt::format(", {}", to_text(line.decision));
}

// `does-not-conform by astm-e11-24, provisional`
std::string to_text(const ComparedVerdict& compared) {
  return fmt::format("{} by {}{}", compared.verdict ? to_text(*compared.verdict) : "error", compared.standard,
                     compared.provisional ? ", provisional" : "");
}

Cells cells_of(const BatchLine& line) {
  const auto shown = [](const std::string& text) { return printable(text, 4096); };
  Cells cells{shown(line.name),
              verdict_of(line),
              line.provisional ? "provisional" : "",
              line.compared ? to_text(*line.compared) : std::string(),
              shown(line.serial),
              line.state,
              line.size,
              line.grade,
              shown(line.report)};
  if (!line.verdict) cells.back() = line.error;
  if (!line.criterion) return cells;
  cells[9] = to_text(*line.criterion);
  cells[10] = line.direction ? to_text(*line.direction) : "";
  cells[11] = line.margin;
  cells[12] = fmt::format("{:.1f} %", 100 * line.share);
  return cells;
}

// Columns in which no piece has anything are left out.
std::string table_of(const std::vector<BatchLine>& batch) {
  std::vector<Cells> rows(1);
  std::copy(k_heads.begin(), k_heads.end(), rows.front().begin());
  for (const BatchLine& line : batch) rows.push_back(cells_of(line));
  std::array<std::size_t, k_heads.size()> widths{};
  for (std::size_t i = 0; i < widths.size(); ++i) {
    const bool empty = std::all_of(rows.begin() + 1, rows.end(), [&](const Cells& row) { return row[i].empty(); });
    for (const Cells& row : rows) widths[i] = empty ? 0 : std::max(widths[i], character_count(row[i]));
  }
  std::string text;
  for (const Cells& row : rows) {
    for (std::size_t i = 0; i < widths.size(); ++i) {
      if (widths[i] > 0) text += padded(row[i], widths[i]) + "  ";
    }
    text.erase(text.find_last_not_of(' ') + 1);
    text += "\n";
  }
  return text;
}

// `3 pieces: 1 conforms, 1 undecided, 1 does-not-conform, 0 errors`
std::string totals_of(const std::vector<BatchLine>& batch) {
  const auto count = [&](const std::optional<Verdict>& verdict) {
    return std::count_if(batch.begin(), batch.end(), [&](const BatchLine& line) { return line.verdict == verdict; });
  };
  std::string text = fmt::format("{} piece{}: ", batch.size(), batch.size() == 1 ? "" : "s");
  for (const Verdict verdict : {Verdict::conforms, Verdict::undecided, Verdict::does_not_conform})
    text += fmt::format("{} {}, ", count(verdict), to_text(verdict));
  const auto errors = count(std::nullopt);
  text += fmt::format("{} error{}\n", errors, errors == 1 ? "" : "s");
  const auto differs = [](const BatchLine& line) { return line.compared && line.compared->verdict != line.verdict; };
  if (std::any_of(batch.begin(), batch.end(), [](const BatchLine& line) { return line.compared.has_value(); }))
    text += fmt::format("another verdict by the other edition: {}\n", std::count_if(batch.begin(), batch.end(), differs));
  return text;
}

// `average-aperture warp`
std::string name_of(const Criterion& criterion) {
  const std::string_view direction = criterion.direction ? to_text(*criterion.direction) : "";
  return fmt::format("{}{}{}", to_text(criterion.id), direction.empty() ? "" : " ", direction);
}

// Why a criterion is not met: what was measured, and what is allowed.
std::string failure_phrase(const Criterion& criterion, const Shown& shown) {
  if (criterion.finding) return "failed";
  if (!criterion.observed_um) return fmt::format("{} against {}", criterion.observed.value_or(0), criterion.limit.value_or(0));
  const bool guarded = criterion.statement == Statement::not_accepted;
  const std::optional<Length>& lower = guarded ? criterion.acceptance_lower : criterion.lower;
  const std::optional<Length>& upper = guarded ? criterion.acceptance_upper : criterion.upper;
  return fmt::format("{} {}, {} {}{} {}", shown.observed(criterion), shown.unit(), guarded ? "accepted" : "allowed",
                     lower ? shown.exact(*lower) + " to " : "at most ", upper ? shown.exact(*upper) : "", shown.unit());
}

// Fills in what is not met or undecided; criteria with the same reason share it.
void add_open_criteria(BatchLine& line, const Assessment& assessment, const Shown& shown, const Words& words) {
  std::vector<std::pair<std::string, std::vector<std::string>>> by_reason;
  const auto add = [&](const std::string& reason, const std::string& name) {
    auto known = std::find_if(by_reason.begin(), by_reason.end(), [&](const auto& each) { return each.first == reason; });
    if (known == by_reason.end()) known = by_reason.insert(known, {reason, {}});
    known->second.push_back(name);
  };
  for (const Criterion& criterion : assessment.criteria) {
    const bool failed = criterion.outcome == Outcome::not_met;
    if (!failed && criterion.outcome != Outcome::undecided) continue;
    (failed ? line.not_met : line.undecided).push_back(name_of(criterion));
    if (failed) add(failure_phrase(criterion, shown), name_of(criterion));
    for (const Reason reason : criterion.reasons) add(reason_phrase(reason, criterion, assessment, words), name_of(criterion));
  }
  for (const auto& [reason, names] : by_reason) line.reasons.push_back(fmt::format("{}: {}", fmt::join(names, ", "), reason));
}

// Texts of a cell, one after another.
std::string joined(const std::vector<std::string>& texts) { return csv_cell(fmt::format("{}", fmt::join(texts, "; "))); }

std::string ignored_columns(const BatchLine& line) {
  return printable(fmt::format("{}", fmt::join(line.ignored_columns, ", ")), 4096);
}

}  // namespace

std::optional<WorstMargin> worst_margin(const Assessment& assessment) {
  std::optional<WorstMargin> worst;
  for (const Criterion& criterion : assessment.criteria) {
    if (criterion.outcome == Outcome::not_applicable || !criterion.margin_um) continue;
    const std::optional<double> allowance = allowance_um(criterion, *assessment.specification.row);
    if (!allowance || *allowance <= 0) continue;
    const double share = *criterion.margin_um / *allowance;
    if (!worst || share < worst->share) worst = WorstMargin{&criterion, share};
  }
  return worst;
}

BatchLine summarize(std::string name, const Result<Assessment>& result, const Job& job) {
  BatchLine line{.name = std::move(name), .serial = job.piece_record.serial, .state = job.piece_record.state, .report = job.paper.number};
  if (!result.ok()) {
    line.error = to_text(result.error());
    return line;
  }
  const Specification& specification = result->specification;
  line.size = specification.row->designation;
  if (specification.grade) line.grade = to_text(*specification.grade);
  line.verdict = result->verdict;
  line.statement = result->statement ? to_text(*result->statement) : to_text(result->verdict);
  line.decision = result->conditions.decision;
  line.provisional = result->provisional;
  for (const Warning& warning : result->warnings) line.cautions.push_back(to_text(warning, *result));
  line.ignored_columns = result->ignored_columns;
  line.notes = erratum_sentences(specification);
  if (const std::optional<std::int64_t>& agreed = result->conditions.agreed_count)
    line.notes.push_back(fmt::format("a count of {} was agreed; it is not the edition's", *agreed));
  const Wording english;
  const Words words(english);
  const Shown shown(*result, words);
  add_open_criteria(line, *result, shown, words);
  const std::optional<WorstMargin> worst = worst_margin(*result);
  if (!worst) return line;
  line.criterion = worst->criterion->id;
  line.direction = worst->criterion->direction;
  line.margin_um = *worst->criterion->margin_um;
  line.share = worst->share;
  line.margin = fmt::format("{} {}", shown.margin(*worst->criterion), shown.unit());
  return line;
}

ComparedVerdict compared_verdict(std::string standard, const Result<Assessment>& result) {
  ComparedVerdict compared{.standard = std::move(standard)};
  if (!result.ok()) {
    compared.error = to_text(result.error());
    return compared;
  }
  compared.verdict = result->verdict;
  compared.provisional = result->provisional;
  for (const Criterion& criterion : result->criteria) {
    if (criterion.outcome == Outcome::not_met) compared.not_met.push_back(name_of(criterion));
  }
  return compared;
}

std::string to_text(const std::vector<BatchLine>& batch) {
  std::string text = table_of(batch);
  for (const BatchLine& line : batch) {
    const std::string name = printable(line.name, 4096);
    if (const auto& compared = line.compared; compared && !compared->error.empty())
      text += fmt::format("by {}: {}: {}\n", compared->standard, name, compared->error);
    if (const auto& compared = line.compared; compared && !compared->not_met.empty())
      text += fmt::format("by {}: {}: not met: {}\n", compared->standard, name, fmt::join(compared->not_met, ", "));
    for (const std::string& reason : line.reasons) text += fmt::format("reason: {}: {}\n", name, reason);
    for (const std::string& caution : line.cautions) text += fmt::format("caution: {}: {}\n", name, caution);
    for (const std::string& note : line.notes) text += fmt::format("note: {}: {}\n", name, note);
    if (!line.ignored_columns.empty()) text += fmt::format("columns ignored: {}: {}\n", name, ignored_columns(line));
  }
  return text + totals_of(batch);
}

std::string to_csv(const std::vector<BatchLine>& batch) {
  std::string csv =
      "piece,verdict,provisional,serial,state,size,grade,report,statement,decision_rule,not_met,undecided,reasons,worst_margin,direction,"
      "margin_um,"
      "share_of_allowance,error,cautions,ignored_columns,notes,other_standard,other_verdict,other_provisional,other_not_met,other_error\n";
  for (const BatchLine& line : batch) {
    csv += fmt::format("{},{},{},{},{},{},{},{},", csv_cell(line.name), line.verdict ? to_text(*line.verdict) : "error",
                       line.provisional ? "provisional" : "", csv_cell(line.serial), csv_cell(line.state), csv_cell(line.size), line.grade,
                       csv_cell(line.report));
    csv += fmt::format("{},{},", line.statement, line.verdict ? to_text(line.decision) : "");
    csv += fmt::format("{},{},{},", joined(line.not_met), joined(line.undecided), joined(line.reasons));
    csv += line.criterion ? fmt::format("{},{},{},{},", to_text(*line.criterion), line.direction ? to_text(*line.direction) : "",
                                        line.margin_um, line.share)
                          : ",,,,";
    csv += fmt::format("{},{},{},{},", csv_cell(line.error), joined(line.cautions), csv_cell(ignored_columns(line)),
                       joined(line.notes));
    const ComparedVerdict other = line.compared.value_or(ComparedVerdict());
    csv += fmt::format("{},{},{},{},{}\n", csv_cell(other.standard),
                       other.verdict ? to_text(*other.verdict) : line.compared ? "error" : "", other.provisional ? "provisional" : "",
                       joined(other.not_met), csv_cell(other.error));
  }
  return csv;
}

}  // namespace sievecloth
