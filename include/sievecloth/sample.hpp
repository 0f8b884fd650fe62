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

/// The line along which readings are taken. `warp`: parallel to the warp wires, so that the aperture is the gap between two weft
/// wires and the wire is a weft wire.
enum class Direction : std::uint8_t { warp, weft };
/// Both directions in their order.
inline constexpr std::array k_directions{Direction::warp, Direction::weft};

/// `warp` or `weft`.
std::string_view to_text(Direction direction) noexcept;

/// `suspect`: an aperture singled out in the visual examination. It is compared with the largest permitted aperture only and never
/// enters n, mean, s or share.
enum class Role : std::uint8_t { sample, suspect };

/// One value for each direction.
template <class T>
struct PerDirection {
  T warp;  ///< measured parallel to the warp wires
  T weft;  ///< measured parallel to the weft wires
  /// The value of a direction.
  constexpr T& operator[](Direction direction) noexcept { return direction == Direction::warp ? warp : weft; }
  /// The value of a direction.
  constexpr const T& operator[](Direction direction) const noexcept { return direction == Direction::warp ? warp : weft; }

  /// Equal in every member.
  bool operator==(const PerDirection&) const = default;
};

/// One row of readings, as read.
struct Reading {
  Direction direction = Direction::warp;  ///< the line along which it was measured
  Role role = Role::sample;               ///< of the aperture
  std::optional<Length> aperture;         ///< empty where none was measured
  std::optional<Length> wire;             ///< empty where none was measured
  std::optional<Length> x;                ///< position on the piece; both or none
  std::optional<Length> y;                ///< the other coordinate
  std::string field;                      ///< the instrument's field of view; empty where not given
  std::optional<std::int32_t> gap;        ///< number of the gap between two wires, counted across the cloth, 0 to k_highest_gap
  std::string operator_name;              ///< who measured; empty where not given
  std::int64_t line = 0;                  ///< line in the file
};

/// Highest number of a gap.
inline constexpr std::int32_t k_highest_gap = 999'999'999;
/// Marks a missing number of a gap in a column.
inline constexpr std::int32_t k_no_gap = -1;
/// Marks a missing coordinate in a column.
inline constexpr Length k_no_position = Length::from_pm(std::numeric_limits<std::int64_t>::min());

/// Consecutive lines of a file as columns of whole numbers: the entries at one index of every column form one row. A column that
/// the file lacks may be empty. Every length has been checked.
struct ReadingColumns {
  std::int64_t first_line = 0;                      ///< line of the first row in the file
  std::span<const Direction> direction;             ///< of every row
  std::span<const Role> role;                       ///< if empty, all are `sample`
  std::span<const Length> aperture;                 ///< 0 where none was measured
  std::span<const Length> wire;                     ///< 0 where none was measured
  std::span<const Length> x;                        ///< k_no_position where there is none
  std::span<const Length> y;                        ///< k_no_position where there is none
  std::span<const std::string_view> field;          ///< valid as long as the columns
  std::span<const std::int32_t> gap;                ///< k_no_gap where there is none
  std::span<const std::string_view> operator_name;  ///< valid as long as the columns

  std::size_t size() const noexcept { return direction.size(); }  ///< rows
  /// Returns `count` rows, starting at row `first`.
  ReadingColumns part(std::size_t first, std::size_t count) const noexcept;
  /// Whether the row holds an aperture or a wire.
  bool has_reading(std::size_t row) const noexcept;
  /// Returns one row.
  Reading reading(std::size_t row) const;
};

/// Maximum number of suspects distinguished by name; no real record has more.
inline constexpr std::int64_t k_most_named_suspects = 10'000;

/// All readings of one direction.
struct DirectionSample {
  Summary aperture;  ///< apertures of the sample
  Summary wire;      ///< wires along the line
  Summary suspect;   ///< apertures singled out in the visual examination
  /// Invalid readings from the instrument: not a number, not above 0, or too large. They enter no figure, but a verdict that would
  /// accept becomes undecided.
  std::int64_t refused_apertures = 0;
  std::int64_t refused_wires = 0;  ///< likewise, of wires

  /// Equal in every member.
  bool operator==(const DirectionSample&) const = default;
};

/// Exact summaries of all readings of one piece, independent of the order of the readings.
class Sample {
 public:
  Sample() = default;
  /// `aperture`: thresholds of apertures and suspects. `wire_nominal`: reference of wire deviations.
  Sample(const Thresholds& aperture, Length wire_nominal) noexcept;

  /// Adds one row. An invalid length, or a wire beside a suspect, is refused and counted; the other length of the row is still
  /// added.
  /// Errors, the first of them: those of Summary::add; suspect_wire.
  Result<void> add(const Reading& reading) noexcept;
  /// Adds all rows, as if one by one. Errors: as above.
  Result<void> add(const ReadingColumns& rows) noexcept;
  /// Adds all readings of `other`. The number of named suspects becomes the larger of the two, as they may be the same apertures.
  /// Readings carry no identity: one that is in both, as in a copy that was continued, counts twice, so the caller must merge each
  /// part exactly once.
  /// Errors, leaving the sample unchanged: inspectors_differ (`other` is this one); those of Summary::merge.
  Result<void> merge(const Sample& other) noexcept;

  /// The readings of a direction.
  DirectionSample& operator[](Direction direction) noexcept { return directions_[direction]; }
  /// The readings of a direction.
  const DirectionSample& operator[](Direction direction) const noexcept { return directions_[direction]; }
  /// Number of readings of all kinds.
  std::int64_t count() const noexcept;

  /// Number of distinct named suspects, as set by the reader; 0 until set.
  std::int64_t named_suspects() const noexcept { return named_suspects_; }
  /// Sets the value above.
  void set_named_suspects(std::int64_t count) noexcept { named_suspects_ = count; }

  /// True if readings are or may be missing. Such a sample is never accepted.
  bool readings_lost() const noexcept { return readings_lost_; }
  /// Sets the flag above; cannot be undone.
  void set_readings_lost() noexcept { readings_lost_ = true; }

  /// Equal in every member.
  bool operator==(const Sample&) const = default;

 private:
  bool add_sample_rows(const ReadingColumns& rows) noexcept;

  PerDirection<DirectionSample> directions_;
  std::int64_t named_suspects_ = 0;
  bool readings_lost_ = false;
};

/// Shape of a mounted sieve.
enum class FrameShape : std::uint8_t { round, square };

/// The frame of a mounted sieve: its nominal diameter, or the side of a square one.
struct Frame {
  FrameShape shape = FrameShape::round;  ///< round or square
  Length size;                           ///< diameter or side

  /// Equal in every member.
  bool operator==(const Frame&) const = default;
};

/// The count for a smaller frame is unknown; the count for this size is used instead.
inline constexpr Length k_smallest_frame = Length::of(75, Unit::millimetre);

/// Assumed difference between a frame's nominal size and its clear diameter or side: 0.5 in. (ASTM E11, unverified).
inline constexpr Length k_frame_allowance = Length::from_pm(12'700'000'000);

/// Cloth on a roll.
struct Roll {
  Length width;   ///< across the cloth
  Length length;  ///< along the cloth

  /// Equal in every member.
  bool operator==(const Roll&) const = default;
};

/// What a verdict needs to know about the piece besides its readings.
struct Piece {
  std::optional<Frame> frame;                      ///< of a mounted sieve
  std::optional<Roll> roll;                        ///< of cloth before mounting
  std::optional<std::int64_t> apertures_in_piece;  ///< full apertures, N
  bool all_apertures = false;                      ///< every full aperture was measured: n = N in both directions

  /// Equal in every member.
  bool operator==(const Piece&) const = default;
};

/// An expanded uncertainty as a laboratory states it.
struct StatedUncertainty {
  Length expanded;             ///< U
  double coverage_factor = 2;  ///< k
  /// Above 0, below 1; empty: that of k and the degrees of freedom.
  std::optional<double> coverage_probability;
  std::optional<double> freedom;  ///< effective degrees of freedom; empty: unlimited
};

/// The figures of a direction that a laboratory certifies.
enum class CertifiedFigure : std::uint8_t {
  mean,                ///< of the apertures
  largest,             ///< aperture, and so any single one
  standard_deviation,  ///< s of the apertures
  wire,                ///< mean of the wires
};
/// All of them, in their order on paper.
inline constexpr std::array<CertifiedFigure, 4> k_certified_figures{CertifiedFigure::mean, CertifiedFigure::largest,
                                                                    CertifiedFigure::standard_deviation, CertifiedFigure::wire};
/// `mean`, `largest`, `standard_deviation`, `wire`: their keys in files and JSON.
std::string_view to_text(CertifiedFigure figure) noexcept;

/// One value for each certified figure.
template <class T>
struct PerFigure {
  T mean{};                ///< of the mean aperture
  T largest{};             ///< of the largest aperture, and so of any single one
  T standard_deviation{};  ///< of s
  T wire{};                ///< of the mean wire
  /// The value of a figure.
  constexpr T& operator[](CertifiedFigure figure) noexcept { return of(*this, figure); }
  /// The value of a figure.
  constexpr const T& operator[](CertifiedFigure figure) const noexcept { return of(*this, figure); }

 private:
  template <class Self>
  static constexpr auto& of(Self& self, CertifiedFigure figure) noexcept {
    switch (figure) {
      case CertifiedFigure::largest: return self.largest;
      case CertifiedFigure::standard_deviation: return self.standard_deviation;
      case CertifiedFigure::wire: return self.wire;
      case CertifiedFigure::mean: break;
    }
    return self.mean;
  }
};

/// A laboratory's own uncertainties of its certified figures; empty where not stated.
using StatedUncertainties = PerFigure<std::optional<StatedUncertainty>>;

/// Standard uncertainties of one reading, by source. Those of the scale are systematic: the same in every reading of both
/// directions, so that more readings do not reduce them. Repeatability is random. Resolution is random if the readings spread wider
/// than it, else systematic.
struct UncertaintySources {
  std::optional<Length> resolution;                    ///< q: a reading is rounded to whole steps of it
  std::optional<double> scale_factor;                  ///< relative standard uncertainty of the scale factor, 0.0002 for 0.02 %
  std::optional<Length> scale_offset;                  ///< standard uncertainty of the offset that the scale adds to every reading
  std::optional<Length> repeatability;                 ///< standard deviation of repeated readings of one aperture
  std::optional<std::int64_t> repeatability_readings;  ///< readings it was estimated from; empty: unlimited
  StatedUncertainties budget;                          ///< as the laboratory's budget states them

  /// True if one of scale, repeatability and resolution is known.
  bool any() const noexcept { return resolution || scale_factor || scale_offset || repeatability; }
  /// True if scale, repeatability and resolution are all known. A decision needs them all: a lower bound is not an uncertainty.
  bool complete() const noexcept { return resolution && (scale_factor || scale_offset) && repeatability; }
};

/// Prior knowledge of a process, before a piece of it is measured: a normal distribution.
struct Prior {
  double mean = 0;                ///< [um]
  double standard_deviation = 0;  ///< [um]
};
}  // namespace sievecloth
