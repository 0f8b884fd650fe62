// Sentences about an assessment, one function for each kind of item.
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
/// A warning as one sentence.
std::string warning_sentence(const Warning& warning, const Assessment& assessment, const Words& words);
/// Groups what rests on the same basis into one phrase: `limit, count: seen (source)`. Each kind once.
std::vector<std::string> ground_phrases(const std::vector<Ground>& grounds, const Edition& edition, const Words& words);
/// A basis of a criterion that was not verified against the standard.
struct UnverifiedBasis {
  CriterionId criterion;
  std::string phrase;  ///< as from ground_phrases
};
/// Why a verdict is provisional: each criterion and basis once, in the order of the criteria. Empty if it is not.
std::vector<UnverifiedBasis> unverified_bases(const Assessment& assessment, const Words& words);
/// Cautions about the required count and the grade.
std::vector<Caution> count_cautions(const Assessment& assessment, const Words& words);
/// What looks mistyped in a row: `average_tolerance 3.4 times the formula ...; counts.inspection ...`. Empty if nothing does.
std::string doubts_phrase(const Edition& edition, const Row& row);
/// An erratum as sentences.
std::string erratum_sentence(const Erratum& erratum, const Words& words);
/// All errata of the row as sentences, in English.
std::vector<std::string> erratum_sentences(const Specification& specification);
/// The caution of this key; its sentence has nothing to fill in.
Caution caution(Key key, const Words& words);
/// True if the edition requires this of this size; anything else is omitted from texts and reports.
bool is_asked(const Criterion& criterion);

}  // namespace sievecloth
