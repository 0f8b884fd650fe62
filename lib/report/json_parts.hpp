// Members that several documents on an assessment have in common.
#pragma once

#include "report/json.hpp"
#include "sievecloth/assessment.hpp"
#include "sievecloth/report.hpp"

namespace sievecloth {

/// Writes `errata` of a row.
void write_errata(JsonWriter& json, const Specification& specification);
/// Writes `doubts` of a row: `value`, `finding`.
void write_doubts(JsonWriter& json, const Edition& edition, const Row& row);
/// Writes `ignored_columns`, as the header names them.
void write_ignored_columns(JsonWriter& json, const std::vector<std::string>& columns);
/// Writes `warnings`, `ignored_columns`, `errata`, `doubts`, and `agreed_count` if one was agreed.
void write_remarks(JsonWriter& json, const Assessment& assessment);
/// Writes the whole document of a report.
void write_document(JsonWriter& json, const Report& report);

}  // namespace sievecloth
