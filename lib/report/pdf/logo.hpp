// The laboratory's logo on the first page.
#pragma once

#include <cairo.h>

#include <string>

#include "sievecloth/report.hpp"

namespace sievecloth::pdf {

/// Draws the logo into the place that the layout leaves, as large as fits. Result: an empty text, or what went wrong.
std::string draw_logo(cairo_t* cairo, const Letterhead& letterhead);

}  // namespace sievecloth::pdf
