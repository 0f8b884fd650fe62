#include "report/phrases.hpp"

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
    case Reason::left_out:
      return words(criterion.id == CriterionId::viewing ? Key("reason.left-out-viewing") : Key("reason.left-out-wires"));
    default: return words(Key("reason", to_text(reason)));
  }
}

std::string warning_sentence(const Warning& warning, const Assessment& assessment, const Words& words) {
  return words(Key("warning", to_text(warning.kind)), {{"size", assessment.specification.row->designation},
                                                       {"other", warning.row == nullptr ? "" : warning.row->designation}});
}

std::string ground_phrase(const Ground& ground, const Edition& edition, const Words& words) {
  const std::string kind = words(Key("ground", to_text(ground.kind)));
  if (!ground.basis) return words("ground.not-known", {{"kind", kind}});
  return words("ground.phrase", {{"kind", kind},
                                 {"provenance", words(Key("provenance", to_text(ground.basis->provenance)))},
                                 {"source", edition.source(*ground.basis).title}});
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
