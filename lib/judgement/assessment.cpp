#include "sievecloth/assessment.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include <fmt/format.h>

#include "judgement/criteria.hpp"
#include "judgement/warnings.hpp"

namespace sievecloth {
namespace {

template <class Name, std::size_t count>
constexpr std::string_view name_of(const std::array<std::string_view, count>& names, Name name) noexcept {
  return names[static_cast<std::size_t>(name)];
}

Error contradiction(std::string message, std::string found, std::string expected) {
  return {ErrorCode::piece_contradicted, std::move(message), std::move(found), std::move(expected), {}};
}

// Full apertures that a frame can hold, generously: the clear part is 0.8 to 1 of its nominal size (common practice).
std::array<double, 2> plausible_apertures(const Frame& frame, const Row& row) {
  const double pitch = row.nominal.um() + row.wire.preferred.value.um();
  const double smallest_pitch = row.smallest_mean().um() + row.wire.minimum.value.um();
  const double largest_pitch = row.largest_mean().um() + row.wire.maximum.value.um();
  const double shape = frame.shape == FrameShape::round ? std::numbers::pi / 4 : 1;
  const double clear = std::max(0.0, 0.8 * frame.size.um() - 2 * std::numbers::sqrt2 * pitch);
  return {std::max(1.0, std::floor(shape * std::pow(clear / largest_pitch, 2))),
          std::ceil(shape * std::pow(frame.size.um() / smallest_pitch, 2))};
}

Result<void> check_count(const Specification& specification, const Sample& sample, const Piece& piece) {
  if (!piece.apertures_in_piece) return {};
  const std::int64_t in_piece = *piece.apertures_in_piece;
  for (const Direction direction : k_directions) {
    const std::int64_t n = sample[direction].aperture.count();
    if (n > in_piece) {
      return contradiction(fmt::format("more apertures were measured along {} than the piece has", to_text(direction)),
                           fmt::format("{} readings", n), fmt::format("at most {} (apertures_in_piece)", in_piece));
    }
  }
  if (!piece.frame) return {};
  const auto [fewest, most] = plausible_apertures(*piece.frame, *specification.row);
  const double count = static_cast<double>(in_piece);
  if (fewest <= count && count <= most) return {};
  return contradiction(
      "the number of apertures does not fit the frame", fmt::format("apertures_in_piece {}", in_piece),
      fmt::format("{:.0f} to {:.0f} full apertures of {} in this frame", fewest, most, specification.row->designation));
}

// Counts above the thresholds of another size, and deviations from its nominal aperture, would be judged as if they were of this.
bool is_made_for(const Sample& sample, const Specification& specification) {
  const Sample expected = make_sample(specification);
  return std::all_of(k_directions.begin(), k_directions.end(), [&](Direction direction) {
    const DirectionSample &side = sample[direction], &other = expected[direction];
    return side.aperture.thresholds() == other.aperture.thresholds() && side.wire.thresholds() == other.wire.thresholds() &&
           side.suspect.thresholds() == other.suspect.thresholds();
  });
}

Error made_for_another_size(const Specification& specification, const Sample& sample) {
  return {ErrorCode::sample_mismatch,
          sample == Sample() ? "the sample was made for no size" : "the sample was made for another size or edition",
          "",
          fmt::format("a sample that make_sample gave for {} of {}", specification.row->designation, specification.edition->title),
          {}};
}

Error impossible(std::string_view what, std::int64_t found, std::string_view expected) {
  return {ErrorCode::option_value, fmt::format("no {}", what), std::to_string(found), std::string(expected), {}};
}

Result<void> check_values(const Conditions& conditions) {
  if (conditions.resolution && *conditions.resolution <= Length())
    return impossible("resolution", conditions.resolution->pm(), "above 0 pm");
  if (conditions.suspects_recorded.value_or(0) < 0)
    return impossible("number of suspects", *conditions.suspects_recorded, "0 or more");
  for (const Direction direction : k_directions) {
    const std::int64_t planned = conditions.planned ? (*conditions.planned)[direction] : 0;
    if (planned < 0) return impossible("plan", planned, "0 or more readings in a direction");
  }
  return {};
}

// Lengths above 0, and a frame that holds at least one aperture.
Result<void> check_sizes(const Specification& specification, const Piece& piece) {
  const auto none = [](std::string_view what, const Length& found) {
    return contradiction(fmt::format("no {}", what), to_text(found), "above 0");
  };
  if (piece.roll && piece.roll->width <= Length()) return none("width of a roll", piece.roll->width);
  if (piece.roll && piece.roll->length <= Length()) return none("length of a roll", piece.roll->length);
  if (piece.apertures_in_piece.value_or(1) < 1)
    return contradiction("no number of apertures", fmt::format("apertures_in_piece {}", *piece.apertures_in_piece), "1 or more");
  if (!piece.frame) return {};
  if (piece.frame->size <= Length()) return none("frame", piece.frame->size);
  if (piece.frame->size > specification.row->nominal) return {};
  return contradiction("a frame that holds no aperture", to_text(piece.frame->size),
                       fmt::format("more than {}", specification.row->designation));
}

Result<void> check_agreement(const Specification& specification, const Conditions& conditions) {
  if (!conditions.agreed_count) return {};
  if (specification.row->counts[specification.lookup_grade()])
    return Error{ErrorCode::option_conflict,
                 fmt::format("a count was agreed, but {} has its own", specification.edition->title),
                 fmt::format("agreed_count {}", *conditions.agreed_count),
                 "no agreed count",
                 {}};
  if (*conditions.agreed_count < 1)
    return Error{ErrorCode::option_value, "no count", fmt::format("agreed_count {}", *conditions.agreed_count), "1 or more", {}};
  return {};
}

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

// One verified reason to reject is enough; to accept, or to leave open, everything that counts must be verified.
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

}  // namespace

std::string_view to_text(CriterionId id) noexcept {
  static constexpr auto names = std::to_array<std::string_view>({
      "viewing",
      "sample-size",
      "average-aperture",
      "maximum-aperture",
      "aperture-standard-deviation",
      "share-above-intermediate",
      "wire-diameter",
  });
  return name_of(names, id);
}

std::string_view to_text(Outcome outcome) noexcept {
  static constexpr auto names = std::to_array<std::string_view>({"met", "not-met", "undecided", "not-applicable"});
  return name_of(names, outcome);
}

std::string_view to_text(Verdict verdict) noexcept {
  static constexpr auto names = std::to_array<std::string_view>({"conforms", "undecided", "does-not-conform"});
  return name_of(names, verdict);
}

std::string_view to_text(Reason reason) noexcept {
  static constexpr auto names = std::to_array<std::string_view>({
      "no-readings",
      "single-reading",
      "count-not-reached",
      "all-apertures-needed",
      "too-few-wires",
      "rule-not-seen",
      "share-of-few",
      "too-coarse",
      "viewing-not-recorded",
      "left-out",
      "not-in-edition",
      "not-in-row",
      "count-not-known",
      "plan-not-fulfilled",
      "readings-refused",
      "uncertainty-not-known",
      "instrument-too-uncertain",
      "within-guard-band",
      "suspects-not-measured",
      "readings-lost",
      "table-implausible",
      "suspect-too-small",
  });
  return name_of(names, reason);
}

std::string_view to_text(Ground::Kind kind) noexcept {
  static constexpr auto names =
      std::to_array<std::string_view>({"limit", "lower-limit", "upper-limit", "count", "agreed-count", "rule"});
  return name_of(names, kind);
}

std::string_view to_text(Warning::Kind kind) noexcept {
  static constexpr auto names =
      std::to_array<std::string_view>({"fits-other-size", "looks-like-inches", "looks-like-thousand", "looks-swapped", "no-spread",
                                       "same-in-both-directions", "table-implausible", "unusual-frame", "coarse-step"});
  return name_of(names, kind);
}

Sample make_sample(const Specification& specification) noexcept {
  if (specification.row == nullptr) return {};
  const Row& row = *specification.row;
  Thresholds thresholds{row.nominal, std::nullopt, row.largest_aperture()};
  if (row.intermediate_limit) thresholds.intermediate = row.intermediate_limit->value;
  return Sample(thresholds, row.wire.preferred.value);
}

Result<Assessment> assess(const Specification& specification, const Sample& sample, const Conditions& conditions) {
  if (specification.edition == nullptr || specification.row == nullptr)
    return Error{ErrorCode::null_argument, "a specification without its edition or row", "", "what specify gave", {}};
  if (!is_made_for(sample, specification)) return made_for_another_size(specification, sample);
  if (const Result<void> values = check_values(conditions); !values) return values.errors();
  if (const Result<void> sizes = check_sizes(specification, conditions.piece); !sizes) return sizes.errors();
  if (const Result<void> agreed = check_agreement(specification, conditions); !agreed) return agreed.errors();
  if (const Result<void> counted = check_count(specification, sample, conditions.piece); !counted) return counted.errors();
  Assessment assessment{.specification = specification, .conditions = conditions, .sample = sample};
  assessment.required = required_count(specification, conditions.piece, conditions.agreed_count);
  assessment.all_measured = all_measured(sample, conditions.piece);
  assessment.criteria = judge_all({specification, conditions, sample, assessment.required, assessment.all_measured});
  assessment.warnings = find_warnings(specification, sample, conditions.piece);
  assessment.verdict = has(assessment.criteria, Outcome::not_met)     ? Verdict::does_not_conform
                       : has(assessment.criteria, Outcome::undecided) ? Verdict::undecided
                                                                      : Verdict::conforms;
  assessment.provisional = rests_on_unverified(assessment.criteria, assessment.verdict);
  if (assessment.provisional && conditions.only_seen) assessment.verdict = Verdict::undecided;
  return assessment;
}

}  // namespace sievecloth
