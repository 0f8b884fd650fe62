// What the module that draws PDF answers to.
#pragma once

#include <string>

#include "sievecloth/report.hpp"

namespace sievecloth {

/// Name of the function and its type. It leaves the document in `pdf`, or in `complaint` what went wrong. `version` must be the
/// module's own: a report is handed over as it lies in memory.
inline constexpr const char* k_pdf_entry = "sievecloth_write_pdf";
using PdfEntry = void (*)(const char* version, const Report& report, std::string& pdf, std::string& complaint);

}  // namespace sievecloth
