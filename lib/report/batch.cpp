// Several pieces: one line for each, with the margin that decides first.
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

// What the limit allows: the distance from the best value to the limit [um].
std::optional<double> allowance_um(const Criterion& criterion, const Row& row) {
  switch (criterion.id) {
    case CriterionId::average_aperture: return row.average_tolerance.value.um();
    case CriterionId::maximum_aperture: return row.maximum_tolerance.value.um();
    case CriterionId::aperture_standard_deviation: return criterion.upper->um();
    case CriterionId::wire_diameter: return (*criterion.upper - *criterion.lower).um() / 2;
    default: return std::nullopt;
  }
}

constexpr std::size_t k_cells = 7;
using Line = std::array<std::string, k_cells>;

std::string percent(double share) { return fmt::format("{:.1f}", 100 * share); }

Line line_of(const BatchPiece& piece, bool with_units) {
  if (!piece.result.ok()) return {piece.name, "error", "", "", "", "", to_text(piece.result.error())};
  const Assessment& assessment = *piece.result;
  Line line{piece.name, std::string(to_text(assessment.verdict)), assessment.provisional ? "provisional" : "", "", "", "", ""};
  const std::optional<WorstMargin> worst = worst_margin(assessment);
  if (!worst) return line;
  line[3] = to_text(worst->criterion->id);
  line[4] = to_text(*worst->criterion->direction);
  const Wording english;
  const Words words(english);
  const Shown shown(assessment, words);
  line[5] = with_units ? fmt::format("{} {}", shown.margin(*worst->criterion->margin_um), shown.unit())
                       : fmt::format("{}", *worst->criterion->margin_um);
  line[6] = with_units ? percent(worst->share) + " %" : fmt::format("{}", worst->share);
  return line;
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

std::string to_text(const std::vector<BatchPiece>& batch) {
  std::vector<Line> lines{{"piece", "verdict", "", "worst margin", "direction", "margin", "of what is allowed"}};
  for (const BatchPiece& piece : batch) {
    lines.push_back(line_of(piece, true));
    lines.back()[0] = printable(piece.name, 4096);
  }
  std::array<std::size_t, k_cells> widths{};
  for (const Line& line : lines) {
    for (std::size_t i = 0; i < k_cells; ++i) widths[i] = std::max(widths[i], character_count(line[i]));
  }
  std::string text;
  for (const Line& line : lines) {
    std::string row;
    for (std::size_t i = 0; i < k_cells; ++i) row += padded(line[i], widths[i]) + (widths[i] > 0 ? "  " : "");
    row.erase(row.find_last_not_of(' ') + 1);
    text += row + "\n";
  }
  return text;
}

std::string to_csv(const std::vector<BatchPiece>& batch) {
  std::string csv = "piece,verdict,provisional,worst_margin,direction,margin_um,share_of_allowance,error\n";
  for (const BatchPiece& piece : batch) {
    const Line line = line_of(piece, false);
    const bool ok = piece.result.ok();
    csv += fmt::format("{},{},{},{},{},{},{},{}\n", csv_cell(piece.name), line[1], line[2], line[3], line[4], line[5],
                       ok ? line[6] : "", ok ? "" : csv_cell(line[6]));
  }
  return csv;
}

}  // namespace sievecloth
