// Sentences about an assessment, one function for each kind of thing that needs words.
#pragma once

#include <string>
#include <vector>

#include "report/words.hpp"
#include "sievecloth/assessment.hpp"

namespace sievecloth {

/// `parallel to the warp (apertures between weft wires)`.
std::string direction_phrase(Direction direction, const Words& words);
/// `parallel to the warp`.
std::string measured_phrase(Direction direction, const Words& words);
/// Why a criterion is undecided or not applicable, as a clause without a full stop.
std::string reason_phrase(Reason reason, const Criterion& criterion, const Assessment& assessment, const Words& words);
/// What a warning says, as one sentence.
std::string warning_sentence(const Warning& warning, const Assessment& assessment, const Words& words);
/// What rests on the same basis, in one phrase for each: `limit, count: seen (source)`. Each kind once.
std::vector<std::string> ground_phrases(const std::vector<Ground>& grounds, const Edition& edition, const Words& words);
/// What a criterion rests on without its having been verified against the standard.
struct UnverifiedBasis {
  CriterionId criterion;
  std::string phrase;  ///< as ground_phrases has it
};
/// Why a verdict is provisional: each criterion and basis once, in the order of the criteria. Empty where it is not.
std::vector<UnverifiedBasis> unverified_bases(const Assessment& assessment, const Words& words);
/// What every reader must know of the count that is required and of the grade.
std::vector<Caution> count_cautions(const Assessment& assessment, const Words& words);
/// What looks mistyped in a row: `average_tolerance 3.4 times the formula ...; counts.inspection ...`. Empty where nothing does.
std::string doubts_phrase(const Edition& edition, const Row& row);
/// What an erratum says, as sentences.
std::string erratum_sentence(const Erratum& erratum, const Words& words);
/// What all errata of the row say, in English.
std::vector<std::string> erratum_sentences(const Specification& specification);
/// The caution of this key, its sentence without anything to fill in.
Caution caution(Key key, const Words& words);
/// The edition asks this of this size: what it does not ask is left out of texts and reports.
bool is_asked(const Criterion& criterion);

}  // namespace sievecloth
