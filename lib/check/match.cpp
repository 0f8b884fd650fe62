#include "sievecloth/match.hpp"

#include <algorithm>
#include <cmath>

#include "check/different_wires.hpp"
#include "sievecloth/sampling.hpp"

namespace sievecloth {
namespace {

std::optional<double> mean_aperture_um(std::span<const Reading> readings) {
  std::vector<double> values;
  for (const Reading& reading : readings) {
    if (reading.aperture && reading.role == Role::sample) values.push_back(reading.aperture->um());
  }
  return moments(values).mean;
}

bool any_wire(std::span<const Reading> readings) {
  return std::any_of(readings.begin(), readings.end(), [](const Reading& reading) { return reading.wire.has_value(); });
}

std::vector<Specification> candidates(const Edition& edition, double mean_um) {
  std::vector<Specification> found;
  for (const Row& row : edition.rows) {
    const double ratio = row.nominal.um() / mean_um;
    if (ratio > k_match_ratio || ratio < 1 / k_match_ratio) continue;
    if (!edition.rules.graded) found.push_back({&edition, &row, std::nullopt});
    if (!edition.rules.graded) continue;
    for (const Grade grade : k_grades) found.push_back({&edition, &row, grade});
  }
  return found;
}

double worst_excess(const Assessment& assessment) {
  double worst = 0;
  for (const Criterion& criterion : assessment.criteria) {
    if (is_missed(criterion)) worst = std::max(worst, excess_of(criterion, *assessment.specification.row));
  }
  return worst;
}

// Conforming, open, missed.
int rank(const Match& match) {
  if (match.assessment.verdict == Verdict::does_not_conform || match.excess > 0) return 2;
  return match.assessment.verdict == Verdict::conforms ? 0 : 1;
}

}  // namespace

bool is_missed(const Criterion& criterion) noexcept {
  if (criterion.outcome != Outcome::undecided) return criterion.outcome == Outcome::not_met;
  const bool beyond = (criterion.margin_um && *criterion.margin_um < 0) ||
                      (compared_by(criterion.id) == Compared::share && criterion.observed > criterion.limit);
  return beyond && std::all_of(criterion.reasons.begin(), criterion.reasons.end(), [](Reason reason) {
           return reason == Reason::count_not_reached || reason == Reason::count_not_known ||
                  reason == Reason::all_apertures_needed || reason == Reason::too_few_wires ||
                  reason == Reason::too_few_different_wires;
         });
}

double excess_of(const Criterion& criterion, const Row& row) noexcept {
  if (compared_by(criterion.id) == Compared::share) return std::max(0.0, *criterion.observed / *criterion.limit - 1);
  const std::optional<double> allowance = allowance_um(criterion, row);
  return allowance && criterion.margin_um ? std::max(0.0, -*criterion.margin_um / *allowance) : 0;
}

Result<std::vector<Match>> find_matches(std::span<const Reading> readings, std::span<const Edition* const> editions,
                                        Conditions conditions) {
  std::vector<Match> matches;
  const std::optional<double> mean = mean_aperture_um(readings);
  if (!mean) return matches;
  conditions.apertures_only = conditions.apertures_only || !any_wire(readings);
  PerDirection<DifferentWires> wires;
  for (const Reading& reading : readings) {
    if (reading.wire) wires[reading.direction].add(reading.gap.value_or(k_no_gap));
  }
  for (const Edition* edition : editions) {
    for (const Specification& specification : candidates(*edition, *mean)) {
      Evidence evidence = make_sample(specification);
      for (const Reading& reading : readings) (void)evidence.sample.add(reading);  // refused readings leave the verdict open
      for (const Direction direction : k_directions) evidence.different_wires[direction] = wires[direction].count();
      Conditions of_size = conditions;  // an agreed count applies only where the edition's is unknown
      if (specification.row->counts[specification.lookup_grade()]) of_size.agreed_count.reset();
      Result<Assessment> assessment = assess(specification, evidence, of_size);
      if (!assessment.ok()) return assessment.errors();
      const double excess = worst_excess(*assessment);
      if (excess <= k_farthest_miss) matches.push_back({*std::move(assessment), excess});
    }
  }
  std::stable_sort(matches.begin(), matches.end(),
                   [](const Match& a, const Match& b) { return rank(a) != rank(b) ? rank(a) < rank(b) : a.excess < b.excess; });
  return matches;
}

}  // namespace sievecloth
