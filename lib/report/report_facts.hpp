// The facts of a report: name and value. What is not given is omitted, or marked as not stated where a report should have it.
#pragma once

#include <optional>
#include <string>

#include "report/report_context.hpp"

namespace sievecloth {

Facts head_facts(const ReportContext& of);         ///< number, date of issue, customer
Facts piece_facts(const ReportContext& of);        ///< the item
Facts basis_facts(const ReportContext& of);        ///< standard, grade, method
Facts measurement_facts(const ReportContext& of);  ///< who, when, with which instrument
Facts uncertainty_facts(const ReportContext& of);  ///< scale and repeatability, from which U is computed
Facts viewing_facts(const ReportContext& of);      ///< the record of the visual examination
/// What is stated of them, as running text.
std::string in_one_line(const ReportContext& of, const Facts& facts);
Facts data_facts(const ReportContext& of);  ///< file of readings, table set, library

std::string grade_phrase(const ReportContext& of);
std::string viewing_word(const ReportContext& of, const std::optional<bool>& passed);

}  // namespace sievecloth
