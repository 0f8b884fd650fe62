// The signs of weave faults, in sentences for whoever does not read statistics.
#pragma once

#include <vector>

#include "report/figures.hpp"
#include "report/words.hpp"
#include "sievecloth/diagnosis.hpp"

namespace sievecloth {

/// One group (`weave`): a figure for each sign that was found, and notes on what was tested and what was not.
std::vector<FigureGroup> weave_figures(const Diagnosis& diagnosis, const Words& words);

/// The tests that found no sign, each with its statistic; no group where there are none.
std::vector<FigureGroup> nonsignificant_tests(const Diagnosis& diagnosis, const Words& words);

/// Every test with its figures, as the member `signs`, and their `level`.
void write_signs(JsonWriter& json, const Weave& weave, const Words& words);

}  // namespace sievecloth
