#include "report/phrases.hpp"

#include <algorithm>
#include <iterator>

#include <fmt/format.h>

namespace sievecloth {

std::string doubts_phrase(const Edition& edition, const Row& row) {
  std::string text;
  for (const ImplausibleValue* implausible : edition.implausible_values_of(row))
    text += fmt::format("{}{} {}", text.empty() ? "" : "; ", implausible->value, implausible->text);
  return text;
}

std::string direction_phrase(Direction direction, const Words& words) { return words(Key::of<"direction">(direction)); }

std::string measured_phrase(Direction direction, const Words& words) { return words(Key::of<"measured">(direction)); }

std::string reason_phrase(Reason reason, const Criterion& criterion, const Assessment& assessment, const Words& words) {
  const Edition& edition = *assessment.specification.edition;
  const Rules& rules = edition.rules;
  const std::string n = fmt::format("{}", criterion.n);
  switch (reason) {
    case Reason::count_not_reached:
      return words("reason.count-not-reached", {{"n", n}, {"required", fmt::format("{}", assessment.required->count)}});
    case Reason::too_few_wires:
      return words("reason.too-few-wires", {{"n", n}, {"required", fmt::format("{}", rules.wire_count.value)}});
    case Reason::too_few_different_wires:
      return words("reason.too-few-different-wires", {{"required", fmt::format("{}", rules.wire_count.value)}});
    case Reason::too_coarse: return words("reason.too-coarse", {{"floor", words.number(to_text(rules.resolution->floor))}});
    case Reason::plan_not_fulfilled:
      return words("reason.plan-not-fulfilled",
                   {{"n", n}, {"planned", fmt::format("{}", (*assessment.conditions.planned)[*criterion.direction])}});
    case Reason::suspects_not_measured:
      return words("reason.suspects-not-measured", {{"recorded", fmt::format("{}", *assessment.conditions.suspects_recorded)},
                                                    {"n", fmt::format("{}", assessment.sample.named_suspects())}});
    case Reason::all_apertures_needed: {
      const std::optional<std::int64_t>& in_piece = assessment.conditions.piece.apertures_in_piece;
      if (!assessment.conditions.piece.all_apertures || !in_piece) break;
      return words("reason.all-apertures-missing", {{"n", n}, {"required", fmt::format("{}", *in_piece)}});
    }
    case Reason::suspect_too_small:
      return words("reason.suspect-too-small",
                   {{"suspect", words.number(to_text(assessment.sample[*criterion.direction].suspect.minimum()))}});
    case Reason::within_guard_band:
      if (criterion.statement != Statement::not_accepted) break;
      return words("reason.not-accepted");
    case Reason::left_out: {
      const bool of_viewing = compared_by(criterion.id) == Compared::finding;
      return words("reason.left-out", {{"scope", words(of_viewing ? Key("scope.measured-only") : Key("scope.apertures-only"))}});
    }
    default: break;
  }
  return words(Key::of<"reason">(reason));
}

std::string warning_sentence(const Warning& warning, const Assessment& assessment, const Words& words) {
  const std::string where = warning.direction ? " " + measured_phrase(*warning.direction, words) : "";
  const std::string step = words.number(to_text(warning.step));
  const std::optional<Frame>& mounted = assessment.conditions.piece.frame;
  const std::string frame = mounted ? words.number(to_text(mounted->size)) : "";
  const Specification& specification = assessment.specification;
  return words(Key::of<"warning">(warning.kind), {{"where", where},
                                                  {"size", assessment.specification.row->designation},
                                                  {"other", warning.row == nullptr ? "" : warning.row->designation},
                                                  {"step", step},
                                                  {"reading", words.number(to_text(warning.reading))},
                                                  {"line", fmt::format("{}", warning.line)},
                                                  {"earlier", fmt::format("{}", warning.earlier_line)},
                                                  {"frame", frame},
                                                  {"findings", doubts_phrase(*specification.edition, *specification.row)}});
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
  std::vector<std::string> phrases;
  for (const Ground& ground : grounds) {
    if (ground.kind == Ground::Kind::agreed_count) {
      phrases.push_back(words("ground.agreed-count"));
      continue;
    }
    auto group = std::find_if(groups.begin(), groups.end(), [&](const Group& known) { return same(known.basis, ground.basis); });
    if (group == groups.end()) group = groups.insert(group, Group{{}, ground.basis});
    std::string kind = words(Key::of<"ground">(ground.kind));
    if (std::find(group->kinds.begin(), group->kinds.end(), kind) == group->kinds.end()) group->kinds.push_back(std::move(kind));
  }
  for (const Group& group : groups) {
    const std::string kinds = fmt::format("{}", fmt::join(group.kinds, ", "));
    phrases.push_back(group.basis ? words("ground.phrase", {{"kinds", kinds},
                                                            {"provenance", words(Key::of<"provenance">(group.basis->provenance))},
                                                            {"source", words.of_table(edition.source(*group.basis).title)}})
                                  : words("ground.not-known", {{"kinds", kinds}}));
  }
  return phrases;
}

// Both directions have the same basis.
std::vector<UnverifiedBasis> unverified_bases(const Assessment& assessment, const Words& words) {
  std::vector<UnverifiedBasis> bases;
  if (!assessment.provisional) return bases;
  for (const Criterion& criterion : assessment.criteria) {
    if (criterion.outcome == Outcome::not_applicable) continue;
    std::vector<Ground> unverified;
    std::copy_if(criterion.grounds.begin(), criterion.grounds.end(), std::back_inserter(unverified),
                 [](const Ground& ground) { return !ground.verified(); });
    for (std::string& phrase : ground_phrases(unverified, *assessment.specification.edition, words)) {
      const bool known = std::any_of(bases.begin(), bases.end(), [&](const UnverifiedBasis& basis) {
        return basis.criterion == criterion.id && basis.phrase == phrase;
      });
      if (!known) bases.push_back({criterion.id, std::move(phrase)});
    }
  }
  return bases;
}

std::string erratum_sentence(const Erratum& erratum, const Words& words) {
  const bool kept = erratum.used == "as printed" || erratum.printed == erratum.used;
  const Key key = erratum.printed.empty() ? Key("caution.doubt-about-source")
                  : kept                  ? Key("caution.kept-as-printed")
                                          : Key("caution.correction-of-source");
  return words(key, {{"where", erratum.where}, {"printed", erratum.printed}, {"used", erratum.used}, {"reason", erratum.reason}});
}

std::vector<std::string> erratum_sentences(const Specification& specification) {
  const Wording english;
  std::vector<std::string> sentences;
  for (const Erratum* erratum : specification.edition->errata_of(*specification.row))
    sentences.push_back(erratum_sentence(*erratum, Words(english)));
  return sentences;
}

Caution caution(Key key, const Words& words) { return {std::string(key.name()), words(key)}; }

bool is_asked(const Criterion& criterion) {
  return std::none_of(criterion.reasons.begin(), criterion.reasons.end(),
                      [](Reason reason) { return reason == Reason::not_in_edition || reason == Reason::not_in_row; });
}

std::vector<Caution> count_cautions(const Assessment& assessment, const Words& words) {
  const Specification& specification = assessment.specification;
  std::vector<Caution> cautions;
  if (assessment.required && assessment.required->size_assumed) {
    const CountScale scale = specification.edition->rules.counts.scale[specification.lookup_grade()];
    const Key assumed = scale != CountScale::sieving_area  ? Key("caution.area-not-known")
                        : assessment.conditions.piece.roll ? Key("caution.count-of-a-sieve")
                                                           : Key("caution.frame-not-known");
    cautions.push_back(caution(assumed, words));
  }
  if (specification.grade == Grade::compliance) cautions.push_back(caution("caution.before-mounting", words));
  return cautions;
}

}  // namespace sievecloth
