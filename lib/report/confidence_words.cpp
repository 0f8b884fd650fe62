#include "report/confidence_words.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "report/phrases.hpp"
#include "report/shares.hpp"
#include "report/weave_words.hpp"
#include "sievecloth/report.hpp"

namespace sievecloth {
namespace {

constexpr double k_no_turn = 0.005;  // [degrees]: less is shown as nothing

Figure withheld_figure(std::string id, std::string name, Withheld reason, const Words& words) {
  return {std::move(id),
          std::move(name),
          words("sure.withheld"),
          words(Key::of<"withheld">(reason)),
          std::nullopt,
          {},
          std::string(to_text(reason))};
}

// Empty if the figure does not apply.
std::optional<Figure> interval_figure(std::string id, Key name, const Held<Interval>& held, Key sentence, const Words& words) {
  if (const std::optional<Withheld> reason = held.withheld()) return withheld_figure(std::move(id), words(name), *reason, words);
  if (!held) return std::nullopt;
  const auto length = [&](double um) { return words.number(shown_length(um)); };
  const std::string shown = held->lower == held->upper
                                ? length(held->lower)
                                : words("sure.range", {{"lower", length(held->lower)}, {"upper", length(held->upper)}});
  return Figure{
      std::move(id), words(name), shown, words(sentence), std::nullopt, {{"lower_um", held->lower}, {"upper_um", held->upper}}, {}};
}

/// The figures of one direction.
class DirectionFigures {
 public:
  DirectionFigures(const Assessment& assessment, const Diagnosis& diagnosis, Direction direction, const Words& words)
      : assessment_(assessment),
        confidence_(diagnosis.confidence[direction]),
        direction_(direction),
        words_(words),
        group_{fmt::format("how_sure_{}", to_text(direction)),
               words("sure.direction", {{"direction", direction_phrase(direction, words)}}),
               {},
               {}} {}

  FigureGroup make() {
    if (confidence_.n == 0) {
      group_.notes.push_back(words_("sure.nothing-measured"));
      return group_;
    }
    if (!assessment_.all_measured) add_independent();
    add_intervals();
    add_tail();
    add_needed();
    add_uncertainties();
    add_guards();
    add_conformity();
    return group_;
  }

 private:
  Figure& add(std::string id, Key name, std::string shown, std::string sentence, std::optional<double> value = std::nullopt) {
    group_.figures.push_back({std::move(id), words_(name), std::move(shown), std::move(sentence), value, {}, {}});
    return group_.figures.back();
  }

  std::string number(double value, int digits = 4) const { return words_.number(shown_number(value, digits)); }
  std::string length(double um, int digits = 4) const { return words_.number(shown_length(um, digits)); }
  std::string whole(std::int64_t n) const { return fmt::format("{}", n); }
  std::string at_most(const std::string& value) const { return words_("sure.at-most", {{"value", value}}); }

  void add_independent() {
    if (confidence_.mean_um.withheld() == Withheld::incomplete)
      return group_.figures.push_back(withheld_figure("effective_n", words_("figure.effective-n"), Withheld::incomplete, words_));
    const Key sentence =
        confidence_.contiguous ? Key("sure.independent.contiguous") : Key::of<"sure.independent">(confidence_.dependence);
    Figure& figure = add("effective_n", confidence_.contiguous ? Key("figure.places") : Key("figure.effective-n"),
                         whole(confidence_.independent), words_(sentence, {{"n", whole(confidence_.n)}}),
                         static_cast<double>(confidence_.independent));
    if (confidence_.dependence != Dependence::assumed_independent)
      figure.parts = {{"groups", static_cast<double>(confidence_.independent)}};
    if (!confidence_.turn_degrees) return;
    if (std::fabs(*confidence_.turn_degrees) < k_no_turn) return;
    add("turn_degrees", "figure.turn", words_.number(fmt::format("{:.2f}", *confidence_.turn_degrees)) + "\u00b0",
        words_("sure.turn"), confidence_.turn_degrees);
  }

  void add_interval(std::string id, Key name, const Held<Interval>& held, Key sentence) {
    if (std::optional<Figure> figure = interval_figure(std::move(id), name, held, sentence, words_))
      group_.figures.push_back(*std::move(figure));
  }

  void add_intervals() {
    const Key mean = assessment_.all_measured                   ? Key("sure.mean-all")
                     : confidence_.independent != confidence_.n ? Key("sure.mean-groups")
                                                                : Key("sure.mean");
    add_interval("mean", "figure.mean", confidence_.mean_um, mean);
    add_interval("deviation", "figure.deviation", confidence_.standard_deviation_um, "sure.deviation");
    add_interval("wire_mean", "figure.wire-mean", confidence_.wire_mean_um, "sure.wire-mean");
  }

  void add_share(const std::string& id, const std::string& name, const Held<double>& held, std::int64_t above,
                 std::int64_t may_be_above) {
    if (const std::optional<Withheld> reason = held.withheld())
      return group_.figures.push_back(withheld_figure(id, name, *reason, words_));
    const bool all = assessment_.all_measured;
    const bool groups = confidence_.independent != confidence_.n;
    const std::string shown = all ? shown_share(*held, words_) : at_most(shown_share_bound(*held, words_));
    const Key sentence = all                    ? Key("sure.share-all")
                         : groups               ? Key("sure.share-groups")
                         : may_be_above > above ? Key("sure.share-rounded")
                                                : Key("sure.share");
    const std::string counted = words_(sentence, {{"n", whole(confidence_.n)},
                                                  {"above", whole(above)},
                                                  {"rounded", whole(may_be_above)},
                                                  {"groups", whole(confidence_.independent)}});
    group_.figures.push_back({id, name, shown, counted, *held, {}, {}});
  }

  void add_tail() {
    const Row& row = *assessment_.specification.row;
    const auto above = [&](Length limit) { return words_("figure.share-above", {{"limit", words_.number(to_text(limit))}}); };
    add_share("share_above_bound", above(row.largest_aperture()), confidence_.share_above_bound, confidence_.above_largest,
              confidence_.may_be_above_largest);
    if (row.intermediate_limit)
      add_share("share_above_intermediate_bound", above(row.intermediate_limit->value), confidence_.share_above_intermediate_bound,
                confidence_.above_intermediate, confidence_.may_be_above_intermediate);
    if (assessment_.all_measured) return;
    if (confidence_.expected_number) {
      add("expected_number_above", "figure.expected-above", words_.number(shown_count(*confidence_.expected_number)),
          words_("sure.expected"), confidence_.expected_number);
    }
    if (confidence_.number_above_bound) {
      add("number_above_bound", "figure.number-above", words_.number(shown_count_bound(*confidence_.number_above_bound)),
          words_(confidence_.finite ? Key("sure.number-finite") : Key("sure.number")), confidence_.number_above_bound);
    }
  }

  void add_needed() {
    if (assessment_.all_measured) return;
    const std::optional<RequiredCount>& required = assessment_.required;
    if (required && required->all) {
      add("needed", "figure.needed", words_("sure.all"), words_("sure.needed-every"));
      return;
    }
    if (confidence_.needed_for_mean) {
      add_needed("needed_for_mean", "figure.needed-mean", *confidence_.needed_for_mean, "sure.mean-enough", "sure.needed-mean");
    } else if (confidence_.mean_um) {
      add("needed_for_mean", "figure.needed-mean", words_("sure.no-number"), words_("sure.needed-never"));
    } else if (required && confidence_.n < required->count) {
      add_needed("needed_for_mean", "figure.needed-mean", required->count, "sure.mean-enough", "sure.needed-count");
    }
    if (confidence_.needed_for_spread)
      add_needed("needed_for_spread", "figure.needed-spread", *confidence_.needed_for_spread, "sure.spread-enough",
                 "sure.needed-spread");
    add("needed_for_maximum", "figure.needed-maximum", words_("sure.all"), words_("sure.needed-maximum"));
  }

  void add_needed(const std::string& id, Key name, std::int64_t needed, Key enough, Key more) {
    const bool by_count = assessment_.required && needed == assessment_.required->count;
    const Key sentence = needed <= confidence_.n ? enough : by_count ? Key("sure.needed-count") : more;
    add(id, name, whole(needed), words_(sentence, {{"n", whole(confidence_.n)}}), static_cast<double>(needed));
  }

  void add_uncertainty(const std::string& id, Key name, const Uncertainty& uncertainty, Key what) {
    const std::string freedom =
        uncertainty.freedom ? words_("sure.freedom", {{"n", words_.number(shown_count(*uncertainty.freedom))}})
                            : words_(uncertainty.from_budget ? Key("sure.freedom-not-stated") : Key("sure.freedom-unlimited"));
    const std::string shown = "\u00b1 " + words_.number(shown_uncertainty(uncertainty.expanded_um));
    Figure& figure = add(id, name, uncertainty.complete ? shown : words_("sure.at-least", {{"value", shown}}),
                         words_("sure.uncertainty", {{"what", words_(what)},
                                                     {"factor", number(uncertainty.coverage_factor, 3)},
                                                     {"freedom", freedom},
                                                     {"systematic", length(uncertainty.systematic_um, 3)},
                                                     {"random", length(uncertainty.random_um, 3)}}),
                         uncertainty.expanded_um);
    figure.parts = {{"coverage_factor", uncertainty.coverage_factor},
                    {"systematic_um", uncertainty.systematic_um},
                    {"random_um", uncertainty.random_um}};
    if (uncertainty.freedom) figure.parts.emplace_back("effective_degrees_of_freedom", *uncertainty.freedom);
  }

  void add_uncertainties() {
    if (confidence_.mean_uncertainty)
      add_uncertainty("mean_expanded_um", "figure.mean-expanded", *confidence_.mean_uncertainty, "sure.mean-uncertainty");
    if (confidence_.reading_uncertainty)
      add_uncertainty("reading_expanded_um", "figure.reading-expanded", *confidence_.reading_uncertainty,
                      "sure.reading-uncertainty");
    if (confidence_.deviation_uncertainty)
      add_uncertainty("deviation_expanded_um", "figure.deviation-expanded", *confidence_.deviation_uncertainty,
                      "sure.deviation-uncertainty");
    if (!confidence_.corrected_deviation_um) {
      if (confidence_.deviation_conformity)
        add("corrected_deviation_um", "figure.corrected-deviation", words_("sure.no-number"), words_("sure.corrected-none"));
      return;
    }
    add("corrected_deviation_um", "figure.corrected-deviation", length(*confidence_.corrected_deviation_um),
        words_("sure.corrected-deviation"), confidence_.corrected_deviation_um);
  }

  void add_guards() {
    const DecisionRule rule = assessment_.conditions.decision;
    if (rule == DecisionRule::simple) return;
    const Key meaning = rule == DecisionRule::guarded ? Key("sure.guard.guarded-acceptance") : Key("sure.guard.four-outcomes");
    const auto add_guard = [&](const char* id, Key name, CriterionId of) {
      for (const Criterion& criterion : assessment_.criteria) {
        if (criterion.id != of || criterion.direction != direction_ || !criterion.guard) continue;
        add(id, name, length(criterion.guard->um(), 3), words_(meaning), criterion.guard->um());
      }
    };
    add_guard("mean_guard_um", "figure.guard-average", CriterionId::average_aperture);
    add_guard("reading_guard_um", "figure.guard-reading", CriterionId::maximum_aperture);
    add_guard("deviation_guard_um", "figure.guard-deviation", CriterionId::aperture_standard_deviation);
  }

  void add_conformity() {
    const auto add_probability = [&](const char* id, Key name, const std::optional<double>& probability, Key sentence) {
      if (probability) add(id, name, shown_probability(*probability, words_), words_(sentence), probability);
    };
    add_probability("mean_conformity", "figure.mean-conformity", confidence_.mean_conformity, "sure.mean-conformity");
    add_probability("largest_conformity", "figure.largest-conformity", confidence_.largest_conformity, "sure.largest-conformity");
    add_probability("deviation_conformity", "figure.deviation-conformity", confidence_.deviation_conformity,
                    "sure.deviation-conformity");
    if (!confidence_.risks) return;
    const Risks& risks = *confidence_.risks;
    add_probability("consumer_risk", "figure.consumer-risk", risks.consumer, "sure.consumer-risk");
    add_probability("producer_risk", "figure.producer-risk", risks.producer, "sure.producer-risk");
    if (assessment_.conditions.decision != DecisionRule::four_outcomes) return;
    add_probability("share_pass", "figure.share-pass", risks.pass, "sure.share-outcome");
    add_probability("share_conditional_pass", "figure.share-conditional-pass", risks.conditional_pass, "sure.share-outcome");
    add_probability("share_conditional_fail", "figure.share-conditional-fail", risks.conditional_fail, "sure.share-outcome");
    add_probability("share_fail", "figure.share-fail", risks.fail, "sure.share-outcome");
  }

  const Assessment& assessment_;
  const DirectionConfidence& confidence_;
  const Direction direction_;
  const Words& words_;
  FigureGroup group_;
};

FigureGroup both_directions(const Assessment& assessment, const Diagnosis& diagnosis, const Words& words) {
  FigureGroup group{"how_sure", words("section.how-sure"), {}, {}};
  const DecisionRule rule = assessment.conditions.decision;
  group.figures.push_back({"decision_rule",
                           words("figure.rule"),
                           words(Key::of<"sure.rule-name">(rule)),
                           words(Key::of<"sure.rule">(rule)),
                           std::nullopt,
                           {},
                           {}});
  if (diagnosis.apertures_in_piece) {
    const auto number = static_cast<double>(*diagnosis.apertures_in_piece);
    const std::string shown = diagnosis.apertures_stated ? fmt::format("{}", *diagnosis.apertures_in_piece)
                                                         : words("sure.about", {{"value", words.number(shown_count(number))}});
    group.figures.push_back({"apertures_in_piece",
                             words("figure.apertures"),
                             shown,
                             words(diagnosis.apertures_stated ? Key("sure.apertures-stated") : Key("sure.apertures-counted")),
                             number,
                             {},
                             {}});
  }
  const Key sentence = assessment.all_measured ? Key("sure.difference-all") : Key("sure.difference");
  if (std::optional<Figure> figure =
          interval_figure("warp_minus_weft", "figure.difference", diagnosis.difference_um, sentence, words))
    group.figures.push_back(*std::move(figure));
  if (!diagnosis.uncertainty_complete)
    group.notes.push_back(words(diagnosis.uncertainty_known ? Key("sure.uncertainty-partly") : Key("sure.uncertainty-unknown")));
  return group;
}

}  // namespace

std::vector<FigureGroup> how_sure_figures(const Assessment& assessment, const Diagnosis& diagnosis, const Words& words) {
  std::vector<FigureGroup> groups{both_directions(assessment, diagnosis, words)};
  for (const Direction direction : k_directions) groups.push_back(DirectionFigures(assessment, diagnosis, direction, words).make());
  return groups;
}

void write_diagnosis(JsonWriter& json, const Assessment& assessment, const Diagnosis& diagnosis) {
  const Wording english;
  const Words words(english);
  write_figures(json, how_sure_figures(assessment, diagnosis, words));
  write_figures(json, weave_figures(diagnosis, words));
  write_signs(json, diagnosis.weave, words);
}

std::string to_text(const Assessment& assessment, const Diagnosis& diagnosis) {
  const Wording english;
  const Words words(english);
  const std::vector<FigureGroup> quiet = nonsignificant_tests(diagnosis, words);
  return to_text(how_sure_figures(assessment, diagnosis, words)) + "\n" + to_text(weave_figures(diagnosis, words)) +
         (quiet.empty() ? "" : "\n" + to_text(quiet));
}

}  // namespace sievecloth
