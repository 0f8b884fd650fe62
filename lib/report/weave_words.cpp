#include "report/weave_words.hpp"

#include <algorithm>
#include <array>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "report/shares.hpp"

namespace sievecloth {
namespace {

/// Why a test flagged nothing: nothing significant, an effect that follows from another, or one below the minimum relevant one.
enum class Quiet { nothing, consequence, small };

Quiet quiet_reason(const Sign& sign, double level) {
  return sign.p_value > level ? Quiet::nothing : sign.explained ? Quiet::consequence : Quiet::small;
}

/// The wording for one test.
class SignWords {
 public:
  SignWords(const Sign& sign, const Words& words) : sign_(sign), words_(words) {}

  std::string name() const { return words_(Key::of<"sign">(sign_.kind)); }
  std::string quantity() const { return words_(Key::of<"weave">(sign_.quantity)); }
  std::string where() const {
    if (!sign_.direction) return words_("weave.both", {{"quantity", quantity()}});
    return words_("weave.where", {{"quantity", quantity()}, {"direction", words_(Key::of<"weave">(*sign_.direction))}});
  }

  std::string finding() const {
    const std::string values = sign_.values_um.empty() ? "" : listed();
    return words_(Key::of<"finding">(sign_.kind), {{"size", size()},
                                                   {"values", values},
                                                   {"period", optional(sign_.period)},
                                                   {"correlation", optional(sign_.correlation)},
                                                   {"model", optional(sign_.model_correlation)}});
  }

  std::string cause() const {
    const bool of_readings = sign_.kind == SignKind::one_value || sign_.kind == SignKind::coarse_step;
    return words_(sign_.quantity == ClothQuantity::wire && !of_readings ? Key("cause.wire") : cause_in_aperture());
  }

  std::string test() const {
    return words_(
        "weave.test",
        {{"statistic", number(sign_.statistic, 4)}, {"critical", number(sign_.critical, 4)}, {"n", fmt::format("{}", sign_.n)}});
  }

  std::string quiet(Quiet reason) const {
    const std::string found = test();
    switch (reason) {
      case Quiet::nothing: return words_("weave.nothing", {{"test", found}});
      case Quiet::consequence: return words_("weave.consequence", {{"test", found}});
      case Quiet::small: break;
    }
    return words_("weave.small", {{"test", found}});
  }

 private:
  std::string number(double value, int digits) const { return words_.number(shown_number(value, digits)); }
  std::string optional(const std::optional<double>& value) const { return value ? number(*value, 3) : ""; }

  Key cause_in_aperture() const {
    const bool warp = sign_.direction == Direction::warp;
    switch (sign_.kind) {
      case SignKind::alternation: return warp ? Key("cause.alternation-warp") : Key("cause.alternation-weft");
      case SignKind::periodic: return warp ? Key("cause.periodic-warp") : Key("cause.periodic-weft");
      case SignKind::drift: return warp ? Key("cause.drift-warp") : Key("cause.drift-weft");
      case SignKind::two_populations: return warp ? Key("cause.two-populations-warp") : Key("cause.two-populations-weft");
      case SignKind::outliers: return warp ? Key("cause.outliers-warp") : Key("cause.outliers-weft");
      case SignKind::slow_wave: return warp ? Key("cause.slow-wave-warp") : Key("cause.slow-wave-weft");
      case SignKind::displaced_wire: return warp ? Key("cause.displaced-wire-warp") : Key("cause.displaced-wire-weft");
      case SignKind::curvature: return "cause.curvature";
      case SignKind::direction_difference: return "cause.direction-difference";
      case SignKind::spread_difference: return "cause.spread-difference";
      case SignKind::one_value: return "cause.one-value";
      case SignKind::coarse_step: return "cause.coarse-step";
      case SignKind::not_normal: break;
    }
    return "cause.not-normal";
  }

  std::string size() const {
    switch (sign_.kind) {
      case SignKind::not_normal:
      case SignKind::one_value: return shown_share(sign_.effect, words_);
      case SignKind::two_populations:
      case SignKind::spread_difference: return number(sign_.effect, 3);
      case SignKind::coarse_step: return number(sign_.statistic, 3);
      default: return words_.number(shown_length(sign_.effect, 3));
    }
  }

  std::string listed() const {
    std::vector<std::string> values;
    for (const double value : sign_.values_um) values.push_back(words_.number(shown_length(value)));
    if (!sign_.direction) {
      values[0] += " " + words_("direction.warp");
      values[1] += " " + words_("direction.weft");
    }
    std::string text = fmt::format("{}", fmt::join(values, ", "));
    if (sign_.lines.empty()) return text;
    return words_("finding.lines", {{"values", text}, {"lines", fmt::format("{}", fmt::join(sign_.lines, ", "))}});
  }

  const Sign& sign_;
  const Words& words_;
};

Figure figure_of(const Sign& sign, const SignWords& words, std::string sentence) {
  const std::string direction = sign.direction ? std::string(to_text(*sign.direction)) : "both";
  return {fmt::format("{}_{}_{}", to_text(sign.kind), to_text(sign.quantity), direction),
          words.name(),
          words.where(),
          std::move(sentence),
          sign.statistic,
          {},
          {}};
}

// Tests that were not made for one reason: unmeasured series by direction and quantity, else each test once per quantity.
std::vector<std::string> not_made(const Weave& weave, NotTested reason, const Words& words) {
  std::vector<std::string> names;
  for (const Sign& sign : weave.signs) {
    if (sign.not_tested != reason) continue;
    const SignWords said(sign, words);
    const std::string name =
        reason == NotTested::not_measured ? said.where() : fmt::format("{} ({})", said.name(), said.quantity());
    const bool again = std::find(names.begin(), names.end(), name) != names.end();
    if (!again && (sign.direction || reason != NotTested::not_measured)) names.push_back(name);
  }
  return names;
}

// The tests that flagged nothing for one reason: by kind, and by series where another series of that kind gave something else.
std::vector<std::string> quiet_names(const Weave& weave, Quiet reason, const Words& words) {
  std::vector<std::string> names;
  for (std::size_t i = 0; i < enumerator_count<SignKind>(); ++i) {
    std::vector<std::string> series;
    std::string name;
    bool all = true;
    for (const Sign& sign : weave.signs) {
      if (sign.kind != static_cast<SignKind>(i) || sign.not_tested) continue;
      const SignWords said(sign, words);
      name = said.name();
      const bool here = !sign.flagged && quiet_reason(sign, weave.level) == reason;
      if (here) series.push_back(said.where());
      all = all && here;
    }
    if (series.empty()) continue;
    names.push_back(all ? name : fmt::format("{} ({})", name, fmt::join(series, "; ")));
  }
  return names;
}

void add_notes(FigureGroup& group, const Weave& weave, const Words& words) {
  const auto made =
      std::count_if(weave.signs.begin(), weave.signs.end(), [](const Sign& sign) { return !sign.not_tested.has_value(); });
  group.notes.push_back(
      made == 0 ? words("weave.no-test")
                : words("weave.summary", {{"found", fmt::format("{}", group.figures.size())}, {"made", fmt::format("{}", made)}}));
  for (const NotTested reason :
       {NotTested::not_measured, NotTested::other_direction_missing, NotTested::not_in_order, NotTested::correlated,
        NotTested::no_positions, NotTested::no_spread, NotTested::too_few, NotTested::too_few_values}) {
    const std::vector<std::string> names = not_made(weave, reason, words);
    if (names.empty()) continue;
    group.notes.push_back(words(Key::of<"weave.without">(reason), {{"signs", fmt::format("{}", fmt::join(names, ", "))}}));
  }
  group.notes.push_back(words("weave.caution"));
}

}  // namespace

std::vector<FigureGroup> weave_figures(const Diagnosis& diagnosis, const Words& words) {
  FigureGroup group{"weave", words("section.weave"), {}, {}};
  for (const Sign& sign : diagnosis.weave.signs) {
    if (!sign.flagged) continue;
    const SignWords said(sign, words);
    group.figures.push_back(figure_of(
        sign, said, words("weave.figure", {{"finding", said.finding()}, {"test", said.test()}, {"cause", said.cause()}})));
  }
  add_notes(group, diagnosis.weave, words);
  return {std::move(group)};
}

std::vector<FigureGroup> nonsignificant_tests(const Diagnosis& diagnosis, const Words& words) {
  FigureGroup group{"quiet_tests", words("weave.tests"), {}, {}};
  for (const Sign& sign : diagnosis.weave.signs) {
    if (sign.flagged || sign.not_tested) continue;
    const SignWords said(sign, words);
    group.figures.push_back(figure_of(sign, said, said.quiet(quiet_reason(sign, diagnosis.weave.level))));
  }
  if (group.figures.empty()) return {};
  return {std::move(group)};
}

std::vector<std::string> nonsignificant_sentences(const Weave& weave, const Words& words) {
  std::vector<std::string> sentences;
  const auto add = [&](Quiet reason, Key key) {
    const std::vector<std::string> names = quiet_names(weave, reason, words);
    if (!names.empty()) sentences.push_back(words(key, {{"signs", fmt::format("{}", fmt::join(names, ", "))}}));
  };
  add(Quiet::nothing, "weave.none-of");
  add(Quiet::small, "weave.small-ones");
  add(Quiet::consequence, "weave.consequences");
  return sentences;
}

void write_signs(JsonWriter& json, const Weave& weave, const Words& words) {
  json.member("level", weave.level);
  json.array("signs", weave.signs, [&](const Sign& sign) {
    json.object([&] {
      json.member("kind", to_text(sign.kind));
      json.member("quantity", to_text(sign.quantity));
      if (sign.direction) json.member("direction", to_text(*sign.direction));
      json.member("flagged", sign.flagged);
      if (sign.explained) json.member("explained", true);
      json.member("n", sign.n);
      if (sign.not_tested) {
        json.member("not_tested", to_text(*sign.not_tested));
        return;
      }
      json.member("statistic", sign.statistic);
      json.member("critical", sign.critical);
      json.member("p_value", sign.p_value);
      json.member("effect", sign.effect);
      json.member("effect_limit", sign.effect_limit);
      json.member("period", sign.period);
      json.member("lag1_correlation", sign.correlation);
      json.member("model_correlation", sign.model_correlation);
      json.array("values_um", sign.values_um, [&](double value) { json.value(value); });
      json.array("lines", sign.lines, [&](std::int64_t line) { json.value(line); });
      if (!sign.flagged) return;
      json.member("sentence", SignWords(sign, words).finding());
      json.member("suspected_cause", SignWords(sign, words).cause());
    });
  });
}

}  // namespace sievecloth
