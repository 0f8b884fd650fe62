// Lengths as whole numbers of picometres, and their conversion from text and from doubles.
#pragma once

#include <compare>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "sievecloth/result.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// 128-bit integer for sums of deviations and of their squares; available with GCC and Clang on 64-bit targets.
__extension__ typedef __int128 int128;

/// Unit of a numeric reading.
enum class Unit { micrometre, millimetre, inch };

/// `um`, `mm` or `in`.
std::string_view to_text(Unit unit) noexcept;
/// Returns the unit named `um` (or with a micro sign), `mm` or `in`, ignoring case; empty for any other name.
std::optional<Unit> find_unit(std::string_view name) noexcept;

/// Picometres in one unit: 1 in = 25 400 000 000 pm exactly (international inch of 1959).
constexpr std::int64_t picometres(Unit unit) noexcept {
  switch (unit) {
    case Unit::micrometre: return 1'000'000;
    case Unit::millimetre: return 1'000'000'000;
    case Unit::inch: break;
  }
  return 25'400'000'000;
}

/// A length or a difference of two lengths [pm], exact. Sums and differences of lengths within +-10 km cannot overflow.
class Length {
 public:
  constexpr Length() = default;
  /// Whole picometres, exact.
  static constexpr Length from_pm(std::int64_t pm) noexcept { return Length(pm); }
  /// Whole units, exact. |count| times the unit must not exceed 10 km.
  static constexpr Length of(std::int64_t count, Unit unit) noexcept { return Length(count * picometres(unit)); }

  constexpr std::int64_t pm() const noexcept { return pm_; }  ///< whole picometres
  /// The nearest double [um].
  constexpr double um() const noexcept { return static_cast<double>(pm_) / 1e6; }

  /// Exact.
  constexpr auto operator<=>(const Length&) const = default;
  /// Exact.
  constexpr Length operator+(Length other) const noexcept { return Length(pm_ + other.pm_); }
  /// Exact.
  constexpr Length operator-(Length other) const noexcept { return Length(pm_ - other.pm_); }

 private:
  explicit constexpr Length(std::int64_t pm) noexcept : pm_(pm) {}
  std::int64_t pm_ = 0;
};

/// Largest magnitude accepted from text or from a double: 10 km.
inline constexpr Length k_longest = Length::from_pm(10'000'000'000'000'000);

/// Decimal separator.
enum class DecimalMark : char { point = '.', comma = ',' };

/// Parses plain digits with at most one decimal mark and an optional leading `-`: `75`, `75.31`, `-0.5`, `.5`. Exact: no rounding,
/// no locale.
/// Errors: malformed_number (anything else, including exponents, a leading `+`, blanks and `5.`); too_fine (not a whole
/// number of picometres); too_large (beyond +-10 km). Their `where` is empty.
Result<Length> parse_length(std::string_view text, Unit unit, DecimalMark mark = DecimalMark::point);

/// Parses a number above 0 followed by its unit, `um`, `\u00b5m`, `mm`, `m` or `in`, the last also with a full stop, and optional
/// blanks between them: `200 mm`, `30m`, `48in`.
/// Errors: malformed_number (anything else, including a length without a unit, which would be a guess); those of parse_length.
Result<Length> parse_length_with_unit(std::string_view text);

/// Rounds `value` units to the nearest picometre, ties to even.
/// Errors: malformed_number (not finite), too_large (beyond +-10 km).
Result<Length> round_to_length(double value, Unit unit);

/// Formats the length as an exact decimal in the unit, without trailing zeros: `75.31`, `-0.5`. Inches have at most 12 decimals,
/// rounded half away from zero.
std::string to_text(Length length, Unit unit);

/// Formats the length with the unit that the standards use: um below 1 mm, mm from there: `75 \u00b5m`, `4.75 mm`.
std::string to_text(Length length);

}  // namespace sievecloth
