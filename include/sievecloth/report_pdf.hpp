// A report as PDF.
#pragma once

#include <string>

#include "sievecloth/report.hpp"
#include "sievecloth/result.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// A PDF document.
struct Pdf {
  std::string bytes;       ///< the document
  std::u32string missing;  ///< characters printed as boxes, since none of the fonts has them: each once, in their order
};

/// Renders a report as PDF: A4, two pages or more, fonts embedded, the report's number on each page. The same report gives the same
/// bytes.
///
/// The renderer is a separate module, loaded on the first call so that other programs do not pay for it. `module` is its path; if
/// empty, it is searched for beside the calling program or library, and where the project installs it.
/// Errors: cannot_create (the module was not built or not found; or the logo cannot be drawn).
Result<Pdf> to_pdf(const Report& report, const std::string& module = {});

/// Draws the logo of a letterhead and throws the drawing away. Returns success if there is none. A logo from a file that somebody
/// else may have written can take any amount of time and memory. `module`: as above. Errors: cannot_create (the module was not
/// found; the logo is no picture of its kind).
Result<void> check_logo(const Letterhead& letterhead, const std::string& module = {});

}  // namespace sievecloth
