// A report as PDF.
#pragma once

#include <string>

#include "sievecloth/report.hpp"
#include "sievecloth/result.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// Where the drawing libraries are looked for when this is empty: beside the program or library that asks, and where the project
/// installs them.
///
/// A4, two pages or more, fonts embedded, the report's number on each page. The same report gives the same bytes. What draws is a
/// module of its own that is loaded on the first call, so that nobody else pays for it.
/// Errors: cannot_create (the module was not built, or is not where it belongs; or the logo cannot be drawn).
Result<std::string> to_pdf(const Report& report, const std::string& module = {});

}  // namespace sievecloth
