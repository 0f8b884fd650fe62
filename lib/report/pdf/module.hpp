// Entry point of the module that draws PDF.
#pragma once

#include <string>

#include "sievecloth/report_pdf.hpp"

namespace sievecloth {

/// Name and type of the function. It stores the document in `pdf`, or the error in `complaint`. `version` must be the module's own:
/// a report is passed in its memory layout, and so is what comes back.
inline constexpr const char* k_pdf_entry = "sievecloth_write_pdf";
using PdfEntry = void (*)(const char* version, const Report& report, Pdf& pdf, std::string& complaint);

/// The same for a logo alone: stores the error in `complaint`.
inline constexpr const char* k_logo_entry = "sievecloth_draw_logo";
using LogoEntry = void (*)(const char* version, const Letterhead& letterhead, std::string& complaint);

}  // namespace sievecloth
