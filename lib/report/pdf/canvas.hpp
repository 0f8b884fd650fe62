// Draws drawings on a page.
#pragma once

#include <cairo.h>

#include "report/pdf/fonts.hpp"
#include "sievecloth/drawing.hpp"

namespace sievecloth::pdf {

/// Draws every shape, in points from the upper left corner.
void draw(cairo_t* cairo, const Drawing& drawing, const Fonts& fonts);

}  // namespace sievecloth::pdf
