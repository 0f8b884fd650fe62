#include "sievecloth/sample.hpp"

#include <algorithm>
#include <array>
#include <utility>

#include "base/refusal.hpp"
#include "measurement/names.hpp"

namespace sievecloth {
namespace {

// Rows sorted by direction at a time; fewer than k_few_rows are added one by one.
constexpr std::size_t k_rows_at_once = 1024, k_few_rows = 16;

template <class T>
std::span<const T> part_of(std::span<const T> column, std::size_t first, std::size_t count) noexcept {
  return column.empty() ? column : column.subspan(first, count);
}

std::optional<Length> unless(Length none, std::span<const Length> column, std::size_t row) noexcept {
  return column.empty() || column[row] == none ? std::nullopt : std::optional(column[row]);
}

// The part of a row that a sample uses: all but its name and its position.
Reading lengths_of(const ReadingColumns& rows, std::size_t row) noexcept {
  Reading reading;
  reading.direction = rows.direction[row];
  if (!rows.role.empty()) reading.role = rows.role[row];
  reading.aperture = unless(Length(), rows.aperture, row);
  reading.wire = unless(Length(), rows.wire, row);
  return reading;
}

// The lengths of one column, split by direction, without the empty cells.
class ByDirection {
 public:
  // Writes each length to both sides and lets the next one overwrite it where it does not belong: no branch to mispredict.
  ByDirection(std::span<const Direction> direction, std::span<const Length> column) noexcept {
    std::size_t warps = 0, wefts = 0;
    for (std::size_t row = 0; row < column.size(); ++row) {
      const std::size_t is_weft = static_cast<std::size_t>(direction[row]), is_length = column[row] != Length() ? 1 : 0;
      warp_[warps] = weft_[wefts] = column[row];
      warps += is_length & ~is_weft;
      wefts += is_length & is_weft;
    }
    lengths_ = {{warp_.data(), warps}, {weft_.data(), wefts}};
  }
  ByDirection(const ByDirection&) = delete;
  ByDirection& operator=(const ByDirection&) = delete;

  std::span<const Length> operator[](Direction direction) const noexcept { return lengths_[direction]; }

 private:
  std::array<Length, k_rows_at_once> warp_, weft_;
  PerDirection<std::span<const Length>> lengths_;
};

}  // namespace

ReadingColumns ReadingColumns::part(std::size_t first, std::size_t count) const noexcept {
  return {first_line + static_cast<std::int64_t>(first),
          part_of(direction, first, count),
          part_of(role, first, count),
          part_of(aperture, first, count),
          part_of(wire, first, count),
          part_of(x, first, count),
          part_of(y, first, count),
          part_of(field, first, count),
          part_of(gap, first, count),
          part_of(operator_name, first, count)};
}

bool ReadingColumns::has_reading(std::size_t row) const noexcept {
  const bool has_aperture = !aperture.empty() && aperture[row] != Length();
  const bool has_wire = !wire.empty() && wire[row] != Length();
  return has_aperture | has_wire;
}

Reading ReadingColumns::reading(std::size_t row) const {
  Reading reading = lengths_of(*this, row);
  reading.x = unless(k_no_position, x, row);
  reading.y = unless(k_no_position, y, row);
  if (!field.empty()) reading.field = field[row];
  if (!gap.empty() && gap[row] != k_no_gap) reading.gap = gap[row];
  if (!operator_name.empty()) reading.operator_name = operator_name[row];
  reading.line = first_line + static_cast<std::int64_t>(row);
  return reading;
}

std::string_view to_text(CertifiedFigure figure) noexcept { return word_of(figure); }
std::string_view to_text(Direction value) noexcept { return word_of(value); }

Sample::Sample(const Thresholds& aperture, Length wire_nominal) noexcept {
  for (const Direction direction : k_directions) {
    directions_[direction] = {Summary(aperture), Summary(Thresholds{wire_nominal, {}, {}}), Summary(aperture), 0, 0};
  }
}

Result<void> Sample::add(const Reading& reading) noexcept {
  DirectionSample& side = directions_[reading.direction];
  Result<void> first;
  const auto take = [&](const std::optional<Length>& length, Summary& summary, std::int64_t& refused) {
    if (!length) return;
    Result<void> taken = summary.add(*length);
    if (taken.ok()) return;
    ++refused;
    if (first.ok()) first = std::move(taken);
  };
  take(reading.aperture, reading.role == Role::sample ? side.aperture : side.suspect, side.refused_apertures);
  if (reading.role == Role::sample) {
    take(reading.wire, side.wire, side.refused_wires);
  } else if (reading.wire) {
    ++side.refused_wires;
    if (first.ok()) first = refusal(ErrorCode::suspect_wire, "not an aperture");
  }
  return first;
}

Result<void> Sample::add(const ReadingColumns& rows) noexcept {
  Result<void> first;
  for (std::size_t begin = 0; begin < rows.size(); begin += k_rows_at_once) {
    const ReadingColumns some = rows.part(begin, std::min(k_rows_at_once, rows.size() - begin));
    const bool has_suspect = std::find(some.role.begin(), some.role.end(), Role::suspect) != some.role.end();
    if (some.size() >= k_few_rows && !has_suspect && add_sample_rows(some)) continue;
    for (std::size_t row = 0; row < some.size(); ++row) {
      Result<void> taken = add(lengths_of(some, row));
      if (!taken.ok() && first.ok()) first = std::move(taken);
    }
  }
  return first;
}

// Adds up to k_rows_at_once rows without a suspect or, if one of their lengths is invalid, nothing.
bool Sample::add_sample_rows(const ReadingColumns& rows) noexcept {
  const ByDirection apertures(rows.direction, rows.aperture), wires(rows.direction, rows.wire);
  const PerDirection<DirectionSample> before = directions_;
  for (const Direction direction : k_directions) {
    DirectionSample& side = directions_[direction];
    if (side.aperture.add(apertures[direction]) && side.wire.add(wires[direction])) continue;
    directions_ = before;
    return false;
  }
  return true;
}

Result<void> Sample::merge(const Sample& other) noexcept {
  if (&other == this) return refusal(ErrorCode::inspectors_differ, "merged twice");
  Sample merged = *this;
  for (const Direction direction : k_directions) {
    DirectionSample& side = merged[direction];
    const DirectionSample& more = other[direction];
    for (Summary DirectionSample::*summary : {&DirectionSample::aperture, &DirectionSample::wire, &DirectionSample::suspect}) {
      if (Result<void> taken = (side.*summary).merge(more.*summary); !taken.ok()) return taken;
    }
    side.refused_apertures += more.refused_apertures;
    side.refused_wires += more.refused_wires;
  }
  merged.readings_lost_ = readings_lost_ || other.readings_lost_;
  merged.named_suspects_ = std::max(named_suspects_, other.named_suspects_);
  *this = merged;
  return {};
}

std::int64_t Sample::count() const noexcept {
  std::int64_t count = 0;
  for (const Direction direction : k_directions) {
    const DirectionSample& side = directions_[direction];
    count += side.aperture.count() + side.wire.count() + side.suspect.count();
  }
  return count;
}

}  // namespace sievecloth
