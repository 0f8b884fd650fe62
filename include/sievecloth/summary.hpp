// Summary of the readings of one quantity in one direction: exact, in constant memory, independent of their order.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

#include "sievecloth/length.hpp"
#include "sievecloth/result.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// Longest valid reading: 100 m. Keeps the sum of squares of 10^10 readings within 128 bits.
inline constexpr Length k_longest_reading = Length::from_pm(100'000'000'000'000);
/// No summary takes more: 10^10.
inline constexpr std::int64_t k_most_readings = 10'000'000'000;
/// Coarsest permitted quantum: every 32-bit multiple of it fits into 64 bits of picometres.
inline constexpr Length k_coarsest_quantum = Length::of(1, Unit::millimetre);

/// The lengths that readings are compared with as they stream in.
struct Thresholds {
  Length nominal;                      ///< reference of the deviations
  std::optional<Length> intermediate;  ///< readings strictly above are counted
  std::optional<Length> largest;       ///< readings strictly above are counted

  /// Equal in every member.
  bool operator==(const Thresholds&) const = default;
};

/// Exact sums over readings. Integer sums are associative, so the result is bit-identical whatever the order, splitting, merging or
/// threading. Does not allocate or throw. Use one instance per thread and `merge` them afterwards.
class Summary {
 public:
  Summary() = default;
  /// An empty summary.
  explicit Summary(const Thresholds& thresholds) noexcept : thresholds_(thresholds) {}

  /// Adds one reading. Errors, leaving the summary unchanged: not_positive (0 or less), too_large (above 100 m), too_many_readings
  /// (above 10^10 in one summary).
  Result<void> add(Length reading) noexcept;

  /// Adds all readings; bit-identical to adding them one by one. Errors, leaving the summary unchanged: too_many_readings;
  /// not_positive and too_large, whose `where.line` is the number of the first such reading, from 1.
  Result<void> add(std::span<const Length> readings) noexcept;

  /// Adds all readings [um], each rounded once to the picometre as by `round_to_length`; bit-identical to adding them one by one.
  /// Errors, leaving the summary unchanged: malformed_number (not finite), not_positive, too_large; their `where.line` is the
  /// number of the first such reading, from 1.
  Result<void> add_um(std::span<const double> readings) noexcept;

  /// Adds all readings, given as multiples of `quantum`, such as the counts of an instrument or decimals without their point;
  /// bit-identical to adding them one by one. Errors, leaving the summary unchanged: wrong_argument (a quantum not above 0 or above
  /// k_coarsest_quantum); not_positive, too_large, as in `add_um`.
  Result<void> add_quanta(std::span<const std::int32_t> readings, Length quantum) noexcept;

  /// Adds all readings of `other`. Errors, leaving this summary unchanged: sample_mismatch (different thresholds),
  /// too_many_readings (above 10^10 together).
  Result<void> merge(const Summary& other) noexcept;

  const Thresholds& thresholds() const noexcept { return thresholds_; }                   ///< as constructed
  std::int64_t count() const noexcept { return count_; }                                  ///< readings
  bool empty() const noexcept { return count_ == 0; }                                     ///< no reading yet
  int128 sum_of_deviations() const noexcept { return sum_; }                              ///< [pm]
  int128 sum_of_squared_deviations() const noexcept { return squares_; }                  ///< [pm^2]
  Length minimum() const noexcept { return minimum_; }                                    ///< requires a reading
  Length maximum() const noexcept { return maximum_; }                                    ///< requires a reading
  std::int64_t count_above_intermediate() const noexcept { return above_intermediate_; }  ///< 0 without that threshold
  std::int64_t count_above_largest() const noexcept { return above_largest_; }            ///< 0 without that threshold

  /// Returns the double nearest to the exact mean [um]; empty without a reading.
  std::optional<double> mean_um() const;
  /// Returns the double nearest to the exact standard deviation with n - 1 [um]; empty below two readings.
  std::optional<double> standard_deviation_um() const;

  /// Returns the common step of all readings, their greatest common divisor, if there is evidence for one: at least ten readings
  /// and three different values. Empty if the divisor is 1 um or less, which no edition considers coarse.
  std::optional<Length> common_step() const noexcept;

  /// The state of a summary besides its thresholds, as a snapshot keeps it.
  struct Figures {
    std::int64_t count = 0;                ///< readings
    int128 sum_of_deviations = 0;          ///< [pm]
    int128 sum_of_squared_deviations = 0;  ///< [pm^2]
    Length minimum;                        ///< smallest reading; 0 before the first
    Length maximum;                        ///< largest reading; 0 before the first
    std::int64_t above_intermediate = 0;   ///< readings strictly above that threshold
    std::int64_t above_largest = 0;        ///< readings strictly above that threshold
    std::int64_t divisor_pm = 0;           ///< divides every reading; 0 before the first, 1 for any divisor up to 1 um
    bool three_values = false;             ///< some reading differs from both the smallest and the largest

    /// Equal in every member.
    bool operator==(const Figures&) const = default;
  };
  Figures figures() const noexcept;  ///< the current figures
  /// Returns the summary with these figures; empty if no readings above 0 could have produced them.
  static std::optional<Summary> from_figures(const Thresholds& thresholds, const Figures& figures) noexcept;

  /// Equal in every member.
  bool operator==(const Summary&) const = default;

 private:
  struct Scale;
  struct Block;
  void take(Length reading) noexcept;
  bool take_block(const Block& block) noexcept;
  void note_step(const Block& block) noexcept;
  void note_step(std::int64_t pm) noexcept;
  void note_value(Length value) noexcept;

  Thresholds thresholds_;
  std::int64_t count_ = 0;
  int128 sum_ = 0;
  int128 squares_ = 0;
  Length minimum_;
  Length maximum_;
  std::int64_t above_intermediate_ = 0;
  std::int64_t above_largest_ = 0;
  std::int64_t step_pm_ = 0;   // divisor of all readings, 0 before the first, 1 once it is no longer coarse
  bool three_values_ = false;  // some reading differs from both the smallest and the largest
};

}  // namespace sievecloth
