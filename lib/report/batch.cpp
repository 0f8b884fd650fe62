// Batches: one line per piece, with its worst margin.
#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "base/text.hpp"
#include "report/escape.hpp"
#include "report/phrases.hpp"
#include "report/shown.hpp"
#include "sievecloth/report.hpp"

namespace sievecloth {
namespace {

constexpr std::size_t k_cells = 7;
using Cells = std::array<std::string, k_cells>;

Cells cells_of(const BatchLine& line) {
  const std::string name = printable(line.name, 4096);
  if (!line.verdict) return {name, "error", "", "", "", "", line.error};
  Cells cells{name, std::string(to_text(*line.verdict)), line.provisional ? "provisional" : "", "", "", "", ""};
  if (!line.criterion) return cells;
  cells[3] = to_text(*line.criterion);
  cells[4] = line.direction ? to_text(*line.direction) : "";
  cells[5] = line.margin;
  cells[6] = fmt::format("{:.1f} %", 100 * line.share);
  return cells;
}

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

BatchLine summarize(std::string name, const Result<Assessment>& result) {
  BatchLine line{.name = std::move(name)};
  if (!result.ok()) {
    line.error = to_text(result.error());
    return line;
  }
  line.verdict = result->verdict;
  line.statement = result->statement ? to_text(*result->statement) : to_text(result->verdict);
  line.decision = result->conditions.decision;
  line.provisional = result->provisional;
  for (const Warning& warning : result->warnings) line.cautions.push_back(to_text(warning, *result));
  line.ignored_columns = result->ignored_columns;
  line.notes = erratum_sentences(result->specification);
  if (const std::optional<std::int64_t>& agreed = result->conditions.agreed_count)
    line.notes.push_back(fmt::format("a count of {} was agreed; it is not the edition's", *agreed));
  const std::optional<WorstMargin> worst = worst_margin(*result);
  if (!worst) return line;
  line.criterion = worst->criterion->id;
  line.direction = worst->criterion->direction;
  line.margin_um = *worst->criterion->margin_um;
  line.share = worst->share;
  const Wording english;
  const Words words(english);
  const Shown shown(*result, words);
  line.margin = fmt::format("{} {}", shown.margin(line.margin_um), shown.unit());
  return line;
}

std::string to_text(const std::vector<BatchLine>& batch) {
  std::vector<Cells> rows{{"piece", "verdict", "", "worst margin", "direction", "margin", "of what is allowed"}};
  rows.reserve(batch.size() + 1);
  for (const BatchLine& line : batch) rows.push_back(cells_of(line));
  std::array<std::size_t, k_cells> widths{};
  for (const Cells& row : rows) {
    for (std::size_t i = 0; i < k_cells; ++i) widths[i] = std::max(widths[i], character_count(row[i]));
  }
  std::string text;
  for (const Cells& row : rows) {
    for (std::size_t i = 0; i < k_cells; ++i) text += padded(row[i], widths[i]) + (widths[i] > 0 ? "  " : "");
    text.erase(text.find_last_not_of(' ') + 1);
    text += "\n";
  }
  for (const BatchLine& line : batch) {
    const std::string name = printable(line.name, 4096);
    for (const std::string& caution : line.cautions) text += fmt::format("caution: {}: {}\n", name, caution);
    for (const std::string& note : line.notes) text += fmt::format("note: {}: {}\n", name, note);
    if (!line.ignored_columns.empty()) text += fmt::format("columns ignored: {}: {}\n", name, ignored_columns(line));
  }
  return text;
}

std::string to_csv(const std::vector<BatchLine>& batch) {
  std::string csv =
      "piece,verdict,provisional,worst_margin,direction,margin_um,share_of_allowance,error,cautions,ignored_columns,notes\n";
  for (const BatchLine& line : batch) {
    const std::string name = csv_cell(line.name);
    if (!line.verdict) {
      csv += fmt::format("{},error,,,,,,{},,,\n", name, csv_cell(line.error));
      continue;
    }
    csv += fmt::format("{},{},{},", name, to_text(*line.verdict), line.provisional ? "provisional" : "");
    csv += line.criterion ? fmt::format("{},{},{},{},", to_text(*line.criterion), line.direction ? to_text(*line.direction) : "",
                                        line.margin_um, line.share)
                          : ",,,,";
    csv += fmt::format(",{},{},{}\n", csv_cell(fmt::format("{}", fmt::join(line.cautions, "; "))), csv_cell(ignored_columns(line)),
                       csv_cell(fmt::format("{}", fmt::join(line.notes, "; "))));
  }
  return csv;
}

}  // namespace sievecloth
