#include "judgement/grid.hpp"

#include <algorithm>
#include <cmath>

namespace sievecloth {
namespace {

constexpr std::int64_t k_lanes = 3;

// Twice the distance of an aperture's far edge from the centre, for row or column `index` [pm].
int128 doubled_edge(std::int64_t index, Length aperture, Length pitch) {
  return 2 * static_cast<int128>(std::abs(index)) * pitch.pm() + aperture.pm();
}

bool fits(FrameShape shape, Length clear, int128 doubled_x, int128 doubled_y) {
  const int128 size = clear.pm();
  if (shape == FrameShape::square) return doubled_x <= size && doubled_y <= size;
  return doubled_x * doubled_x + doubled_y * doubled_y <= size * size;
}

// Number of apertures from the centre of the row outwards, excluding the central one; -1 if not even that fits.
std::int64_t half_row(FrameShape shape, Length clear, Length aperture, Length pitch, std::int64_t row, std::int64_t at_most) {
  const int128 y = doubled_edge(row, aperture, pitch);
  std::int64_t low = -1;
  std::int64_t high = at_most + 1;
  while (high - low > 1) {
    const std::int64_t middle = low + (high - low) / 2;
    (fits(shape, clear, doubled_edge(middle, aperture, pitch), y) ? low : high) = middle;
  }
  return low;
}

}  // namespace

ApertureGrid ApertureGrid::in_frame(FrameShape shape, Length clear, Length aperture, Length pitch) {
  ApertureGrid grid(aperture, pitch);
  const std::int64_t half = half_row(shape, clear, aperture, pitch, 0, clear.pm() / pitch.pm() + 1);
  for (std::int64_t row = -half; row <= half; ++row) {
    const std::int64_t side = half_row(shape, clear, aperture, pitch, row, half);
    if (side >= 0) grid.begins_.push_back(grid.begins_.back() + 2 * side + 1);
  }
  return grid;
}

ApertureGrid ApertureGrid::on_roll(const Roll& roll, Length aperture, Length pitch) {
  ApertureGrid grid(aperture, pitch);
  grid.roll_ = true;
  const std::int64_t columns = roll.width.pm() / pitch.pm();
  const std::int64_t rows = roll.length.pm() / pitch.pm();
  for (std::int64_t lane = 1; lane <= k_lanes; ++lane) {
    grid.columns_.push_back(columns * lane / k_lanes);
    grid.begins_.push_back(grid.columns_.back() * rows);
  }
  return grid;
}

ApertureGrid::Cell ApertureGrid::at(std::int64_t column, std::int64_t row, Direction direction) const {
  const std::int64_t gap = direction == Direction::warp ? row : column;
  if (!roll_) return {Length::from_pm((column - half()) * pitch_.pm()), Length::from_pm((row - half()) * pitch_.pm()), {}, gap};
  const std::int64_t lane = std::upper_bound(columns_.begin(), columns_.end(), column) - columns_.begin() - 1;
  const std::int64_t middle = pitch_.pm() / 2;
  return {Length::from_pm(column * pitch_.pm() + middle), Length::from_pm(row * pitch_.pm() + middle), lane, gap};
}

ApertureGrid::Cell ApertureGrid::cell_on_roll(std::int64_t number, Direction direction) const {
  const auto lane = static_cast<std::size_t>(std::upper_bound(begins_.begin(), begins_.end(), number) - begins_.begin() - 1);
  const std::int64_t width = columns_[lane + 1] - columns_[lane];
  const std::int64_t in_lane = number - begins_[lane];
  return at(columns_[lane] + in_lane % width, in_lane / width, direction);
}

ApertureGrid::Cell ApertureGrid::cell(std::int64_t number, Direction direction) const {
  if (roll_) return cell_on_roll(number, direction);
  const std::int64_t across = std::upper_bound(begins_.begin(), begins_.end(), number) - begins_.begin() - 1;
  const auto index = static_cast<std::size_t>(across);
  const std::int64_t half_length = (begins_[index + 1] - begins_[index] - 1) / 2;
  const std::int64_t along = number - begins_[index] - half_length + half();
  return direction == Direction::warp ? at(along, across, direction) : at(across, along, direction);
}

std::int64_t ApertureGrid::lines(Direction direction) const {
  if (!roll_) return static_cast<std::int64_t>(begins_.size()) - 1;
  return direction == Direction::warp ? columns_.back() : rows_of_roll();
}

ApertureGrid::Line ApertureGrid::line(std::int64_t index, Direction direction) const {
  if (roll_) return {0, direction == Direction::warp ? rows_of_roll() : columns_.back()};
  const auto i = static_cast<std::size_t>(index);
  const std::int64_t count = begins_[i + 1] - begins_[i];
  return {half() - (count - 1) / 2, count};
}

ApertureGrid::Cell ApertureGrid::on_line(std::int64_t index, std::int64_t gap, Direction direction) const {
  return direction == Direction::warp ? at(index, gap, direction) : at(gap, index, direction);
}

std::int64_t count_apertures(const Row& row, const Piece& piece) {
  const Length pitch = row.nominal + row.wire.preferred.value;
  if (piece.roll) return ApertureGrid::on_roll(*piece.roll, row.nominal, pitch).count();
  const Length clear = piece.frame->size - k_frame_allowance;
  return clear > Length() ? ApertureGrid::in_frame(piece.frame->shape, clear, row.nominal, pitch).count() : 0;
}

}  // namespace sievecloth
