// Resolves a size, as people write it, to a row of an edition.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <variant>

#include "sievecloth/edition.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// What a piece is checked against: a row of an edition and, where the edition has grades, the grade.
struct Specification {
  const Edition* edition = nullptr;  ///< must outlive the specification
  const Row* row = nullptr;          ///< one of the edition's rows
  std::optional<Grade> grade;        ///< empty if and only if the edition has no grades

  /// The grade to look up values with; in an edition without grades all three hold the same.
  constexpr Grade lookup_grade() const noexcept { return grade.value_or(Grade::inspection); }
};

/// Finds a size in an edition. Spellings: `75um`, `75 \u00b5m` (U+00B5 or U+03BC), `0.075 mm`, `0,075 mm`, `No. 200`, `#200`, `No.
/// 3 1/2`, `3/8 in.`, `1 1/2 in`, `1.06 in.`. Numbers compare by value; the blank before a unit is optional. A sieve number or a
/// size in inches is an alternative designation, never a length.
/// Errors: malformed_size; ambiguous_size (a bare number, or a comma before exactly three digits unless a lone 0 precedes it; lists
/// the possible meanings); unknown_size (lists the nearest sizes above and below and, for an alternative designation in an edition
/// without them, the size it names elsewhere).
Result<const Row*> find_size(const Edition& edition, std::string_view size);

/// Returns the nominal aperture that a size names in any of the built-in editions: 75 um for `#200`.
/// Errors: those of `find_size`, with suggestions from all editions.
Result<Length> find_nominal(std::string_view size);

/// Combines edition, size and grade.
/// Errors: those of `find_size`; grade_missing; grade_not_in_edition.
Result<Specification> specify(const Edition& edition, std::string_view size, std::optional<Grade> grade);

}  // namespace sievecloth
