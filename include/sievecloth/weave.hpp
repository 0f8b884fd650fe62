// Signs of weave faults in the readings of one piece.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "sievecloth/sample.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// What is woven, and what is left open.
enum class ClothQuantity : std::uint8_t { aperture, wire };
/// Both in their order.
inline constexpr std::array k_quantities{ClothQuantity::aperture, ClothQuantity::wire};
/// `aperture`, `wire`.
std::string_view to_text(ClothQuantity quantity) noexcept;

/// What looms do to cloth, and instruments to readings.
enum class SignKind : std::uint8_t {
  alternation,           ///< wide and narrow in turn
  periodic,              ///< bars that come again after so many gaps
  drift,                 ///< larger on one side of the piece than on the other
  direction_difference,  ///< warp and weft differ
  two_populations,
  outliers,  ///< flagged, never removed
  not_normal,
  one_value,    ///< one value occurs too often
  coarse_step,  ///< the readings move in steps wider than their spread
};
/// `alternation` and so on, with hyphens.
std::string_view to_text(SignKind kind) noexcept;

/// Why something was not tested.
enum class NotTested : std::uint8_t {
  too_few,       ///< fewer values than the test needs
  no_spread,     ///< all values are equal
  not_in_order,  ///< the readings were not declared contiguous, and positions do not show it
  other_direction_missing,
  too_few_values,  ///< too few different values
  not_measured,    ///< nothing of this quantity was measured in this direction
};
/// `too-few` and so on.
std::string_view to_text(NotTested reason) noexcept;

/// One test of one quantity in one direction (or of both directions against each other).
struct Sign {
  SignKind kind = SignKind::drift;                   ///< what was looked for
  ClothQuantity quantity = ClothQuantity::aperture;  ///< of what
  std::optional<Direction> direction;                ///< empty for direction_difference
  std::optional<NotTested> not_tested;               ///< why it was not looked for

  bool flagged = false;     ///< significant at `level`, and the effect is at least the minimum relevant one
  std::int64_t n = 0;       ///< values it rests on: gaps where the readings of a gap were put together, else readings
  double statistic = 0;     ///< of the test
  double critical = 0;      ///< at `level`
  double p_value = 1;       ///< of this test alone; 0 or 1 for coarse_step, which is no test
  double effect = 0;        ///< size of what was found: [um], except as said at `effect_limit`
  double effect_limit = 0;  ///< the minimum relevant effect. two_populations: distance in standard deviations within each;
                            ///< not_normal: greatest distance of the distribution functions; one_value: share of the readings
                            ///< above what was expected

  std::optional<double> period;             ///< periodic: gaps
  std::optional<double> correlation;        ///< alternation: lag-1, as measured
  std::optional<double> model_correlation;  ///< alternation: lag-1 of the model of good cloth, fitted
  std::vector<double>
      values_um;  ///< outliers: the values; two_populations: both means; one_value: the value; direction_difference: both means
  std::vector<std::int64_t> lines;  ///< outliers: where they stand in the file; of a mean, where its first reading does
};

/// What the tests need besides the readings.
struct WeaveConditions {
  Length pitch;              ///< nominal: gaps are told apart by positions half of it apart
  Length average_tolerance;  ///< Y: Y / 4 is the minimum relevant effect of apertures
  Length wire_tolerance;     ///< half the permitted range of the wire: likewise
  bool contiguous = false;   ///< the readings of each direction follow each other on the cloth, gap by gap
};

/// All that was tested.
struct Weave {
  double level = 0;         ///< of each test: 5 % divided by the number of tests
  std::vector<Sign> signs;  ///< one for each test
};

/// Tests both quantities in both directions. Good cloth is flagged at most 5 % of the time: the level is divided among all tests
/// made (Bonferroni), and every sign needs a stated effect besides. Suspects are left out. Where positions show several readings in
/// a gap, their mean stands for the gap. x runs across the cloth, y along the warp wires: a gap measured along the warp has one y.
Weave find_signs(std::span<const Reading> readings, const WeaveConditions& conditions);

}  // namespace sievecloth
