#include "report/phrases.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace sievecloth {

std::string direction_phrase(Direction direction, const Words& words) { return words(Key("direction", to_text(direction))); }

std::string reason_phrase(Reason reason, const Criterion& criterion, const Assessment& assessment, const Words& words) {
  const Rules& rules = assessment.specification.edition->rules;
  const std::string n = fmt::format("{}", criterion.n);
  switch (reason) {
    case Reason::count_not_reached:
      return words("reason.count-not-reached", {{"n", n}, {"asked", fmt::format("{}", assessment.required->count)}});
    case Reason::too_few_wires:
      return words("reason.too-few-wires", {{"n", n}, {"asked", fmt::format("{}", rules.wire_count.value)}});
    case Reason::too_coarse: return words("reason.too-coarse", {{"floor", words.number(to_text(rules.resolution->floor))}});
    case Reason::plan_not_fulfilled:
      return words("reason.plan-not-fulfilled",
                   {{"n", n}, {"planned", fmt::format("{}", (*assessment.conditions.planned)[*criterion.direction])}});
    case Reason::left_out:
      return words(criterion.id == CriterionId::viewing ? Key("reason.left-out-viewing") : Key("reason.left-out-wires"));
    default: return words(Key("reason", to_text(reason)));
  }
}

std::string warning_sentence(const Warning& warning, const Assessment& assessment, const Words& words) {
  return words(Key("warning", to_text(warning.kind)), {{"size", assessment.specification.row->designation},
                                                       {"other", warning.row == nullptr ? "" : warning.row->designation}});
}

std::vector<std::string> ground_phrases(const std::vector<Ground>& grounds, const Edition& edition, const Words& words) {
  struct Group {
    std::vector<std::string> kinds;
    std::optional<Basis> basis;
  };
  const auto same = [](const std::optional<Basis>& a, const std::optional<Basis>& b) {
    return a.has_value() == b.has_value() && (!a || (a->provenance == b->provenance && a->source == b->source));
  };
  std::vector<Group> groups;
  for (const Ground& ground : grounds) {
    auto group = std::find_if(groups.begin(), groups.end(), [&](const Group& known) { return same(known.basis, ground.basis); });
    if (group == groups.end()) group = groups.insert(group, Group{{}, ground.basis});
    std::string kind = words(Key("ground", to_text(ground.kind)));
    if (std::find(group->kinds.begin(), group->kinds.end(), kind) == group->kinds.end()) group->kinds.push_back(std::move(kind));
  }
  std::vector<std::string> phrases;
  for (const Group& group : groups) {
    const std::string kinds = fmt::format("{}", fmt::join(group.kinds, ", "));
    phrases.push_back(group.basis
                          ? words("ground.phrase", {{"kinds", kinds},
                                                    {"provenance", words(Key("provenance", to_text(group.basis->provenance)))},
                                                    {"source", edition.source(*group.basis).title}})
                          : words("ground.not-known", {{"kinds", kinds}}));
  }
  return phrases;
}

std::string ground_phrase(const Ground& ground, const Edition& edition, const Words& words) {
  return ground_phrases({ground}, edition, words).front();
}

Caution caution(std::string_view name, const Words& words) { return {std::string(name), words(Key("caution", name))}; }

std::vector<Caution> count_cautions(const Assessment& assessment, const Words& words) {
  const Specification& specification = assessment.specification;
  std::vector<Caution> cautions;
  if (assessment.required && assessment.required->size_assumed) {
    const CountScale scale = specification.edition->rules.counts.scale[specification.lookup_grade()];
    cautions.push_back(caution(scale == CountScale::sieving_area ? "frame-not-known" : "area-not-known", words));
  }
  if (specification.grade == Grade::compliance) cautions.push_back(caution("before-mounting", words));
  return cautions;
}

}  // namespace sievecloth
