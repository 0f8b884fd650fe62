// Measurement uncertainty and confidence intervals in sentences, for readers without statistics.
#pragma once

#include <string>
#include <vector>

#include "report/figures.hpp"
#include "report/words.hpp"
#include "sievecloth/assessment.hpp"
#include "sievecloth/diagnosis.hpp"

namespace sievecloth {

/// Returns one group for both directions (`how_sure`) and one for each (`how_sure_warp`, `how_sure_weft`).
std::vector<FigureGroup> how_sure_figures(const Assessment& assessment, const Diagnosis& diagnosis, const Words& words);

/// Writes members in English: the groups, those of the weave, and every test with its figures as `signs`.
void write_diagnosis(JsonWriter& json, const Assessment& assessment, const Diagnosis& diagnosis);

}  // namespace sievecloth
