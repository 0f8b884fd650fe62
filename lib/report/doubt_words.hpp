// How sure an assessment is, and the weave, in sentences for whoever does not read statistics.
#pragma once

#include <string>
#include <vector>

#include "report/figures.hpp"
#include "sievecloth/assessment.hpp"
#include "sievecloth/diagnosis.hpp"

namespace sievecloth {

/// One group for each direction (`how_sure_warp`, `how_sure_weft`) and one for both (`how_sure`).
std::vector<FigureGroup> how_sure_figures(const Assessment& assessment, const Diagnosis& diagnosis);

/// One group (`weave`): a figure for each sign that was found, and notes on what was tested and what was not.
std::vector<FigureGroup> weave_figures(const Diagnosis& diagnosis);

/// All of it as members: the groups, and every test with its figures as `signs`.
void write_diagnosis(JsonWriter& json, const Assessment& assessment, const Diagnosis& diagnosis);

}  // namespace sievecloth
