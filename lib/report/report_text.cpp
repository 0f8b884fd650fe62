#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "base/text.hpp"
#include "report/wording.hpp"
#include "sievecloth/report.hpp"

namespace sievecloth {
namespace {

// The unit in which the standards print a size: um below 1 mm, mm from there.
struct Scale {
  double per_um;
  std::string_view symbol;
  int decimals;
};

Scale scale_of(const Assessment& assessment) {
  const bool small = assessment.specification.row->nominal < Length::of(1, Unit::millimetre);
  return small ? Scale{1, k_um_symbol, 3} : Scale{1e-3, "mm", 5};
}

std::string shown(double um, const Scale& scale) { return fmt::format("{:.{}f}", um * scale.per_um, scale.decimals); }

std::string exact(Length length, const Scale& scale) {
  return to_text(length, scale.per_um == 1 ? Unit::micrometre : Unit::millimetre);
}

// A margin that rounds to nothing still says on which side it is.
std::string shown_margin(double um, const Scale& scale) {
  const std::string text = fmt::format("{:+.{}f}", um * scale.per_um, scale.decimals);
  const bool vanished = um != 0 && text.find_first_of("123456789") == std::string::npos;
  return vanished ? fmt::format("{:+.1e}", um * scale.per_um) : text;
}

struct Line {
  std::string criterion, direction, outcome, observed, limit, margin, n;
};

std::string limit_text(const Criterion& criterion, const Scale& scale) {
  if (criterion.id == CriterionId::viewing) return "passed";
  if (criterion.id == CriterionId::sample_size) return criterion.limit ? fmt::format("at least {}", *criterion.limit) : "all";
  if (criterion.limit) return fmt::format("at most {} %", *criterion.limit);
  if (criterion.lower)
    return fmt::format("{} to {} {}", exact(*criterion.lower, scale), exact(*criterion.upper, scale), scale.symbol);
  return criterion.upper ? fmt::format("at most {} {}", exact(*criterion.upper, scale), scale.symbol) : "-";
}

std::string observed_text(const Criterion& criterion, const Assessment& assessment, const Scale& scale) {
  if (criterion.id == CriterionId::viewing) {
    const std::optional<bool>& passed = assessment.conditions.viewing_passed;
    return !passed ? "not recorded" : *passed ? "passed" : "failed";
  }
  if (criterion.observed_um) return shown(*criterion.observed_um, scale) + (criterion.factor ? " (K s)" : "");
  if (!criterion.observed) return "-";
  return criterion.id == CriterionId::sample_size ? fmt::format("{}", *criterion.observed)
                                                  : fmt::format("{:.2f} %", *criterion.observed);
}

Line line_of(const Criterion& criterion, const Assessment& assessment, const Scale& scale) {
  return {std::string(to_text(criterion.id)),
          criterion.direction ? std::string(direction_phrase(*criterion.direction)) : "whole piece",
          std::string(to_text(criterion.outcome)),
          observed_text(criterion, assessment, scale),
          limit_text(criterion, scale),
          criterion.margin_um ? shown_margin(*criterion.margin_um, scale) : "-",
          criterion.id == CriterionId::viewing ? "-" : fmt::format("{}", criterion.n)};
}

std::string padded(const std::string& text, std::size_t width, bool right = false) {
  const std::string fill(width - std::min(width, character_count(text)), ' ');
  return right ? fill + text : text + fill;
}

std::string table(const std::vector<Line>& lines) {
  const auto width = [&](auto member) {
    std::size_t widest = 0;
    for (const Line& line : lines) widest = std::max(widest, character_count(line.*member));
    return widest;
  };
  std::string text;
  for (const Line& line : lines) {
    text += fmt::format("  {}  {}  {}  {}  {}  {}  {}\n", padded(line.criterion, width(&Line::criterion)),
                        padded(line.direction, width(&Line::direction)), padded(line.outcome, width(&Line::outcome)),
                        padded(line.observed, width(&Line::observed), true), padded(line.limit, width(&Line::limit)),
                        padded(line.margin, width(&Line::margin), true), padded(line.n, width(&Line::n), true));
  }
  return text;
}

std::string verdict_line(const Assessment& assessment) {
  const Specification& specification = assessment.specification;
  std::string text(to_text(assessment.verdict));
  if (assessment.provisional) text += assessment.conditions.only_seen ? " (only limits that were seen)" : " (provisional)";
  if (assessment.conditions.measured_only) text += ", measured quantities only";
  if (assessment.conditions.apertures_only) text += ", apertures only";
  text += fmt::format(": {}", specification.row->designation);
  if (!specification.row->alternative.empty()) text += fmt::format(" ({})", specification.row->alternative);
  text += fmt::format(", {}", specification.edition->title);
  if (specification.grade) text += fmt::format(", {} grade", to_text(*specification.grade));
  return text + "\n";
}

std::string criteria_table(const Assessment& assessment) {
  const Scale scale = scale_of(assessment);
  std::vector<Line> lines{{"criterion", "direction", "outcome", "observed", "limit", "margin", "n"}};
  for (const Criterion& criterion : assessment.criteria) {
    if (criterion.outcome != Outcome::not_applicable) lines.push_back(line_of(criterion, assessment, scale));
  }
  return table(lines);
}

std::string name_of(const Criterion& criterion) {
  std::string name(to_text(criterion.id));
  if (criterion.direction) name += fmt::format(", {}", direction_phrase(*criterion.direction));
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
    if (criterion.outcome != outcome) continue;
    for (const Reason reason : criterion.reasons) {
      items.push_back(fmt::format("{}: {}", name_of(criterion), reason_phrase(reason, criterion, assessment)));
    }
  }
  return items;
}

// Each weak ground once, with the criterion that needs it; both directions rest on the same.
std::vector<std::string> weak_grounds(const Assessment& assessment) {
  std::vector<std::string> items;
  if (!assessment.provisional) return items;
  for (const Criterion& criterion : assessment.criteria) {
    if (criterion.outcome == Outcome::not_applicable) continue;
    for (const Ground& ground : criterion.grounds) {
      if (ground.firm()) continue;
      std::string item = fmt::format("{}, {}", to_text(criterion.id), ground_phrase(ground, *assessment.specification.edition));
      if (std::find(items.begin(), items.end(), item) == items.end()) items.push_back(std::move(item));
    }
  }
  return items;
}

}  // namespace

std::string to_text(const Assessment& assessment) {
  return verdict_line(assessment) + "\n" + criteria_table(assessment) +
         heading("Undecided", with_reasons(assessment, Outcome::undecided)) +
         heading("Not examined", with_reasons(assessment, Outcome::not_applicable)) +
         heading("Provisional, because not every limit, count or rule was seen", weak_grounds(assessment)) +
         heading("Note", cautions(assessment));
}

}  // namespace sievecloth
