#include "report/doubt_words.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "base/text.hpp"
#include "sievecloth/report.hpp"

namespace sievecloth {
namespace {

std::string_view phrase(Direction direction) {
  return direction == Direction::warp ? "along warp (between weft wires)" : "along weft (between warp wires)";
}

std::string percent(double share, int digits = 3) { return shown_number(100 * share, digits) + " %"; }
std::string count(double number) { return fmt::format("{:.0f}", number); }
std::string range(const Interval& interval) {
  return fmt::format("{} to {}", shown_length(interval.lower), shown_length(interval.upper));
}

class Figures {
 public:
  explicit Figures(FigureGroup& group) : group_(group) {}
  void add(std::string id, std::string name, std::string shown, std::string sentence, std::optional<double> value = std::nullopt) {
    group_.figures.push_back({std::move(id), std::move(name), std::move(shown), std::move(sentence), value});
  }
  void add_interval(const std::string& id, const std::string& name, const Interval& interval, const std::string& sentence) {
    add(id, name, range(interval), sentence);
    group_.figures.push_back(
        {id + "_lower_um", name + ", from", shown_length(interval.lower), "lower end of that interval", interval.lower});
    group_.figures.push_back(
        {id + "_upper_um", name + ", to", shown_length(interval.upper), "upper end of that interval", interval.upper});
  }

 private:
  FigureGroup& group_;
};

std::string effective_sentence(const DirectionDoubt& doubt) {
  switch (doubt.dependence) {
    case Dependence::assumed_independent:
      return "independent readings; that they are independent is assumed, since neither positions nor fields are given";
    case Dependence::by_gap:
      return fmt::format(
          "so many independent readings are {} readings in {} gaps worth, since readings of a gap share its wires (design effect "
          "{})",
          doubt.n, doubt.groups->clusters, shown_number(doubt.groups->design_effect, 3));
    case Dependence::by_field: break;
  }
  return fmt::format("so many independent readings are {} readings in {} fields worth (design effect {})", doubt.n,
                     doubt.groups->clusters, shown_number(doubt.groups->design_effect, 3));
}

std::string_view no_model_sentence(NoModel reason) {
  switch (reason) {
    case NoModel::too_few: return "too few independent readings for the normal model";
    case NoModel::no_spread: return "readings without a spread have no normal model";
    case NoModel::sorted_out: return "suspects were singled out: no normal tail describes what is left";
    case NoModel::not_normal: break;
  }
  return "the readings do not look normal: no normal tail is shown";
}

void add_tail(Figures& figures, const DirectionDoubt& doubt, const Assessment& assessment) {
  const std::string limit = to_text(assessment.specification.row->largest_aperture());
  if (doubt.share_above_bound) {
    figures.add("share_above_bound", fmt::format("above {}", limit), "at most " + percent(*doubt.share_above_bound),
                assessment.all_measured
                    ? "of all apertures, which were all measured"
                    : fmt::format("of the piece's apertures, with 95 % confidence and whatever their distribution; {} of {} "
                                  "measured ones are above w + X",
                                  doubt.above_largest, doubt.n),
                doubt.share_above_bound);
  }
  if (doubt.expected_number) {
    figures.add("expected_number_above", "expected number", count(*doubt.expected_number),
                "apertures of the piece above w + X, if the rest is like the measured ones", doubt.expected_number);
  }
  if (doubt.number_above_bound) {
    figures.add("number_above_bound", "number, at most", count(std::ceil(*doubt.number_above_bound)),
                doubt.finite ? "with 95 % confidence, counting that a good part of the piece was measured" : "with 95 % confidence",
                doubt.number_above_bound);
  }
  if (doubt.model_share_bound) {
    figures.add("model_share_bound", "model only", "at most " + percent(*doubt.model_share_bound),
                "the same share if the apertures are normally distributed far beyond what was measured, which no sample can show",
                doubt.model_share_bound);
  } else if (doubt.no_model) {
    figures.add("model_share_bound", "model only", "not shown", std::string(no_model_sentence(*doubt.no_model)));
  }
}

void add_needed(Figures& figures, const DirectionDoubt& doubt, const Assessment& assessment) {
  if (assessment.all_measured) return;
  if (doubt.needed_for_mean) {
    figures.add("needed_for_mean", "needed, mean", fmt::format("{}", *doubt.needed_for_mean),
                *doubt.needed_for_mean <= doubt.n
                    ? "readings decide on which side of its limits the piece's mean lies: enough were taken"
                    : "readings in one planned sample, the present ones kept, would show on which side of its limits "
                      "the piece's mean lies",
                static_cast<double>(*doubt.needed_for_mean));
  } else if (doubt.mean_um) {
    figures.add("needed_for_mean", "needed, mean", "no number",
                "the mean lies on its limit: no number of readings would show on which side");
  }
  if (doubt.needed_for_spread) {
    figures.add("needed_for_spread", "needed, spread", fmt::format("{}", *doubt.needed_for_spread),
                "readings at which K s lies within its limit, if s stays as it is", static_cast<double>(*doubt.needed_for_spread));
  }
  figures.add("needed_for_maximum", "needed, maximum", "all",
              "only looking at every aperture (viewing) shows that none is above w + X");
}

std::string coverage(const Uncertainty& uncertainty) {
  return fmt::format("k = {}, {}", shown_number(uncertainty.coverage_factor, 3),
                     uncertainty.freedom ? fmt::format("{} effective degrees of freedom", shown_number(*uncertainty.freedom, 3))
                                         : "degrees of freedom without limit");
}

void add_uncertainty(Figures& figures, const DirectionDoubt& doubt) {
  if (!doubt.mean_uncertainty) return;
  const auto add = [&](const std::string& id, const std::string& name, const Uncertainty& uncertainty, const std::string& what) {
    figures.add(id, name, "\u00b1 " + shown_length(uncertainty.expanded_um, 3),
                fmt::format("{} ({}; systematic part {}, random part {})", what, coverage(uncertainty),
                            shown_length(uncertainty.systematic_um, 3), shown_length(uncertainty.random_um, 3)),
                uncertainty.expanded_um);
  };
  add("mean_expanded_um", "U of the mean", *doubt.mean_uncertainty,
      "by measurement, of the mean of the apertures measured, not of the piece");
  add("reading_expanded_um", "U of the largest", *doubt.reading_uncertainty,
      "by measurement, of a single reading and so of the largest aperture");
  if (doubt.deviation_uncertainty)
    add("deviation_expanded_um", "U of s", *doubt.deviation_uncertainty, "by measurement, of the standard deviation");
  if (doubt.corrected_deviation_um) {
    figures.add("corrected_deviation_um", "s, corrected", shown_length(*doubt.corrected_deviation_um),
                "the standard deviation less what the instrument adds to it; shown alone, the verdict uses s as measured",
                doubt.corrected_deviation_um);
  }
  if (doubt.mean_conformity) {
    figures.add("mean_conformity", "conformity", percent(*doubt.mean_conformity, 4),
                "probability that the piece's mean lies within its limits, measurement and sampling taken together",
                doubt.mean_conformity);
  }
  if (!doubt.risks) return;
  figures.add("consumer_risk", "consumer's risk", percent(doubt.risks->consumer),
              "of pieces of this process: outside the limits and accepted", doubt.risks->consumer);
  figures.add("producer_risk", "producer's risk", percent(doubt.risks->producer),
              "of pieces of this process: within the limits and rejected", doubt.risks->producer);
}

FigureGroup direction_group(const Assessment& assessment, const DirectionDoubt& doubt, Direction direction) {
  FigureGroup group{fmt::format("how_sure_{}", to_text(direction)), fmt::format("How sure, {}", phrase(direction)), {}, {}};
  Figures figures(group);
  if (doubt.n == 0) {
    group.notes.emplace_back("Nothing was measured: nothing can be said.");
    return group;
  }
  figures.add("effective_n", "worth", shown_number(doubt.effective_n), effective_sentence(doubt), doubt.effective_n);
  if (doubt.mean_um) {
    figures.add_interval("mean", "mean of the piece", *doubt.mean_um,
                         assessment.all_measured ? "every aperture was measured: sampling leaves no doubt"
                                                 : "with 95 % confidence, from sampling alone");
  } else {
    group.notes.emplace_back("Fewer than three readings, or readings without a spread, have no interval.");
  }
  if (doubt.standard_deviation_um) {
    figures.add_interval("deviation", "s of the piece", *doubt.standard_deviation_um,
                         "with 95 % confidence, if the apertures are normally distributed");
  }
  add_tail(figures, doubt, assessment);
  add_needed(figures, doubt, assessment);
  add_uncertainty(figures, doubt);
  return group;
}

std::string apertures_sentence(const Diagnosis& diagnosis) {
  return diagnosis.apertures_stated ? "full apertures, as stated"
                                    : "full apertures, counted at the nominal pitch and 0.5 in. less than the frame";
}

std::string_view rule_sentence(DecisionRule rule) {
  switch (rule) {
    case DecisionRule::simple:
      return "what is measured within a limit meets it, as the standards do; the uncertainty does not enter";
    case DecisionRule::guarded: return "met only within limits moved inwards by the guard band, else not met";
    case DecisionRule::four_outcomes: break;
  }
  return "pass, conditional pass, conditional fail, fail; both conditional outcomes stay undecided (ILAC-G8)";
}

// ---- the weave

struct SignWords {
  std::string_view name;
  std::string_view along_warp;  // what the trade suspects where the gaps follow each other along the warp
  std::string_view along_weft;
};

SignWords words_of(SignKind kind) {
  switch (kind) {
    case SignKind::alternation:
      return {"wide and narrow in turn", "uneven beat-up of alternate picks, or sheds of unequal opening",
              "displaced reed dents, or two wires drawn into one dent"};
    case SignKind::periodic:
      return {"periodic bars", "take-up gear or beat-up cam running out of true: its circumference is the period",
              "a repeat in the reed or in the warp's sections"};
    case SignKind::drift:
      return {"drift across the piece", "let-off or take-up changing while the piece was woven",
              "warp tension or reed wear uneven across the width"};
    case SignKind::two_populations:
      return {"two populations", "a stop and start of the loom, or two lots of weft wire",
              "two reed sections, or two lots of warp wire"};
    case SignKind::outliers:
      return {"outliers", "a missed or doubled pick, a start mark, or a misreading",
              "a displaced or broken warp wire, or a misreading"};
    case SignKind::not_normal:
      return {"not normally distributed", "several small causes together, or readings sorted before they were noted",
              "several small causes together, or readings sorted before they were noted"};
    case SignKind::one_value:
      return {"one value too often", "readings rounded or copied by habit", "readings rounded or copied by habit"};
    case SignKind::coarse_step:
      return {"steps as wide as the spread", "an instrument too coarse for this cloth", "an instrument too coarse for this cloth"};
    case SignKind::direction_difference: break;
  }
  return {"warp and weft differ", "take-up that does not match the reed", "take-up that does not match the reed"};
}

std::string where(const Sign& sign) {
  return fmt::format("{}{}", to_text(sign.quantity),
                     sign.direction ? fmt::format(", {}", phrase(*sign.direction)) : ", warp against weft");
}

std::string listed(const std::vector<double>& values) {
  std::string text;
  for (const double value : values) text += (text.empty() ? "" : ", ") + shown_length(value, 5);
  return text;
}

std::string finding(const Sign& sign) {
  switch (sign.kind) {
    case SignKind::alternation:
      return fmt::format(
          "neighbouring gaps are wide and narrow in turn by {} either way; lag-1 correlation {}, good cloth like this has {}",
          shown_length(sign.effect, 3), shown_number(*sign.correlation, 3), shown_number(*sign.model_correlation, 3));
    case SignKind::periodic:
      return fmt::format("a wave of {} either way comes again every {} gaps", shown_length(sign.effect, 3),
                         shown_number(*sign.period, 3));
    case SignKind::drift:
      return fmt::format("from one side to the other the fitted plane changes by {}", shown_length(sign.effect, 3));
    case SignKind::direction_difference:
      return fmt::format("the means are {} apart ({})", shown_length(sign.effect, 3), listed(sign.values_um));
    case SignKind::two_populations:
      return fmt::format("the readings fall into two groups, around {}, {} standard deviations apart", listed(sign.values_um),
                         shown_number(sign.effect, 3));
    case SignKind::outliers: return fmt::format("{} stand apart from the rest; they stay in the figures", listed(sign.values_um));
    case SignKind::not_normal:
      return fmt::format("up to {} of the readings lie elsewhere than a normal distribution would have them", percent(sign.effect));
    case SignKind::one_value:
      return fmt::format("{} occurs more often than its neighbours let expect, by {} of the readings", listed(sign.values_um),
                         percent(sign.effect));
    case SignKind::coarse_step: break;
  }
  return fmt::format("the readings move in steps of {} standard deviations", shown_number(sign.effect, 3));
}

std::string cause(const Sign& sign) {
  const SignWords words = words_of(sign.kind);
  if (sign.quantity == ClothQuantity::wire && sign.kind != SignKind::one_value && sign.kind != SignKind::coarse_step)
    return "wire from more than one lot or die, or a worn die";
  return std::string(sign.direction == Direction::weft ? words.along_weft : words.along_warp);
}

std::string statistic(const Sign& sign) {
  return fmt::format("statistic {}, critical value {}, n = {}", shown_number(sign.statistic, 4), shown_number(sign.critical, 4),
                     sign.n);
}

void add_not_tested(FigureGroup& group, const Weave& weave) {
  const auto any = [&](NotTested reason) {
    return std::any_of(weave.signs.begin(), weave.signs.end(), [&](const Sign& sign) { return sign.not_tested == reason; });
  };
  if (any(NotTested::not_in_order)) {
    group.notes.emplace_back(
        "Where the readings are neither declared contiguous nor shown so by positions, their order was not tested.");
  }
  if (any(NotTested::too_few)) group.notes.emplace_back("Some tests were not made: too few values.");
  if (any(NotTested::no_spread)) group.notes.emplace_back("Some tests were not made: all values are equal.");
  if (any(NotTested::too_few_values)) group.notes.emplace_back("Some tests were not made: too few different values.");
  if (any(NotTested::other_direction_missing))
    group.notes.emplace_back("Warp and weft were not compared: one of them was not measured.");
}

void write_signs(JsonWriter& json, const Weave& weave) {
  json.member("level", weave.level);
  json.array("signs", weave.signs, [&](const Sign& sign) {
    json.object([&] {
      json.member("kind", to_text(sign.kind));
      json.member("quantity", to_text(sign.quantity));
      if (sign.direction) json.member("direction", to_text(*sign.direction));
      json.member("flagged", sign.flagged);
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
      if (sign.flagged) {
        json.member("sentence", finding(sign));
        json.member("suspected_cause", cause(sign));
      }
    });
  });
}

}  // namespace

std::vector<FigureGroup> how_sure_figures(const Assessment& assessment, const Diagnosis& diagnosis) {
  FigureGroup both{"how_sure", "How sure", {}, {}};
  Figures figures(both);
  const DecisionRule rule = assessment.conditions.decision.rule;
  figures.add("decision_rule", "rule of decision", std::string(to_text(rule)), std::string(rule_sentence(rule)));
  if (diagnosis.apertures_in_piece) {
    figures.add("apertures_in_piece", "apertures in the piece",
                fmt::format("{}{}", diagnosis.apertures_stated ? "" : "about ", *diagnosis.apertures_in_piece),
                apertures_sentence(diagnosis), static_cast<double>(*diagnosis.apertures_in_piece));
  }
  if (!diagnosis.readings_complete)
    both.notes.emplace_back("Not all readings were kept: they are taken as independent, and the weave was not looked at.");
  if (!diagnosis.uncertainty_complete) {
    both.notes.emplace_back(
        "The uncertainty of measurement is not fully known (resolution, scale and repeatability): what is shown of it is a lower "
        "bound, and "
        "no probability of conformity is given.");
  }
  std::vector<FigureGroup> groups{std::move(both)};
  for (const Direction direction : k_directions)
    groups.push_back(direction_group(assessment, diagnosis.doubt[direction], direction));
  return groups;
}

std::vector<FigureGroup> weave_figures(const Diagnosis& diagnosis) {
  FigureGroup group{"weave", "The weave", {}, {}};
  if (!diagnosis.weave) {
    group.notes.emplace_back("Not all readings were kept: nothing was tested.");
    return {std::move(group)};
  }
  for (const Sign& sign : diagnosis.weave->signs) {
    if (!sign.flagged) continue;
    group.figures.push_back(
        {fmt::format("{}_{}_{}", to_text(sign.kind), to_text(sign.quantity), sign.direction ? to_text(*sign.direction) : "both"),
         std::string(words_of(sign.kind).name), where(sign),
         fmt::format("{} ({}); the trade suspects: {} (common practice)", finding(sign), statistic(sign), cause(sign)),
         sign.statistic});
  }
  const auto made = std::count_if(diagnosis.weave->signs.begin(), diagnosis.weave->signs.end(),
                                  [](const Sign& sign) { return !sign.not_tested; });
  group.notes.push_back(fmt::format("{} of {} tests found something. All together flag good cloth at most 5 % of the time.",
                                    group.figures.size(), made));
  add_not_tested(group, *diagnosis.weave);
  group.notes.emplace_back("A sign is a reason to look at the loom; the verdict does not rest on it.");
  return {std::move(group)};
}

void write_diagnosis(JsonWriter& json, const Assessment& assessment, const Diagnosis& diagnosis) {
  write_figures(json, how_sure_figures(assessment, diagnosis));
  write_figures(json, weave_figures(diagnosis));
  if (diagnosis.weave) write_signs(json, *diagnosis.weave);
}

std::string to_text(const Assessment& assessment, const Diagnosis& diagnosis) {
  return to_text(how_sure_figures(assessment, diagnosis)) + "\n" + to_text(weave_figures(diagnosis));
}

}  // namespace sievecloth
