// The sentences of the text answer, one function for each kind of thing that needs words.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "sievecloth/assessment.hpp"

namespace sievecloth {

/// `along warp (between weft wires)`.
std::string_view direction_phrase(Direction direction) noexcept;
/// Why a criterion is undecided or not applicable, as a clause without a full stop.
std::string reason_phrase(Reason reason, const Criterion& criterion, const Assessment& assessment);
/// What a warning says, as one sentence.
std::string warning_sentence(const Warning& warning, const Assessment& assessment);
/// `limit` or another kind, its provenance and its source.
std::string ground_phrase(const Ground& ground, const Edition& edition);
/// What every reader of this assessment must know besides the criteria.
std::vector<std::string> cautions(const Assessment& assessment);

}  // namespace sievecloth
