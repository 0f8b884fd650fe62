#include "report/figures.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "base/text.hpp"

namespace sievecloth {
namespace {

constexpr std::size_t k_line = 110;

std::string padded(const std::string& text, std::size_t width) {
  return text + std::string(width - std::min(width, character_count(text)), ' ');
}

// Wraps at blanks; every line but the first is indented.
std::string wrapped(const std::string& text, std::size_t indentation) {
  std::string lines;
  std::size_t used = 0;
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = std::min(text.find(' ', begin), text.size());
    const std::string word = text.substr(begin, end - begin);
    const std::size_t length = character_count(word);
    if (used > 0 && indentation + used + 1 + length > k_line) {
      lines += fmt::format("\n{:{}}", "", indentation);
      used = 0;
    }
    if (used > 0) lines += ' ';
    lines += word;
    used += length + (used > 0 ? 1 : 0);
    begin = end + 1;
  }
  return lines;
}

template <class Member>
std::size_t widest(const FigureGroup& group, Member member) {
  std::size_t width = 0;
  for (const Figure& figure : group.figures) width = std::max(width, character_count(figure.*member));
  return width;
}

}  // namespace

std::string to_text(std::span<const FigureGroup> groups) {
  std::string text;
  for (const FigureGroup& group : groups) {
    text += fmt::format("{}{}\n", text.empty() ? "" : "\n", group.title);
    const std::size_t name = widest(group, &Figure::name);
    const std::size_t shown = std::min<std::size_t>(widest(group, &Figure::shown), 28);
    for (const Figure& figure : group.figures) {
      text += fmt::format("  {}  {}  {}\n", padded(figure.name, name), padded(figure.shown, shown),
                          wrapped(figure.sentence, 6 + name + shown));
    }
    for (const std::string& note : group.notes) text += fmt::format("  - {}\n", wrapped(note, 4));
  }
  return text;
}

void write_figures(JsonWriter& json, std::span<const FigureGroup> groups) {
  for (const FigureGroup& group : groups) {
    json.object(group.id, [&] {
      for (const Figure& figure : group.figures) {
        json.object(figure.id, [&] {
          json.member("value", figure.value);
          if (!figure.withheld.empty()) json.member("withheld", figure.withheld);
          for (const auto& [name, part] : figure.parts) json.member(name, part);
          json.member("shown", figure.shown);
          json.member("sentence", figure.sentence);
        });
      }
      json.array("notes", group.notes, [&](const std::string& note) { json.value(note); });
    });
  }
}

std::string shown_number(double value, int digits) {
  constexpr double k_vanishing = 5e-13;  // below the last decimal
  if (std::fabs(value) < k_vanishing) return "0";
  const int magnitude = static_cast<int>(std::floor(std::log10(std::fabs(value))));
  return fmt::format("{:.{}f}", value, std::clamp(digits - 1 - magnitude, 0, 12));
}

std::string rounded_up(double value) {
  if (!(value > 0)) return "0";
  constexpr double k_noise = 1e-3;  // of a hundredth: k = 2 covers 95.44997 %, so that 0.62 at k = 2 may come back as 0.6200008
  int place = static_cast<int>(std::floor(std::log10(value))) - 1;  // of the second digit
  const double digits = std::ceil(value / std::pow(10.0, place) - k_noise);
  const double rounded = digits * std::pow(10.0, place);
  if (digits >= 100) ++place;  // 9.99 is 10
  return fmt::format("{:.{}f}", rounded, std::max(0, -place));
}

std::string shown_length(double um, int digits) {
  return std::fabs(um) < 1000 ? shown_number(um, digits) + " " + std::string(k_um_symbol) : shown_number(um / 1000, digits) + " mm";
}

std::string shown_uncertainty(double um) {
  return um < 1000 ? rounded_up(um) + " " + std::string(k_um_symbol) : rounded_up(um / 1000) + " mm";
}

}  // namespace sievecloth
