// How sure an assessment is, in sentences for whoever does not read statistics.
#pragma once

#include <string>
#include <vector>

#include "report/figures.hpp"
#include "report/words.hpp"
#include "sievecloth/assessment.hpp"
#include "sievecloth/diagnosis.hpp"

namespace sievecloth {

/// One group for both directions (`how_sure`) and one for each (`how_sure_warp`, `how_sure_weft`).
std::vector<FigureGroup> how_sure_figures(const Assessment& assessment, const Diagnosis& diagnosis, const Words& words);

/// As members, in English: the groups, those of the weave, and every test with its figures as `signs`.
void write_diagnosis(JsonWriter& json, const Assessment& assessment, const Diagnosis& diagnosis);

}  // namespace sievecloth
