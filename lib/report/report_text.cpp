#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "base/text.hpp"
#include "report/phrases.hpp"
#include "report/shown.hpp"
#include "sievecloth/report.hpp"

namespace sievecloth {
namespace {

// Terminal output is in English.
const Words& english() {
  static const Wording wording;
  static const Words words(wording);
  return words;
}

// Criterion, direction, outcome, observed, limit, margin, n.
using Line = std::array<std::string, 7>;

std::string count_text(const std::optional<RequiredCount>& required) {
  if (!required) return "not known";
  if (required->count == k_all) return "all";
  return fmt::format("at least {}{}", required->count, required->basis ? "" : " (agreed)");
}

std::string limit_with_guard(const Criterion& criterion, const Shown& shown) {
  const std::string accepted = criterion.acceptance_lower ? fmt::format("{} to {}", shown.exact(*criterion.acceptance_lower),
                                                                        shown.quantity(*criterion.acceptance_upper))
                                                          : "at most " + shown.quantity(*criterion.acceptance_upper);
  const std::string tolerance = criterion.lower
                                    ? fmt::format("{} to {}", shown.exact(*criterion.lower), shown.exact(*criterion.upper))
                                    : shown.exact(*criterion.upper);
  return fmt::format("{} (tolerance {}, guard band {})", accepted, tolerance, shown.exact(*criterion.guard));
}

std::string limit_text(const Criterion& criterion, const Assessment& assessment, const Shown& shown) {
  if (criterion.acceptance_upper) return limit_with_guard(criterion, shown);
  switch (compared_by(criterion.id)) {
    case Compared::finding: return "passed";
    case Compared::count: return count_text(assessment.required);
    case Compared::share: return criterion.limit ? fmt::format("at most {} %", *criterion.limit) : "-";
    case Compared::length: break;
  }
  if (criterion.lower) return fmt::format("{} to {}", shown.exact(*criterion.lower), shown.quantity(*criterion.upper));
  return criterion.upper ? "at most " + shown.quantity(*criterion.upper) : "-";
}

std::string observed_text(const Criterion& criterion, const Shown& shown) {
  switch (compared_by(criterion.id)) {
    case Compared::finding: return !criterion.finding ? "not recorded" : *criterion.finding ? "passed" : "failed";
    case Compared::count: return fmt::format("{}", *criterion.observed);
    case Compared::share: return criterion.observed ? shown.share(*criterion.observed) + " %" : "-";
    case Compared::length: break;
  }
  return criterion.observed_um ? shown.observed(criterion) + (criterion.factor ? " (K s)" : "") : "-";
}

Line line_of(const Criterion& criterion, const Assessment& assessment, const Shown& shown) {
  return {std::string(to_text(criterion.id)),
          criterion.direction ? measured_phrase(*criterion.direction, english()) : english()("direction.whole"),
          std::string(criterion.statement ? to_text(*criterion.statement) : to_text(criterion.outcome)),
          observed_text(criterion, shown),
          limit_text(criterion, assessment, shown),
          criterion.margin_um ? shown.margin(criterion) : "-",
          compared_by(criterion.id) == Compared::finding ? "-" : fmt::format("{}", criterion.n)};
}

std::string table(const std::vector<Line>& lines) {
  constexpr std::array<bool, std::tuple_size_v<Line>> k_right{false, false, false, true, false, true, true};
  std::array<std::size_t, k_right.size()> widths{};
  for (const Line& line : lines) {
    for (std::size_t i = 0; i < line.size(); ++i) widths[i] = std::max(widths[i], character_count(line[i]));
  }
  std::string text;
  for (const Line& line : lines) {
    for (std::size_t i = 0; i < line.size(); ++i) text += "  " + padded(line[i], widths[i], k_right[i]);
    text += "\n";
  }
  return text;
}

std::string verdict_line(const Assessment& assessment) {
  const Specification& specification = assessment.specification;
  std::string text(to_text(assessment.verdict));
  if (assessment.statement) text += fmt::format(" [{}]", english()(Key::of<"statement">(*assessment.statement)));
  if (assessment.provisional) text += assessment.conditions.only_seen ? " (verified limits only)" : " (provisional)";
  if (assessment.conditions.measured_only) text += ", measured quantities only";
  if (assessment.conditions.apertures_only) text += ", apertures only";
  const DecisionRule rule = assessment.conditions.decision;
  if (rule != DecisionRule::simple) text += fmt::format(", {}", to_text(rule));
  text += fmt::format(": {}", specification.row->designation);
  if (!specification.row->alternative.empty()) text += fmt::format(" ({})", specification.row->alternative);
  text += fmt::format(", {}", specification.edition->title);
  if (specification.grade) text += fmt::format(", {} grade", to_text(*specification.grade));
  return text + "\n";
}

std::string criteria_table(const Assessment& assessment) {
  const Shown shown(assessment, english());
  std::vector<Line> lines{{"criterion", "direction", "outcome", "measured", "limit", "margin", "n"}};
  for (const Criterion& criterion : assessment.criteria) {
    if (criterion.outcome != Outcome::not_applicable) lines.push_back(line_of(criterion, assessment, shown));
  }
  return table(lines);
}

std::string name_of(const Criterion& criterion) {
  std::string name(to_text(criterion.id));
  if (criterion.direction) name += fmt::format(", {}", measured_phrase(*criterion.direction, english()));
  return name;
}

std::string heading(std::string_view title, const std::vector<std::string>& items) {
  if (items.empty()) return "";
  std::string text = fmt::format("\n{}\n", title);
  for (const std::string& item : items) text += fmt::format("  - {}\n", item);
  return text;
}

std::vector<std::string> with_reasons(const Assessment& assessment, Outcome outcome) {
  std::vector<std::string> items;
  for (const Criterion& criterion : assessment.criteria) {
    if (criterion.outcome != outcome || !is_asked(criterion)) continue;
    for (const Reason reason : criterion.reasons) {
      const std::string_view hint = reason == Reason::viewing_not_recorded ? " (--viewing passed|failed)" : "";
      items.push_back(fmt::format("{}: {}{}", name_of(criterion), reason_phrase(reason, criterion, assessment, english()), hint));
    }
  }
  return items;
}

std::vector<std::string> unverified_bases(const Assessment& assessment) {
  std::vector<std::string> items;
  for (const UnverifiedBasis& basis : unverified_bases(assessment, english()))
    items.push_back(fmt::format("{}, {}", to_text(basis.criterion), basis.phrase));
  return items;
}

std::vector<std::string> notes(const Assessment& assessment) {
  std::vector<std::string> sentences{
      "Apertures parallel to the warp lie between weft wires, those parallel to the weft between warp wires."};
  for (const Caution& note : count_cautions(assessment, english())) sentences.push_back(note.sentence);
  if (!assessment.ignored_columns.empty()) {
    sentences.push_back(
        fmt::format("Columns ignored: {}", printable(fmt::format("{}", fmt::join(assessment.ignored_columns, ", ")), 4096)));
  }
  const Edition& edition = *assessment.specification.edition;
  if (edition.transcribed) sentences.push_back(fmt::format("Table {}: {}", edition.name, edition.table_set));
  for (std::string& sentence : erratum_sentences(assessment.specification)) sentences.push_back(std::move(sentence));
  sentences.emplace_back(
      "This does not replace the standard itself, the laboratory's accreditation or the purchaser's specification; it relates only "
      "to the piece measured.");
  return sentences;
}

}  // namespace

std::string to_text(const Warning& warning, const Assessment& assessment) {
  return warning_sentence(warning, assessment, english());
}

std::string to_text(const Assessment& assessment) {
  return verdict_line(assessment) + "\n" + criteria_table(assessment) +
         heading("Within the guard band", with_reasons(assessment, Outcome::not_met)) +
         heading("Undecided", with_reasons(assessment, Outcome::undecided)) +
         heading("Not examined", with_reasons(assessment, Outcome::not_applicable)) +
         heading("Provisional: not verified against the standard", unverified_bases(assessment)) +
         heading("Note", notes(assessment));
}

}  // namespace sievecloth
