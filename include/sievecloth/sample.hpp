// The readings of one piece, split by direction and quantity, and what is known of the piece itself.
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "sievecloth/summary.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// The line along which one measures. `warp`: along the warp wires, so that the aperture is the gap between two weft wires and the
/// wire is a weft wire.
enum class Direction : std::uint8_t { warp, weft };
/// Both directions in their order.
inline constexpr std::array k_directions{Direction::warp, Direction::weft};

/// `warp` or `weft`.
std::string_view to_text(Direction direction) noexcept;

/// `suspect`: an aperture singled out in the viewing tests. It counts against the largest aperture alone, never in n, mean, s or
/// share.
enum class Role : std::uint8_t { sample, suspect };

/// One value for each direction.
template <class T>
struct PerDirection {
  T warp;  ///< measured along the warp wires
  T weft;  ///< measured along the weft wires
  /// The value of a direction.
  constexpr T& operator[](Direction direction) noexcept { return direction == Direction::warp ? warp : weft; }
  /// The value of a direction.
  constexpr const T& operator[](Direction direction) const noexcept { return direction == Direction::warp ? warp : weft; }

  /// Equal in every member.
  bool operator==(const PerDirection&) const = default;
};

/// One row of readings as it was read.
struct Reading {
  Direction direction = Direction::warp;  ///< the line along which it was measured
  Role role = Role::sample;               ///< of the aperture
  std::optional<Length> aperture;         ///< empty where none was measured
  std::optional<Length> wire;             ///< empty where none was measured
  std::optional<Length> x;                ///< position on the piece; both or none
  std::optional<Length> y;                ///< the other coordinate
  std::string field;                      ///< the instrument's field of view; empty where not given
  std::int64_t line = 0;                  ///< line of the file it stood in
};

/// Stands for a coordinate that a row of a column does not have.
inline constexpr Length k_no_position = Length::from_pm(std::numeric_limits<std::int64_t>::min());

/// Rows that follow each other line by line in a file, as columns of whole numbers: what stands at the same place of every column
/// is one row. A column that the file does not have may be empty. Every length was checked.
struct ReadingColumns {
  std::int64_t first_line = 0;              ///< line of the file that the first row stood in
  std::span<const Direction> direction;     ///< of every row
  std::span<const Role> role;               ///< `sample` where there is no such column
  std::span<const Length> aperture;         ///< 0 where none was measured
  std::span<const Length> wire;             ///< 0 where none was measured
  std::span<const Length> x;                ///< k_no_position where there is none
  std::span<const Length> y;                ///< k_no_position where there is none
  std::span<const std::string_view> field;  ///< good as long as the columns

  std::size_t size() const noexcept { return direction.size(); }  ///< rows
  /// `count` rows from the row `first` on.
  ReadingColumns part(std::size_t first, std::size_t count) const noexcept;
  /// Whether the row holds an aperture or a wire.
  bool has_reading(std::size_t row) const noexcept;
  /// One row by itself.
  Reading reading(std::size_t row) const;
};

/// No more suspects are told apart by their names; more than that are nobody's record.
inline constexpr std::int64_t k_most_named_suspects = 10'000;

/// All readings of one direction.
struct DirectionSample {
  Summary aperture;  ///< apertures of the sample
  Summary wire;      ///< wires crossed
  Summary suspect;   ///< apertures singled out in viewing
  /// Invalid readings that an instrument delivered: not a number, not above 0, too large. They never enter; that they
  /// came leaves the verdict undecided where it would accept.
  std::int64_t refused_apertures = 0;
  std::int64_t refused_wires = 0;  ///< the same of wires

  /// Equal in every member.
  bool operator==(const DirectionSample&) const = default;
};

/// Exact summaries of all readings of one piece. Order of the readings leaves no trace.
class Sample {
 public:
  Sample() = default;
  /// `aperture`: what apertures and suspects are compared with. `wire_nominal`: where wire deviations are taken from.
  Sample(const Thresholds& aperture, Length wire_nominal) noexcept;

  /// Takes one row. An invalid length, and a wire beside a suspect, is refused and counted; the other one of the row is taken
  /// all the same. Errors, the first of them: those of Summary::add; suspect_wire.
  Result<void> add(const Reading& reading) noexcept;
  /// Takes all rows, as one by one. Errors: as above.
  Result<void> add(const ReadingColumns& rows) noexcept;
  /// Takes all readings of `other`. Of named suspects the greater number stays: they may be the same ones. Readings have no names:
  /// what is in both, as in a copy that went on, counts twice, and it is the caller's task to merge each part once.
  /// Errors, with nothing taken: inspectors_differ (`other` is this one); those of Summary::merge.
  Result<void> merge(const Sample& other) noexcept;

  /// The readings of a direction.
  DirectionSample& operator[](Direction direction) noexcept { return directions_[direction]; }
  /// The readings of a direction.
  const DirectionSample& operator[](Direction direction) const noexcept { return directions_[direction]; }
  /// Readings of every kind together.
  std::int64_t count() const noexcept;

  /// Apertures among the suspects that have a name, each once; who reads them knows. 0 until it is set.
  std::int64_t named_suspects() const noexcept { return named_suspects_; }
  /// See above.
  void set_named_suspects(std::int64_t count) noexcept { named_suspects_ = count; }

  /// Whether readings are missing, or nobody can say that none is. Such a sample is never accepted.
  bool readings_lost() const noexcept { return readings_lost_; }
  /// See above; for good.
  void set_readings_lost() noexcept { readings_lost_ = true; }

  /// Equal in every member.
  bool operator==(const Sample&) const = default;

 private:
  bool add_sample_rows(const ReadingColumns& rows) noexcept;

  PerDirection<DirectionSample> directions_;
  std::int64_t named_suspects_ = 0;
  bool readings_lost_ = false;
};

/// What shape a sieve has.
enum class FrameShape : std::uint8_t { round, square };

/// The frame of a mounted sieve: its nominal diameter, or the side of a square one.
struct Frame {
  FrameShape shape = FrameShape::round;  ///< round or square
  Length size;                           ///< diameter or side

  /// Equal in every member.
  bool operator==(const Frame&) const = default;
};

/// What a smaller frame asks is not known, so that its count is that of this one.
inline constexpr Length k_smallest_frame = Length::of(75, Unit::millimetre);

/// Cloth on the roll.
struct Roll {
  Length width;   ///< across the cloth
  Length length;  ///< along the cloth

  /// Equal in every member.
  bool operator==(const Roll&) const = default;
};

/// What a verdict needs to know of the piece besides its readings.
struct Piece {
  std::optional<Frame> frame;                      ///< of a mounted sieve
  std::optional<Roll> roll;                        ///< of cloth before mounting
  std::optional<std::int64_t> apertures_in_piece;  ///< full apertures, N
  bool all_apertures = false;                      ///< every full aperture was measured: n = N in both directions

  /// Equal in every member.
  bool operator==(const Piece&) const = default;
};

/// Standard uncertainties of one reading, by where they come from. The scale's are systematic: the same in every reading of both
/// directions, so that measuring more does not lessen them. Repeatability is random. Resolution is random where the readings spread
/// wider than it, else systematic.
struct UncertaintySources {
  std::optional<Length> resolution;                    ///< q: a reading is rounded to whole steps of it
  std::optional<double> scale_factor;                  ///< relative standard uncertainty of the scale's factor, 0.0002 for 0.02 %
  std::optional<Length> scale_offset;                  ///< standard uncertainty of what the scale adds to every reading
  std::optional<Length> repeatability;                 ///< standard deviation of repeated readings of one aperture
  std::optional<std::int64_t> repeatability_readings;  ///< that it was found from; empty: as many as one likes

  /// Whether scale, repeatability and resolution are all known: a decision needs them all, a lower bound is no uncertainty.
  bool complete() const noexcept { return resolution && (scale_factor || scale_offset) && repeatability; }
};

/// What is known of a process before a piece of it is measured: normal.
struct Prior {
  double mean = 0;                ///< [um]
  double standard_deviation = 0;  ///< [um]
};
}  // namespace sievecloth
