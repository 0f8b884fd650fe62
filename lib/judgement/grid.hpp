// The full apertures of a piece, numbered so that neighbouring numbers are close together.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "sievecloth/edition.hpp"
#include "sievecloth/sample.hpp"

namespace sievecloth {

/// Full apertures of cloth of one aperture and pitch. One instance serves both directions.
class ApertureGrid {
 public:
  struct Cell {
    Length x;
    Length y;
    std::optional<std::int64_t> lane;  ///< of a roll, from 0
    std::int64_t gap = 0;              ///< number of the gap across the direction of measurement, from 0
  };
  /// The apertures along one line parallel to a direction: gaps `first`, `first` + 1 and so on.
  struct Line {
    std::int64_t first = 0;
    std::int64_t count = 0;
  };

  /// `clear`: diameter or side not covered by the frame. One aperture is centred in the frame.
  static ApertureGrid in_frame(FrameShape shape, Length clear, Length aperture, Length pitch);
  static ApertureGrid on_roll(const Roll& roll, Length aperture, Length pitch);

  std::int64_t count() const { return begins_.back(); }
  /// Returns aperture `number`, from 0: gap by gap across `direction`; on a roll lane by lane, along the length.
  Cell cell(std::int64_t number, Direction direction) const;

  /// Number of lines parallel to `direction`; those of a frame lie symmetrically about the middle one.
  std::int64_t lines(Direction direction) const;
  /// Returns line `index`, from 0, from left to right or from below upwards.
  Line line(std::int64_t index, Direction direction) const;
  /// Returns the aperture in gap `gap` of a line.
  Cell on_line(std::int64_t index, std::int64_t gap, Direction direction) const;

 private:
  ApertureGrid(Length aperture, Length pitch) : aperture_(aperture), pitch_(pitch) {}
  std::int64_t half() const { return static_cast<std::int64_t>(begins_.size() - 2) / 2; }  // rows beside the middle one
  std::int64_t rows_of_roll() const { return begins_.back() / columns_.back(); }
  Cell at(std::int64_t column, std::int64_t row, Direction direction) const;
  Cell cell_on_roll(std::int64_t number, Direction direction) const;

  Length aperture_;
  Length pitch_;
  bool roll_ = false;
  std::vector<std::int64_t> begins_{
      0};  // in a frame: number of the first aperture of each row; on a roll: of each lane; then the end
  std::vector<std::int64_t> columns_{0};  // on a roll: first column of each lane; then the end
};

/// Returns the number of full apertures of a mounted sieve or a roll at the nominal pitch, without k_frame_allowance of the frame.
/// REQUIRES: a frame or a roll.
std::int64_t count_apertures(const Row& row, const Piece& piece);

}  // namespace sievecloth
