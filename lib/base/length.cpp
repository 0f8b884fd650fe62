#include "sievecloth/length.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "base/text.hpp"

namespace sievecloth {
namespace {

constexpr int k_max_digits = 30;  // no length has more, and 10^30 still fits 128 bits

Error number_error(ErrorCode code, std::string_view text, std::string message, std::string expected) {
  return {code, std::move(message), printable(text), std::move(expected), {}};
}

Error malformed(std::string_view text, DecimalMark mark) {
  return number_error(ErrorCode::malformed_number, text, "not a number in plain digits",
                      mark == DecimalMark::point ? "digits with at most one decimal point, such as 75.31"
                                                 : "digits with at most one decimal comma, such as 75,31");
}

Error too_large(std::string_view text) {
  return number_error(ErrorCode::too_large, text, "longer than 10 km", "a shorter length, or another unit");
}

Error too_fine(std::string_view text) {
  return number_error(ErrorCode::too_fine, text, "finer than a picometre",
                      "a whole number of picometres (0.000001 um, 0.000000001 mm)");
}

struct UnitName {
  std::string_view text;
  Unit unit;
  std::int64_t times;
};
constexpr std::array k_unit_names{UnitName{"um", Unit::micrometre, 1},
                                  UnitName{k_um_symbol, Unit::micrometre, 1},
                                  UnitName{"\u03bcm", Unit::micrometre, 1},
                                  UnitName{"mm", Unit::millimetre, 1},
                                  UnitName{"cm", Unit::millimetre, 10},
                                  UnitName{"m", Unit::millimetre, 1000},
                                  UnitName{"in", Unit::inch, 1},
                                  UnitName{"in.", Unit::inch, 1},
                                  UnitName{"inch", Unit::inch, 1},
                                  UnitName{"inches", Unit::inch, 1},
                                  UnitName{"\"", Unit::inch, 1},
                                  UnitName{"\u2033", Unit::inch, 1}};

/// The digits of a decimal without leading zeros and without trailing zeros after the mark.
struct Digits {
  int128 value = 0;
  int significant = 0;
  int decimals = 0;
  int pending_zeros = 0;

  void append(int digit, bool after_mark) {
    if (after_mark && digit == 0) {
      ++pending_zeros;
      return;
    }
    for (; pending_zeros > 0; --pending_zeros) push(0, true);
    push(digit, after_mark);
  }

 private:
  void push(int digit, bool after_mark) {
    if (after_mark) ++decimals;
    if (significant > 0 || digit > 0) ++significant;
    if (significant <= k_max_digits) value = value * 10 + digit;
  }
};

}  // namespace

std::string_view to_text(Unit unit) noexcept {
  switch (unit) {
    case Unit::micrometre: return "um";
    case Unit::millimetre: return "mm";
    case Unit::inch: return "in";
  }
  return {};
}

std::optional<Unit> find_unit(std::string_view name) noexcept {
  for (const std::string_view micrometre : {"\u00b5m", "\u03bcm"}) {
    if (same_word(name, micrometre)) return Unit::micrometre;
  }
  for (const Unit unit : {Unit::micrometre, Unit::millimetre, Unit::inch}) {
    if (same_word(name, to_text(unit))) return unit;
  }
  return std::nullopt;
}

Result<Length> parse_length(std::string_view text, Unit unit, DecimalMark mark) {
  const bool negative = text.starts_with('-');
  const std::string_view body = text.substr(negative ? 1 : 0);
  const std::size_t mark_at = body.find(static_cast<char>(mark));
  const bool has_mark = mark_at != std::string_view::npos;
  if (body.empty() || (has_mark && mark_at + 1 == body.size())) return malformed(text, mark);

  Digits digits;
  for (std::size_t i = 0; i < body.size(); ++i) {
    if (has_mark && i == mark_at) continue;
    if (body[i] < '0' || body[i] > '9') return malformed(text, mark);
    digits.append(body[i] - '0', has_mark && i > mark_at);
  }
  const int whole_digits = digits.significant - digits.decimals;
  if (whole_digits > 14) return too_large(text);
  if (digits.decimals > 15 || digits.significant > k_max_digits) return too_fine(text);

  // At most 14 digits before the mark and 15 after it: every product below stays under 10^26.
  int128 scale = 1;
  for (int i = 0; i < digits.decimals; ++i) scale *= 10;
  const int128 whole = digits.value / scale;
  const int128 part = digits.value % scale;
  const int128 per_unit = picometres(unit);
  if (part * per_unit % scale != 0) return too_fine(text);
  const int128 pm = whole * per_unit + part * per_unit / scale;
  if (pm > k_longest.pm()) return too_large(text);
  return Length::from_pm(static_cast<std::int64_t>(negative ? -pm : pm));
}

Result<Length> parse_length_with_unit(std::string_view text) {
  const Error error = number_error(ErrorCode::malformed_number, text, "not a length with its unit",
                                   "a length above 0 such as \"200 mm\", in um, mm, m or in");
  const std::size_t digits = std::min(text.find_first_not_of("0123456789."), text.size());
  const std::string_view unit = trimmed(text.substr(digits));
  for (const UnitName& name : k_unit_names) {
    if (name.text != unit) continue;
    const Result<Length> length = parse_length(text.substr(0, digits), name.unit);
    if (!length.ok()) return length.error();
    if (*length <= Length()) return error;
    if (length->pm() > k_longest.pm() / name.times) return too_large(text);
    return Length::from_pm(length->pm() * name.times);
  }
  return error;
}

Result<Length> round_to_length(double value, Unit unit) {
  const double longest = static_cast<double>(k_longest.pm()) / static_cast<double>(picometres(unit));
  if (!std::isfinite(value)) {
    return Error{ErrorCode::malformed_number, "not a finite number", std::isnan(value) ? "NaN" : "infinity", "a length", {}};
  }
  if (std::fabs(value) > longest) return Error{ErrorCode::too_large, "longer than 10 km", "", "a length in the unit given", {}};
  // If the product looks like a tie, its rounding error decides.
  const double per_unit = static_cast<double>(picometres(unit));
  const double product = value * per_unit;
  const double error = std::fma(value, per_unit, -product);
  const double floor = std::floor(product);
  std::int64_t pm = static_cast<std::int64_t>(floor);
  const bool odd = (pm & 1) != 0;
  const double above_half = (product - floor - 0.5) + error;
  const double above_minus_half = (product - floor + 0.5) + error;
  if (above_half > 0 || (above_half == 0 && odd)) ++pm;
  if (above_minus_half < 0 || (above_minus_half == 0 && odd)) --pm;
  return Length::from_pm(pm);
}

std::string to_text(Length length, Unit unit) {
  int128 value = length.pm();
  const bool negative = value < 0;
  if (negative) value = -value;
  const int128 per_unit = picometres(unit);
  constexpr int128 k_decimals = 1'000'000'000'000;
  int128 whole = value / per_unit;
  int128 part = (value % per_unit * k_decimals * 2 + per_unit) / (per_unit * 2);
  if (part == k_decimals) {
    ++whole;
    part = 0;
  }
  std::string text = negative ? "-" : "";
  text += std::to_string(static_cast<std::int64_t>(whole));
  if (part == 0) return text;
  std::string decimals = std::to_string(static_cast<std::int64_t>(k_decimals + part)).substr(1);
  decimals.erase(decimals.find_last_not_of('0') + 1);
  return text + "." + decimals;
}

std::string to_text(Length length) {
  const bool small = length.pm() < picometres(Unit::millimetre);
  return small ? to_text(length, Unit::micrometre) + " " + std::string(k_um_symbol) : to_text(length, Unit::millimetre) + " mm";
}

}  // namespace sievecloth
