// Entry point of the module that draws PDF.
#pragma once

#include <string>

#include "sievecloth/report.hpp"

namespace sievecloth {

/// Name and type of the function. It stores the document in `pdf`, or the error in `complaint`. `version` must be the module's own:
/// a report is passed in its memory layout.
inline constexpr const char* k_pdf_entry = "sievecloth_write_pdf";
using PdfEntry = void (*)(const char* version, const Report& report, std::string& pdf, std::string& complaint);

}  // namespace sievecloth
