// The mark by which a report is known again as the report of one piece under one number.
#pragma once

#include <string>
#include <string_view>

#include "sievecloth/job.hpp"

namespace sievecloth {

/// Returns `sievecloth-report/1 ` and a word: `draft` for a report without a number, `unidentified` for one whose piece has neither
/// an identification nor a serial number, and otherwise 32 hexadecimal digits that tell number and piece from all others.
std::string report_mark(const Job& job);

/// Returns the mark that a report of any format (text, Markdown, HTML, JSON, PDF) carries in its place; empty for any other file.
std::string_view mark_in(std::string_view document);

/// Whether a report marked `mark` may take the place of one marked `existing`: of a draft always, of a numbered report only as the
/// same report of the same identified piece.
bool may_replace(std::string_view existing, std::string_view mark);

}  // namespace sievecloth
