// The laboratory's logo on the first page.
#pragma once

#include <cairo.h>

#include <string>

#include "sievecloth/report.hpp"

namespace sievecloth::pdf {

/// Draws the logo into the place left by the layout, as large as fits. Returns an empty text, or the error.
std::string draw_logo(cairo_t* cairo, const Letterhead& letterhead);

}  // namespace sievecloth::pdf
