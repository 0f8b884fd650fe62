#include "sievecloth/assessment.hpp"

#include <algorithm>

#include "judgement/conditions.hpp"
#include "judgement/criteria.hpp"
#include "judgement/warnings.hpp"

namespace sievecloth {
namespace {

bool all_measured(const Sample& sample, const Piece& piece) {
  return piece.all_apertures && piece.apertures_in_piece && sample[Direction::warp].aperture.count() == *piece.apertures_in_piece &&
         sample[Direction::weft].aperture.count() == *piece.apertures_in_piece;
}

bool has(const std::vector<Criterion>& criteria, Outcome outcome) {
  return std::any_of(criteria.begin(), criteria.end(), [&](const Criterion& criterion) { return criterion.outcome == outcome; });
}

bool all_verified(const Criterion& criterion) {
  return std::all_of(criterion.grounds.begin(), criterion.grounds.end(), [](const Ground& ground) { return ground.verified(); });
}

// One verified reason is enough to reject; to accept or to leave open, everything that counts must be verified.
bool rests_on_unverified(const std::vector<Criterion>& criteria, Verdict verdict) {
  const auto decides = [&](const Criterion& criterion) {
    return verdict == Verdict::does_not_conform ? criterion.outcome == Outcome::not_met
                                                : criterion.outcome != Outcome::not_applicable;
  };
  const auto verified = [&](const Criterion& criterion) { return decides(criterion) && all_verified(criterion); };
  const auto unverified = [&](const Criterion& criterion) { return decides(criterion) && !all_verified(criterion); };
  return verdict == Verdict::does_not_conform ? std::none_of(criteria.begin(), criteria.end(), verified)
                                              : std::any_of(criteria.begin(), criteria.end(), unverified);
}

// The worst statement of the criteria, in the order of ILAC-G8. None where evidence is missing: the verdict says that.
std::optional<Statement> statement_of(const Assessment& assessment) {
  if (assessment.conditions.decision == DecisionRule::simple) return std::nullopt;
  const bool guarded = assessment.conditions.decision == DecisionRule::guarded;
  const bool rejected = assessment.verdict == Verdict::does_not_conform;
  if (guarded && !rejected) return std::nullopt;
  std::optional<Statement> worst;
  for (const Criterion& criterion : assessment.criteria) {
    const bool counts = rejected ? criterion.outcome == Outcome::not_met : criterion.outcome != Outcome::not_applicable;
    if (!counts) continue;
    if (!criterion.statement) return std::nullopt;
    worst = std::max(worst, criterion.statement);
  }
  return worst;
}

}  // namespace

Sample make_sample(const Specification& specification) noexcept {
  if (specification.row == nullptr) return {};
  const Row& row = *specification.row;
  Thresholds thresholds{row.nominal, std::nullopt, row.largest_aperture()};
  if (row.intermediate_limit) thresholds.intermediate = row.intermediate_limit->value;
  return Sample(thresholds, row.wire.preferred.value);
}

Result<Assessment> assess(const Specification& specification, const Evidence& evidence, const Conditions& conditions) {
  const Sample& sample = evidence.sample;
  if (const Result<void> whole = check_specification(specification); !whole) return whole.errors();
  if (const Result<void> fits = check_sample(specification, sample); !fits) return fits.errors();
  if (const Result<void> fits = check_conditions(specification, evidence, conditions); !fits) return fits.errors();
  Assessment assessment{.specification = specification, .conditions = conditions, .sample = sample};
  if (conditions.viewing_passed) assessment.conditions.measured_only = false;  // what was examined counts
  assessment.uncertainty = evidence.uncertainty;
  if (conditions.decision != DecisionRule::simple) assessment.guards = evidence.guards;
  assessment.required = required_count(specification, conditions.piece, conditions.agreed_count);
  assessment.all_measured = all_measured(sample, conditions.piece);
  assessment.criteria = judge_all({specification, assessment.conditions, evidence, assessment.required, assessment.all_measured});
  assessment.warnings = find_warnings(specification, sample, conditions.piece);
  assessment.verdict = has(assessment.criteria, Outcome::not_met)     ? Verdict::does_not_conform
                       : has(assessment.criteria, Outcome::undecided) ? Verdict::undecided
                                                                      : Verdict::conforms;
  assessment.provisional = rests_on_unverified(assessment.criteria, assessment.verdict);
  const bool nothing_verified = assessment.provisional && conditions.only_seen;
  if (nothing_verified) assessment.verdict = Verdict::undecided;
  if (!nothing_verified) assessment.statement = statement_of(assessment);
  return assessment;
}

}  // namespace sievecloth
