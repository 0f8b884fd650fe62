#include "report/plan_report.hpp"

#include <algorithm>
#include <iterator>
#include <span>
#include <vector>

#include <fmt/format.h>

#include "base/text.hpp"
#include "report/figures.hpp"
#include "report/phrases.hpp"
#include "report/shares.hpp"
#include "sievecloth/version.hpp"

namespace sievecloth {
namespace {

/// Readings of one field, in their order.
using Field = std::span<const PlannedReading>;

std::vector<Field> fields_of(const Plan& plan) {
  std::vector<Field> fields;
  const Field all = plan.readings;
  for (std::size_t begin = 0, end = 0; begin < all.size(); begin = end) {
    while (end < all.size() && all[end].field == all[begin].field && all[end].direction == all[begin].direction) ++end;
    fields.push_back(all.subspan(begin, end - begin));
  }
  return fields;
}

// Its number, on a roll preceded by its lane. `w` marks where the wire beside the first aperture is measured too.
std::string name_of(const Field& field) {
  const PlannedReading& first = field.front();
  return fmt::format("{}{}{}", first.lane ? fmt::format("{} ", to_text(*first.lane)) : "", first.field, first.wire ? "w" : "");
}

std::string_view direction_phrase(Direction direction) {
  return direction == Direction::warp ? "parallel to the warp (apertures between weft wires)"
                                      : "parallel to the weft (apertures between warp wires)";
}

std::string title_of(const Plan& plan) {
  const Specification& specification = plan.specification;
  std::string title = fmt::format("Plan for {}", specification.row->designation);
  if (!specification.row->alternative.empty()) title += fmt::format(" ({})", specification.row->alternative);
  title += fmt::format(", {}", specification.edition->title);
  if (specification.grade) title += fmt::format(", {} grade", to_text(*specification.grade));
  return title;
}

std::string piece_sentence(const Plan& plan) {
  if (plan.piece.roll) {
    return fmt::format("full apertures on a roll {} wide and {} long, at the nominal pitch", to_text(plan.piece.roll->width),
                       to_text(plan.piece.roll->length));
  }
  return fmt::format("full apertures in the clear {} of {} (nominal pitch)",
                     plan.piece.frame->shape == FrameShape::round ? "diameter" : "side", to_text(*plan.choice.clear));
}

std::string count_sentence(const Plan& plan) {
  if (plan.all) return "every full aperture, in each direction";
  std::string sentence = "to measure in each direction";
  if (plan.required->scaled) sentence += ", scaled to this piece by the edition's rule";
  if (plan.required->size_assumed) {
    sentence += plan.piece.roll ? "; the edition counts for a mounted sieve of 200 mm: of a roll it says no more"
                                : "; the piece's size is not known, so the edition's count is taken as it stands";
  }
  sentence += fmt::format(" (count: {})", to_text(plan.required->basis->provenance));
  return sentence;
}

std::string outlook_sentence(const Plan& plan) {
  const SpreadOutlook& outlook = *plan.spread;
  std::string sentence = "chance that cloth with a true standard deviation of 0.7 times the limit passes with this count";
  if (outlook.factor) sentence += fmt::format(", since the factor K is {}", shown_number(*outlook.factor));
  if (outlook.pass_probability < 0.5)
    sentence += ": the test is hopeless, good cloth fails more often than it passes; measure more";
  return sentence;
}

// The best that a plan can show: none of its readings is above w + X.
void add_best_bound(FigureGroup& group, const Plan& plan) {
  if (!plan.apertures || plan.all) return;
  const double bound = best_share_bound(plan);
  group.figures.push_back({"best_share_bound", "above w + X, at best",
                           fmt::format("at most {}", shown_share_bound(bound, Words(Wording()))),
                           fmt::format("of all apertures may be above it (95 % confidence) if none planned is{}",
                                       plan.fields > 0 ? "; a field counts once" : ""),
                           bound});
}

void add_outlook(FigureGroup& group, const Plan& plan) {
  if (!plan.spread) return;
  const SpreadOutlook& outlook = *plan.spread;
  group.figures.push_back({"spread_pass_probability", "spread, chance to pass",
                           shown_probability(outlook.pass_probability, Words(Wording())), outlook_sentence(plan),
                           outlook.pass_probability});
  if (!outlook.least_count) return;
  const std::int64_t proposed = std::max(*outlook.least_count, *plan.apertures);
  group.figures.push_back({"proposed_apertures", "apertures proposed", fmt::format("{}", proposed),
                           "the least, and no fewer than required, to pass such cloth with 90 %", static_cast<double>(proposed)});
}

std::string millimetres(Length length) { return to_text(length, Unit::millimetre); }

// What makes the same plan again.
std::string choice_phrase(const Plan& plan) {
  const PlanChoice& choice = plan.choice;
  std::string phrase = fmt::format("seed {}, {}, version {}", choice.seed, to_text(choice.method), k_plan_version);
  if (choice.field) phrase += fmt::format(", field of view {}", to_text(*choice.field));
  if (choice.clear) phrase += fmt::format(", clear {}", to_text(*choice.clear));
  return phrase;
}

void add_place_notes(FigureGroup& group, const Plan& plan) {
  if (plan.readings.empty()) {
    const bool known = plan.piece.frame || plan.piece.roll;
    group.notes.emplace_back(known ? "How many apertures this edition requires is not known: no places are listed."
                                   : "No frame or roll is known: no places are listed.");
    return;
  }
  group.notes.push_back(
      fmt::format("Made by {}: the same give the same plan. Every full aperture {}has the same chance of being measured.",
                  choice_phrase(plan), plan.fields > 0 && plan.piece.frame ? "of the lines " : ""));
  const std::string_view gaps = plan.piece.roll ? "left and the beginning" : "left and below";
  group.notes.push_back(fmt::format("x runs along the weft wires, y along the warp wires, from the {}{}.",
                                    plan.piece.roll ? "left edge and the beginning" : "middle",
                                    plan.readings.front().gap ? fmt::format("; gaps count from the {}", gaps) : ""));
  if (plan.piece.roll) group.notes.emplace_back("Left, centre and right are thirds of the width.");
  group.notes.emplace_back(
      "Find each place as nearly as the instrument allows, and measure what is there, whatever it looks like.");
}

void add_notes(FigureGroup& group, const Plan& plan) {
  const std::string doubts = doubts_phrase(*plan.specification.edition, *plan.specification.row);
  if (!doubts.empty()) group.notes.push_back(fmt::format("The table looks mistyped here, and decides nothing: {}.", doubts));
  add_place_notes(group, plan);
  if (plan.piece.frame && plan.choice.clear == plan.piece.frame->size - k_frame_allowance) {
    group.notes.emplace_back("The clear part is taken as 0.5 in. less than the frame's size (from memory); --clear says better.");
  }
  if (plan.all) {
    group.notes.emplace_back("A job file tells check that every aperture was measured: all_apertures and apertures_in_piece.");
  }
  if (plan.apertures && plan.wires > *plan.apertures) {
    group.notes.emplace_back(
        "There are fewer apertures than wire readings required: measure wires at further places, in rows of their own.");
  }
  group.notes.emplace_back("The visual examination covers every aperture; no plan replaces it.");
}

std::string_view colour_of(Direction direction) { return direction == Direction::warp ? "#1b5e9b" : "#b3541e"; }

/// Position of the piece in the picture, y upwards. A sieve is drawn to scale; a roll is too long for that.
struct View {
  double left_um, top_um;  // position of the upper left corner
  double width, height;    // of the piece [px]
  double x_per_um, y_per_um;

  double x(Length length) const { return 20 + (length.um() - left_um) * x_per_um; }
  double y(Length length) const { return 40 + (top_um - length.um()) * y_per_um; }
};

View view_of(const Plan& plan) {
  constexpr double k_side = 560;
  if (const std::optional<Roll>& roll = plan.piece.roll) {
    return {0, roll->length.um(), k_side / 2, k_side, k_side / 2 / roll->width.um(), k_side / roll->length.um()};
  }
  const double clear = plan.choice.clear->um();
  return {-clear / 2, clear / 2, k_side, k_side, k_side / clear, k_side / clear};
}

std::string outline_of(const Plan& plan, const View& view) {
  constexpr std::string_view k_style = "fill=\"none\" stroke=\"#444\"";
  if (plan.piece.frame && plan.piece.frame->shape == FrameShape::round) {
    return fmt::format("<circle cx=\"{:.2f}\" cy=\"{:.2f}\" r=\"{:.2f}\" {}/>\n", 20 + view.width / 2, 40 + view.height / 2,
                       view.width / 2, k_style);
  }
  std::string outline =
      fmt::format("<rect x=\"20\" y=\"40\" width=\"{:.2f}\" height=\"{:.2f}\" {}/>\n", view.width, view.height, k_style);
  for (int third = 1; plan.piece.roll && third < 3; ++third) {  // the lanes
    outline +=
        fmt::format("<line x1=\"{0:.2f}\" y1=\"40\" x2=\"{0:.2f}\" y2=\"{1:.2f}\" stroke=\"#999\" stroke-dasharray=\"4 4\"/>\n",
                    20 + view.width * third / 3, 40 + view.height);
  }
  return outline;
}

// A stroke parallel to the direction of measurement; thick where the wire is measured too.
std::string stroke_of(const PlannedReading& reading, const View& view) {
  const double x = view.x(reading.x);
  const double y = view.y(reading.y);
  const double dx = reading.direction == Direction::warp ? 0 : 3;
  const double dy = 3 - dx;
  return fmt::format("<line x1=\"{:.2f}\" y1=\"{:.2f}\" x2=\"{:.2f}\" y2=\"{:.2f}\" stroke=\"{}\" stroke-width=\"{}\"/>\n", x - dx,
                     y - dy, x + dx, y + dy, colour_of(reading.direction), reading.wire ? 3 : 1);
}

std::vector<FigureGroup> plan_figures(const Plan& plan) {
  FigureGroup group{"plan", title_of(plan), {}, {}};
  if (plan.apertures) {
    group.figures.push_back(
        {"apertures", "apertures", fmt::format("{}", *plan.apertures), count_sentence(plan), static_cast<double>(*plan.apertures)});
  } else {
    group.figures.push_back(
        {"apertures", "apertures", plan.all ? "all" : "not known",
         plan.all ? "every full aperture; how many depends on the frame or roll" : "how many this edition asks is not in the table",
         std::nullopt});
  }
  if (plan.fields > 0) {
    const std::int64_t longest = (*plan.apertures + plan.fields - 1) / plan.fields;
    group.figures.push_back({"fields", "fields", fmt::format("{}", plan.fields),
                             fmt::format("in each direction, {} {}",
                                         longest == 1 ? "single apertures" : fmt::format("runs of up to {} neighbours", longest),
                                         plan.piece.roll ? "all over the cloth" : "on the centre lines"),
                             static_cast<double>(plan.fields)});
  }
  group.figures.push_back({"wires", "wires", fmt::format("{}", plan.wires),
                           plan.fields > 0 ? "in each direction, beside the first aperture of fields marked w"
                                           : "to measure in each direction, beside apertures marked w",
                           static_cast<double>(plan.wires)});
  if (plan.apertures_in_piece) {
    group.figures.push_back({"apertures_in_piece", "apertures in the piece",
                             "about " + shown_count(static_cast<double>(*plan.apertures_in_piece)), piece_sentence(plan),
                             static_cast<double>(*plan.apertures_in_piece)});
  }
  group.figures.push_back({"resolution_um", "resolution", to_text(plan.resolution),
                           fmt::format("of the instrument, or finer: 1 {} or Y/4, whichever is greater{}", k_um_symbol,
                                       plan.resolution_required ? "" : " (ISO 3310-1 asks it; this edition does not)"),
                           plan.resolution.um()});
  add_best_bound(group, plan);
  add_outlook(group, plan);
  add_notes(group, plan);
  return {std::move(group)};
}

// `12.5`, or from the first to the last: `12.5 to 13.75`
std::string range_text(Length first, Length last) {
  return first == last ? millimetres(first) : fmt::format("{} to {}", millimetres(first), millimetres(last));
}

std::string field_line(const Field& field) {
  const PlannedReading& first = field.front();
  const PlannedReading& last = field.back();
  std::string gaps;
  if (first.gap) gaps = *first.gap == *last.gap ? fmt::format("{}", *first.gap) : fmt::format("{} to {}", *first.gap, *last.gap);
  return fmt::format("  {:>12}  {:>16}  {:>20}  {:>20}\n", name_of(field), gaps, range_text(first.x, last.x),
                     range_text(first.y, last.y));
}

std::string plan_list(const Plan& plan, std::size_t lines) {
  constexpr std::size_t k_fewest_lines = 4;
  const std::vector<Field> fields = fields_of(plan);
  std::string text;
  for (const Direction direction : k_directions) {
    std::vector<Field> own;
    std::copy_if(fields.begin(), fields.end(), std::back_inserter(own),
                 [&](const Field& field) { return field.front().direction == direction; });
    if (own.empty()) continue;
    const std::size_t room = std::max(k_fewest_lines, lines > 6 ? (lines - 6) / 2 : 0);
    const std::size_t shown = own.size() <= room + 1 ? own.size() : room;
    text += fmt::format("\nMeasured {}: field,{} x in mm, y in mm\n", direction_phrase(direction),
                        own.front().front().gap ? " gaps," : "");
    for (std::size_t i = 0; i < shown; ++i) text += field_line(own[i]);
    if (shown < own.size()) text += fmt::format("  and {} more: --csv FILE writes them all\n", own.size() - shown);
  }
  return text;
}

}  // namespace

std::string plan_text(const Plan& plan) {
  constexpr std::size_t k_screen = 44;
  const std::string figures = to_text(plan_figures(plan));
  const auto used = static_cast<std::size_t>(std::count(figures.begin(), figures.end(), '\n'));
  return figures + plan_list(plan, k_screen - std::min(k_screen, used));
}

std::string plan_csv(const Plan& plan) {
  const std::string_view unit = plan.specification.row->nominal < Length::of(1, Unit::millimetre) ? "um" : "mm";
  const bool gaps = !plan.readings.empty() && plan.readings.front().gap;
  std::string text = fmt::format("# {}; {}\n", title_of(plan), choice_phrase(plan));
  text += "# Fill in the apertures; where the field ends in w, measure the wire beside its first aperture too.\n";
  text += fmt::format("direction,field,{}x_mm,y_mm,aperture_{},wire_{}\n", gaps ? "gap," : "", unit, unit);
  for (const Field& field : fields_of(plan)) {
    const std::string name = name_of(field);
    for (const PlannedReading& reading : field) {
      text += fmt::format("{},{},{}{},{},,\n", to_text(reading.direction), name, gaps ? fmt::format("{},", *reading.gap) : "",
                          millimetres(reading.x), millimetres(reading.y));
    }
  }
  return text;
}

std::string plan_svg(const Plan& plan) {
  if (plan.readings.empty()) return "";
  const View view = view_of(plan);
  const double width = std::max(view.width + 40, 600.0);
  std::string svg = fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0:.0f}\" height=\"{1:.0f}\" viewBox=\"0 0 {0:.0f} {1:.0f}\" "
      "font-family=\"sans-serif\" font-size=\"12\">\n",
      width, view.height + 80);
  svg += fmt::format("<title>{0}</title>\n<text x=\"20\" y=\"24\">{0}</text>\n", title_of(plan));
  svg += outline_of(plan, view);
  for (const PlannedReading& reading : plan.readings) svg += stroke_of(reading, view);
  double x = 20;
  for (const Direction direction : k_directions) {
    svg += fmt::format("<text x=\"{:.0f}\" y=\"{:.0f}\" fill=\"{}\">{}</text>\n", x, view.height + 64, colour_of(direction),
                       direction_phrase(direction));
    x += 220;
  }
  svg += fmt::format("<text x=\"{:.0f}\" y=\"{:.0f}\">thick: wire too</text>\n", x, view.height + 64);
  return svg + "</svg>\n";
}

std::string plan_json(const Plan& plan) {
  const std::vector<FigureGroup> groups = plan_figures(plan);
  std::string name;  // of the field of the reading before
  std::int64_t field = 0;
  Direction direction = Direction::warp;
  JsonText json;
  json.object([&] {
    json.member("schema", "sievecloth-plan/1");
    json.member("standard", plan.specification.edition->name);
    json.member("designation", plan.specification.row->designation);
    if (plan.specification.grade) json.member("grade", to_text(*plan.specification.grade));
    json.member("seed", plan.choice.seed);
    json.member("method", to_text(plan.choice.method));
    json.member("method_version", k_plan_version);
    if (plan.choice.field) json.member("field_um", *plan.choice.field);
    if (plan.choice.clear) json.member("clear_um", *plan.choice.clear);
    json.member("all_apertures", plan.all);
    write_figures(json, groups);
    json.array("readings", plan.readings, [&](const PlannedReading& reading) {
      if (reading.field != field || reading.direction != direction) name = name_of(Field(&reading, 1));
      field = reading.field;
      direction = reading.direction;
      json.object([&] {
        json.member("direction", to_text(reading.direction));
        json.member("field", name);
        if (reading.gap) json.member("gap", *reading.gap);
        json.member("x_mm", reading.x.um() / 1000);
        json.member("y_mm", reading.y.um() / 1000);
        json.member("wire", reading.wire);
      });
    });
    json.member("library", k_version);
  });
  return json.text();
}

}  // namespace sievecloth
