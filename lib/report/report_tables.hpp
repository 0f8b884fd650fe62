// The tables of a report.
#pragma once

#include "report/report_context.hpp"

namespace sievecloth {

Table criteria_table(const ReportContext& of);     ///< each requirement with observed value, limits, margin, outcome
Table figures_table(const ReportContext& of);      ///< n, mean, s, smallest, largest
Table uncertainty_table(const ReportContext& of);  ///< U of each figure, k, coverage probability, where it comes from
Table budget_table(const ReportContext& of);       ///< lines of the uncertainty budget; no rows where none is given
Table examined_table(const ReportContext& of);     ///< what was examined besides
Table corrected_table(const ReportContext& of);    ///< readings that were corrected, with their original values
Table rules_table(const ReportContext& of);        ///< each decision rule and what it rests on
Table readings_table(const ReportContext& of);     ///< every reading

/// Whether the laboratory's accreditation covers a figure of this piece; true if it states no scope.
bool is_accredited(const ReportContext& of, CertifiedFigure figure);
std::string criteria_note(const ReportContext& of);  ///< the unit of its lengths, and what U is
std::string coverage_note(const ReportContext& of);

/// The certified figures whose measurement uncertainty is not fully known, in at least one direction; empty if there are none.
std::string unknown_uncertainties(const ReportContext& of);  ///< k and coverage probability of each U; empty without one

}  // namespace sievecloth
