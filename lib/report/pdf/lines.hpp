// Text broken into lines.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "report/pdf/fonts.hpp"
#include "sievecloth/drawing.hpp"

namespace sievecloth::pdf {

/// How a text is set.
struct Face {
  double size = 8.8;  ///< [pt]
  bool bold = false;
  Grey grey = 0;
  double leading() const { return 1.34 * size; }
};

using Lines = std::vector<std::string>;

/// Breaks a text at blanks, and within a word only if it is wider than a line. A number stays with its unit. At least one line.
Lines break_lines(const Fonts& fonts, const Face& face, double width, std::string_view text);

/// Width of the widest word.
double word_width(const Fonts& fonts, const Face& face, std::string_view text);

inline double height_of(const Lines& lines, const Face& face) { return static_cast<double>(lines.size()) * face.leading(); }

}  // namespace sievecloth::pdf
