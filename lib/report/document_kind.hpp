// What a paper is, and what it must hold to be that.
#pragma once

#include "report/report_context.hpp"

namespace sievecloth {

/// The title of a kind of document. REQUIRES: not by_grade.
Key document_key(DocumentKind kind) noexcept;

/// True if the paper is called a certificate or a declaration.
bool is_certificate(const ReportContext& of);

/// What the paper must hold and does not, as a list in words; empty if nothing. ISO 3310-1:2016, 5.3.2, from a public summary;
/// EN 10204:2004, 3.1, from memory; ISO/IEC 17025:2017, 7.8.2.1.
std::string missing_for_document(const ReportContext& of);

}  // namespace sievecloth
