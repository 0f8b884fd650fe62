#include "judgement/conditions.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/format.h>

#include "judgement/grid.hpp"

namespace sievecloth {
namespace {

// A sample of another size, with its counts and deviations, would otherwise be judged as one of this size.
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

Error contradiction(std::string message, std::string found, std::string expected) {
  return {ErrorCode::piece_contradicted, std::move(message), std::move(found), std::move(expected), {}};
}

double shape_of(const Frame& frame) { return frame.shape == FrameShape::round ? std::numbers::pi / 4 : 1; }

// Generous bounds on the number of full apertures of a piece.
struct Bounds {
  double fewest, most;
};

double largest_pitch_um(const Row& row) { return row.largest_mean().um() + row.wire.maximum.value.um(); }
double smallest_pitch_um(const Row& row) { return row.smallest_mean().um() + row.wire.minimum.value.um(); }

// The clear part of a frame is at least 0.8 of its nominal size (common practice).
Bounds bounds_of(const Frame& frame, const Row& row) {
  const double pitch = row.nominal.um() + row.wire.preferred.value.um();
  const double clear = std::max(0.0, 0.8 * frame.size.um() - 2 * std::numbers::sqrt2 * pitch);
  return {std::floor(shape_of(frame) * std::pow(clear / largest_pitch_um(row), 2)),
          std::ceil(shape_of(frame) * std::pow(frame.size.um() / smallest_pitch_um(row), 2))};
}

// Along either side of a roll one aperture is cut.
Bounds bounds_of(const Roll& roll, const Row& row) {
  const auto across = [](Length side, double pitch) { return std::max(1.0, std::floor(side.um() / pitch) - 1); };
  const double largest = largest_pitch_um(row), smallest = smallest_pitch_um(row);
  return {across(roll.width, largest) * across(roll.length, largest),
          std::ceil(roll.width.um() / smallest) * std::ceil(roll.length.um() / smallest)};
}

// Half of what the nominal pitch gives is the fewest that is plausible.
Bounds bounds_of(const Piece& piece, const Row& row) {
  Bounds bounds = piece.frame ? bounds_of(*piece.frame, row) : bounds_of(*piece.roll, row);
  const double half = std::ceil(static_cast<double>(count_apertures(row, piece)) / 2);
  bounds.fewest = std::max({1.0, half, bounds.fewest});
  return bounds;
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
  if (!piece.frame && !piece.roll) return {};
  const auto [fewest, most] = bounds_of(piece, *specification.row);
  const double count = static_cast<double>(in_piece);
  if (fewest <= count && count <= most) return {};
  const std::string_view what = piece.frame ? "frame" : "roll";
  return contradiction(
      fmt::format("the number of apertures does not fit the {}", what), fmt::format("apertures_in_piece {}", in_piece),
      fmt::format("{:.0f} to {:.0f} full apertures of {} in this {}", fewest, most, specification.row->designation, what));
}

Error impossible(std::string_view what, std::int64_t found, std::string_view expected) {
  return {ErrorCode::option_value, fmt::format("no {}", what), std::to_string(found), std::string(expected), {}};
}

// A negative band or uncertainty would widen the limits; no instrument is more uncertain than the longest reading.
bool is_guard(const Guard& guard) {
  const auto possible = [](Length length) { return Length() <= length && length <= k_longest_reading; };
  return possible(guard.band) && possible(guard.expanded);
}

Result<void> check_guards(const PerDirection<Guards>& of) {
  for (const Direction direction : k_directions) {
    const Guards& guards = of[direction];
    for (const std::optional<Guard>& guard : {guards.average, guards.reading, guards.standard_deviation, guards.wire}) {
      if (guard && !is_guard(*guard))
        return impossible("guard band", guard->band.pm(), "band and expanded uncertainty of 0 to 100 m");
    }
  }
  return {};
}

// A lower limit has more apertures above it.
Result<void> check_shares(const Evidence& evidence) {
  for (const Direction direction : k_directions) {
    const std::optional<GuardedCounts>& counts = evidence.shares[direction];
    if (!counts) continue;
    const Summary& aperture = evidence.sample[direction].aperture;
    const std::int64_t above = aperture.count_above_intermediate();
    if (0 <= counts->above_raised && counts->above_raised <= above && above <= counts->above_lowered &&
        counts->above_lowered <= aperture.count())
      continue;
    return impossible("number of apertures above a moved limit", counts->above_lowered,
                      fmt::format("at least {} above the lowered limit, at most that above the raised one", above));
  }
  return {};
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

// Requires lengths above 0 and a frame that holds at least one aperture.
Result<void> check_sizes(const Specification& specification, const Piece& piece) {
  const auto none = [](std::string_view what, const Length& found) {
    return contradiction(fmt::format("no {}", what), to_text(found), "above 0");
  };
  const auto holds_none = [&](std::string_view what, const Length& found) {
    return contradiction(fmt::format("a {} that holds no aperture", what), to_text(found),
                         fmt::format("more than {}", specification.row->designation));
  };
  if (piece.frame && piece.roll) return contradiction("a frame and a roll", "both", "one of them");
  if (piece.roll && piece.roll->width <= Length()) return none("width of a roll", piece.roll->width);
  if (piece.roll && piece.roll->length <= Length()) return none("length of a roll", piece.roll->length);
  const Length nominal = specification.row->nominal;
  if (piece.roll && std::min(piece.roll->width, piece.roll->length) <= nominal)
    return holds_none("roll", std::min(piece.roll->width, piece.roll->length));
  if (piece.apertures_in_piece.value_or(1) < 1)
    return contradiction("no number of apertures", fmt::format("apertures_in_piece {}", *piece.apertures_in_piece), "1 or more");
  if (!piece.frame) return {};
  if (piece.frame->size <= Length()) return none("frame", piece.frame->size);
  if (piece.frame->size <= nominal) return holds_none("frame", piece.frame->size);
  return {};
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

}  // namespace

// A specification filled in by hand may have the row of another edition, or lack the grade.
Result<void> check_specification(const Specification& specification) {
  if (specification.edition == nullptr || specification.row == nullptr)
    return Error{ErrorCode::null_argument, "a specification without its edition or row", "", "what specify gave", {}};
  const std::span<const Row> rows = specification.edition->rows;
  const bool of_edition = std::any_of(rows.begin(), rows.end(), [&](const Row& row) { return &row == specification.row; });
  const bool is_graded = specification.edition->rules.graded;
  const bool has_grade = specification.grade && std::find(k_grades.begin(), k_grades.end(), *specification.grade) != k_grades.end();
  if (of_edition && (is_graded ? has_grade : !specification.grade)) return {};
  return Error{ErrorCode::wrong_argument,
               of_edition ? "a specification without the grade that its edition asks for, or with one where it has none"
                          : "a specification with a row that its edition does not have",
               "",
               "what specify gave",
               {}};
}

Result<void> check_sample(const Specification& specification, const Sample& sample) {
  return is_made_for(sample, specification) ? Result<void>() : made_for_another_size(specification, sample);
}

Result<void> check_conditions(const Specification& specification, const Evidence& evidence, const Conditions& conditions) {
  if (Result<void> values = check_values(conditions); !values) return values;
  if (Result<void> guards = check_guards(evidence.guards); !guards) return guards;
  if (Result<void> shares = check_shares(evidence); !shares) return shares;
  if (Result<void> sizes = check_sizes(specification, conditions.piece); !sizes) return sizes;
  if (Result<void> agreed = check_agreement(specification, conditions); !agreed) return agreed;
  return check_count(specification, evidence.sample, conditions.piece);
}

}  // namespace sievecloth
