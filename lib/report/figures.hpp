// Figures, each with a sentence for readers without statistics: the output of the smaller verbs.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "report/json.hpp"

namespace sievecloth {

/// One figure. `id` is its key in JSON.
struct Figure {
  std::string id;
  std::string name;
  std::string shown;  ///< with its unit, rounded for reading
  std::string sentence;
  std::optional<double> value;                        ///< unrounded; if empty, JSON has the shown text
  std::vector<std::pair<std::string, double>> parts;  ///< further members in JSON
  std::string withheld;                               ///< reason if there is no value to show; empty otherwise
};

struct FigureGroup {
  std::string id;
  std::string title;
  std::vector<Figure> figures;
  std::vector<std::string> notes;
};

/// Formats title, one line per figure, and a list of notes.
std::string to_text(std::span<const FigureGroup> groups);

/// Writes each group as an object under its id: figures by id, each with value, shown text and sentence; then the notes.
void write_figures(JsonWriter& json, std::span<const FigureGroup> groups);

/// Four significant digits, without an exponent.
std::string shown_number(double value, int digits = 4);
/// Two significant digits, rounded up: an uncertainty (JCGM 100:2008, 7.2.6).
std::string rounded_up(double value);
/// um below 1 mm, mm from there, as sizes are printed in the standards; four significant digits.
std::string shown_length(double um, int digits = 4);
/// The same for an uncertainty, as rounded_up.
std::string shown_uncertainty(double um);

}  // namespace sievecloth
