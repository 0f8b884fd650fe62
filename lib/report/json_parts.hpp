// What several documents say of an assessment in the same members.
#pragma once

#include "report/json.hpp"
#include "sievecloth/assessment.hpp"
#include "sievecloth/report.hpp"

namespace sievecloth {

/// `errata` of a row.
void write_errata(JsonWriter& json, const Specification& specification);
/// `doubts` of a row: `value`, `finding`.
void write_doubts(JsonWriter& json, const Edition& edition, const Row& row);
/// `ignored_columns`, as the header names them.
void write_ignored_columns(JsonWriter& json, const std::vector<std::string>& columns);
/// `warnings`, `ignored_columns`, `errata`, `doubts`; `agreed_count` where one was agreed.
void write_remarks(JsonWriter& json, const Assessment& assessment);
/// The whole document of a report.
void write_document(JsonWriter& json, const Report& report);

}  // namespace sievecloth
