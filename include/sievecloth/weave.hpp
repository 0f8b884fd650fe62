// Signs of weave faults in the readings of one piece.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "sievecloth/observations.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// Signs of weave faults, and of faulty readings.
enum class SignKind : std::uint8_t {
  alternation,           ///< alternating wide and narrow openings
  periodic,              ///< bars that repeat every so many gaps
  slow_wave,             ///< a wave of one or two lengths over the readings
  displaced_wire,        ///< one wide opening beside a narrow one
  drift,                 ///< larger on one side of the piece than on the other
  curvature,             ///< the middle differs from the edges
  direction_difference,  ///< the means of warp and weft differ
  spread_difference,     ///< the standard deviations of warp and weft differ
  two_populations,
  outliers,  ///< flagged, never removed
  not_normal,
  one_value,    ///< one value occurs more often than expected
  coarse_step,  ///< the readings move in steps wider than their spread
};
/// `alternation` and so on, with hyphens.
std::string_view to_text(SignKind kind) noexcept;

/// Why a test was not made.
enum class NotTested : std::uint8_t {
  too_few,         ///< fewer values than the test needs
  no_spread,       ///< all values are equal
  not_in_order,    ///< not declared contiguous, nor shown to be by gaps or positions; or in fields
  incomplete,      ///< some readings have a field, a gap or a position, others not
  unequal_groups,  ///< means of many readings are more precise than those of few
  correlated,      ///< neighbouring values are so alike that a slow change cannot be told from chance
  no_positions,    ///< not every reading has one
  other_direction_missing,
  too_few_values,  ///< too few distinct values
  not_measured,    ///< nothing of this quantity was measured in this direction
};
/// `too-few` and so on.
std::string_view to_text(NotTested reason) noexcept;

/// One test of one quantity in one direction (or of both directions against each other).
struct Sign {
  SignKind kind = SignKind::drift;                   ///< what was tested for
  ClothQuantity quantity = ClothQuantity::aperture;  ///< quantity tested
  std::optional<Direction> direction;                ///< empty for differences between the directions
  std::optional<NotTested> not_tested;               ///< why it was not tested; empty if it was

  bool flagged = false;     ///< significant at `level`, of a relevant size, and no consequence of another sign that is flagged
  bool explained = false;   ///< would be flagged, but for another sign that it follows from
  std::int64_t n = 0;       ///< values used: gaps if the readings of a gap were averaged, else readings
  double statistic = 0;     ///< test statistic
  double critical = 0;      ///< critical value at `level`
  double p_value = 1;       ///< of this test alone; 0 or 1 for coarse_step, which is not a test
  double effect = 0;        ///< size of the effect: [um], except as stated at `effect_limit`
  double effect_limit = 0;  ///< minimum relevant effect. two_populations: separation in standard deviations within each;
                            ///< not_normal: greatest distance between the distribution functions; one_value: excess share of the
                            ///< readings; spread_difference: ratio of the standard deviations

  std::optional<double> period;             ///< periodic: in gaps
  std::optional<double> correlation;        ///< alternation: lag-1, as measured
  std::optional<double> model_correlation;  ///< alternation: lag-1 of the fitted model of good cloth
  std::vector<double>
      values_um;  ///< outliers: the values; two_populations: both means; one_value: the value; direction_difference: both means;
                  ///< spread_difference: both standard deviations; displaced_wire: both openings
  std::vector<std::int64_t> lines;  ///< outliers: their lines in the file; for a mean, that of its first reading
};

/// What the tests need besides the readings.
struct WeaveConditions {
  Length pitch;              ///< nominal: positions more than half of it apart are in different gaps
  Length average_tolerance;  ///< Y: Y / 4 is the minimum relevant effect for apertures
  Length wire_tolerance;     ///< half the permitted wire range, used likewise
  bool contiguous = false;   ///< declared: the readings of each direction are consecutive on the cloth, gap by gap
};

/// Results of all tests.
struct Weave {
  double level = 0;         ///< of each test: 5 % divided by the number of tests
  std::vector<Sign> signs;  ///< one for each test
};

/// Tests both quantities in both directions. Good cloth is flagged at most 5 % of the time: the level is divided among all tests
/// made (Bonferroni), and a sign must also reach its minimum relevant effect. Suspects are excluded. Several readings in a gap or a
/// field count as one value, their mean, whether or not they seem to be alike.
Weave find_signs(const Observations& observations, const WeaveConditions& conditions);

}  // namespace sievecloth
