// The tables of a report.
#pragma once

#include "report/report_context.hpp"

namespace sievecloth {

Table criteria_table(const ReportContext& of);       ///< each requirement with observed value, limits, margin, outcome
std::string criteria_note(const ReportContext& of);  ///< the unit of its lengths, and what U is
Table figures_table(const ReportContext& of);        ///< n, mean, s, smallest, largest
Table rules_table(const ReportContext& of);          ///< each decision rule and what it rests on
Table readings_table(const ReportContext& of);       ///< every reading

}  // namespace sievecloth
