// Signs of weave faults in sentences, for readers without statistics.
#pragma once

#include <vector>

#include "report/figures.hpp"
#include "report/words.hpp"
#include "sievecloth/diagnosis.hpp"

namespace sievecloth {

/// Returns one group (`weave`): a figure for each sign found, and notes on what was and was not tested.
std::vector<FigureGroup> weave_figures(const Diagnosis& diagnosis, const Words& words);

/// Returns the tests that found no sign, each with its statistic; no group if there are none.
std::vector<FigureGroup> nonsignificant_tests(const Diagnosis& diagnosis, const Words& words);

/// The same tests in at most three sentences, without their statistics: by what they gave.
std::vector<std::string> nonsignificant_sentences(const Weave& weave, const Words& words);

/// Writes every test with its figures as the member `signs`, and their `level`.
void write_signs(JsonWriter& json, const Weave& weave, const Words& words);

}  // namespace sievecloth
