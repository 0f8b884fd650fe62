// What statistics need of the readings of one piece, gathered in one pass: how often each value occurs, sums by field and by gap,
// the order of the readings. Memory does not grow with the number of readings, only with those of different values, fields and
// gaps.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "sievecloth/sample.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// The quantities measured on cloth.
enum class ClothQuantity : std::uint8_t { aperture, wire };
/// Both in their order.
inline constexpr std::array k_quantities{ClothQuantity::aperture, ClothQuantity::wire};
/// `aperture`, `wire`.
std::string_view to_text(ClothQuantity quantity) noexcept;

/// Different values that are counted apart; with more, values are counted in steps ten times as wide, as often as necessary.
inline constexpr std::size_t k_most_values = 1'000'000;
/// Readings whose order is kept; of more, none is.
inline constexpr std::size_t k_most_in_order = std::size_t{1} << 20;

/// A value and how often it occurs.
struct Counted {
  double value_um = 0;     ///< [um]
  std::int64_t count = 0;  ///< 1 or more

  /// Equal in every member.
  bool operator==(const Counted&) const = default;
};

/// Sums over the readings of one group: a field of view, or the gap between two wires.
struct GroupSums {
  std::int64_t n = 0;                   ///< readings
  double sum_um = 0;                    ///< of deviations from `SeriesObservations::reference_um`
  double squares_um2 = 0;               ///< of their squares
  double first_um = 0;                  ///< its first reading
  std::int64_t first_line = 0;          ///< line of that reading
  std::int64_t above_intermediate = 0;  ///< readings above that limit
  std::int64_t above_largest = 0;       ///< readings above w + X
  double x_um = 0;                      ///< sum of x; 0 without positions
  double y_um = 0;                      ///< sum of y; 0 without positions
  double place = 0;                     ///< number of a gap, or its distance across the cloth [um]; 0 for a field
};

/// A reading at the end of the distribution.
struct Extreme {
  double value_um = 0;    ///< [um]
  std::int64_t line = 0;  ///< line in the file
};

/// The readings of one quantity in one direction; suspects are left out.
struct SeriesObservations {
  std::int64_t n = 0;                      ///< readings
  double reference_um = 0;                 ///< the first reading
  std::vector<Counted> values;             ///< ascending
  double step_um = 0;                      ///< smallest difference of two readings, the step in which they move; 0 without one
  bool coarsened = false;                  ///< `values` are rounded: there were more than k_most_values
  std::vector<GroupSums> fields;           ///< in order of appearance; empty unless every reading has a field
  std::vector<GroupSums> gaps;             ///< by place; empty unless every reading has a gap or a position
  bool incomplete = false;                 ///< some readings have a field, a gap or a position, others not
  bool gaps_by_position = false;           ///< gaps were found by position
  double turn_degrees = 0;                 ///< of the wires against the axes, counterclockwise, as estimated for that
  std::optional<double> lag1_correlation;  ///< of readings that follow each other in the file; empty without a spread
  std::vector<double> in_order;            ///< all readings [um] in order; empty with gaps or beyond k_most_in_order
  std::vector<Extreme> smallest;           ///< up to ten, the smallest first; of equal ones the first read
  std::vector<Extreme> largest;            ///< up to ten, the largest first; of equal ones the first read
};

/// What readings are compared with as they are gathered.
struct ObservationSettings {
  Length pitch;                        ///< nominal: positions more than half of it apart are in different gaps
  std::optional<Length> intermediate;  ///< apertures strictly above are counted
  std::optional<Length> largest;       ///< w + X: apertures strictly above are counted
  bool keep_order = false;             ///< readings are consecutive on the cloth, so that their order matters
};

/// Gathers observations, reading by reading.
class Observations {
 public:
  /// No readings yet.
  explicit Observations(const ObservationSettings& settings);
  ~Observations();
  Observations(Observations&&) noexcept;             ///< the other one may only be destroyed or assigned to
  Observations& operator=(Observations&&) noexcept;  ///< likewise

  /// Adds all rows, as if one by one. Requires valid rows, as a reader hands them on. Time: constant for each. Memory: up to some
  /// 400 bytes for each new value, field and gap.
  void add(const ReadingColumns& rows);
  /// Adds one row. Requires a valid one.
  void add(const Reading& reading);

  /// Returns what was gathered so far; readings may be added after that. The first call, if it precedes 4,096 positions of a
  /// direction, ends the estimation of the turn: one thread at a time. Time: a sort of the values and gaps.
  SeriesObservations series(ClothQuantity quantity, Direction direction) const;

 private:
  class Series;
  class Side;
  PerDirection<std::unique_ptr<Side>> sides_;
};

}  // namespace sievecloth
