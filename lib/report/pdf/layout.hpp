// Lays out a report on pages.
#pragma once

#include <vector>

#include "report/pdf/fonts.hpp"
#include "sievecloth/report.hpp"

namespace sievecloth::pdf {

// A4 [pt]; the margins cover the difference to Letter paper, so that nothing is lost when printing on it.
inline constexpr double k_page_width = 595.276;
inline constexpr double k_page_height = 841.89;
inline constexpr double k_margin = 48;
inline constexpr double k_text_width = k_page_width - 2 * k_margin;
inline constexpr double k_top = 48;
inline constexpr double k_bottom = k_page_height - 62;

/// Room for the logo on the first page: its maximum size, its upper right corner in the corner of the margins.
inline constexpr double k_logo_width = 150;
inline constexpr double k_logo_height = 48;

/// A page, and where each section begins on it.
struct Page {
  struct Mark {
    std::string title;
    double y = 0;
  };
  Drawing drawing;
  std::vector<Mark> marks;
};

/// All pages with their numbers; the place of the logo is left empty.
std::vector<Page> lay_out(const Report& report, const Fonts& fonts);

}  // namespace sievecloth::pdf
