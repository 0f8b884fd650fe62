// Sentences about an assessment, one function for each kind of thing that needs words.
#pragma once

#include <string>
#include <vector>

#include "report/words.hpp"
#include "sievecloth/assessment.hpp"

namespace sievecloth {

/// `along warp (between weft wires)`.
std::string direction_phrase(Direction direction, const Words& words);
/// Why a criterion is undecided or not applicable, as a clause without a full stop.
std::string reason_phrase(Reason reason, const Criterion& criterion, const Assessment& assessment, const Words& words);
/// What a warning says, as one sentence.
std::string warning_sentence(const Warning& warning, const Assessment& assessment, const Words& words);
/// What rests on the same basis, in one phrase for each: `limit, count: seen (source)`. Each kind once.
std::vector<std::string> ground_phrases(const std::vector<Ground>& grounds, const Edition& edition, const Words& words);
/// `limit` or another kind, its provenance and its source.
std::string ground_phrase(const Ground& ground, const Edition& edition, const Words& words);
/// What every reader must know of the count that was asked and of the grade.
std::vector<Caution> count_cautions(const Assessment& assessment, const Words& words);
/// The caution of this name, its sentence without anything to fill in.
Caution caution(std::string_view name, const Words& words);

}  // namespace sievecloth
