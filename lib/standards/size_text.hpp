// Parsing of a size as people write it, before any table is consulted.
#pragma once

#include <compare>
#include <cstdint>
#include <string_view>

#include "sievecloth/length.hpp"
#include "sievecloth/result.hpp"

namespace sievecloth {

/// A non-negative number as a fraction, so that alternative designations compare by value. Both parts are below 10^16.
struct Ratio {
  std::int64_t numerator = 0;
  std::int64_t denominator = 1;

  friend std::strong_ordering operator<=>(const Ratio& a, const Ratio& b) noexcept {
    const int128 left = static_cast<int128>(a.numerator) * b.denominator;
    const int128 right = static_cast<int128>(b.numerator) * a.denominator;
    return left < right ? std::strong_ordering::less : left > right ? std::strong_ordering::greater : std::strong_ordering::equal;
  }
  friend bool operator==(const Ratio& a, const Ratio& b) noexcept { return (a <=> b) == 0; }
};

struct SizeText {
  enum class Kind : std::uint8_t { length, sieve_number, inch, bare, mesh, micron, measured_inch };
  Kind kind = Kind::bare;
  Length length;          ///< for Kind::length and Kind::micron
  Ratio value;            ///< for the other kinds
  bool fraction = false;  ///< written as `3/8` or `3 1/2`

  bool is_alternative() const noexcept { return kind == Kind::sieve_number || kind == Kind::inch; }
};

/// The expected spellings, for error messages about a size.
inline constexpr std::string_view k_spellings =
    "a nominal aperture (75 um, 0.075 mm) or an alternative designation (No. 200, 3/8 in.)";

/// Parses the spellings that `find_size` lists, and also what people write that names no size: a bare number or fraction, a mesh
/// count (`200 mesh`, `mesh 200`, `200#`), thousandths of an inch (`2.9 thou`, `2.9 mil`), and what is no name of the micrometre
/// (`25 micron`, `25 mic`, `25 u`).
/// Errors: malformed_size; ambiguous_size (a comma before three digits without a lone 0 before it).
Result<SizeText> parse_size(std::string_view text);

}  // namespace sievecloth
