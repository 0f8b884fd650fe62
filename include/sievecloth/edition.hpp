// The table of one edition of a standard: its sizes, limits, counts and decision rules, each with where it comes from.
#pragma once

#include <algorithm>
#include <array>
#include <concepts>
#include <cstddef>
#include <cstdint>
#include <iosfwd>
#include <limits>
#include <optional>
#include <span>
#include <stdexcept>
#include <string_view>
#include <vector>

#include "sievecloth/length.hpp"
#include "sievecloth/result.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// How well a number is known. docs/tables.md explains each word.
enum class Provenance : std::uint8_t { seen, confirmed, second_hand, computed, inferred, doubtful, memory };
/// All of them in their order.
inline constexpr std::array k_provenances{Provenance::seen,     Provenance::confirmed, Provenance::second_hand,
                                          Provenance::computed, Provenance::inferred,  Provenance::doubtful,
                                          Provenance::memory};

/// `seen`, `confirmed`, `second-hand`, `computed`, `inferred`, `doubtful`, `memory`.
std::string_view to_text(Provenance provenance) noexcept;

/// A verdict that rests on anything that is not verified is provisional. Verified: seen, or computed from what was seen.
constexpr bool is_verified(Provenance provenance) noexcept {
  return provenance == Provenance::seen || provenance == Provenance::computed;
}

/// Where a number or a rule comes from: how well it is known, and an index into the edition's `sources`.
struct Basis {
  Provenance provenance = Provenance::memory;  ///< how well it is known
  std::uint8_t source = 0;                     ///< index into the edition's `sources`
};

/// A limit of the table [pm].
struct Limit {
  Length value;  ///< the limit itself [pm]
  Basis basis;   ///< where it comes from
};

/// Apertures to measure in each direction; `k_all` stands for every full aperture.
struct Count {
  std::int64_t value = 0;  ///< readings, or `k_all`
  Basis basis;             ///< where it comes from
};
/// Every full aperture of the piece.
inline constexpr std::int64_t k_all = std::numeric_limits<std::int64_t>::max();

/// How strictly a piece is checked.
enum class Grade : std::uint8_t { compliance, inspection, calibration };
/// All grades in their order.
inline constexpr std::array k_grades{Grade::compliance, Grade::inspection, Grade::calibration};

/// `compliance`, `inspection`, `calibration`.
std::string_view to_text(Grade grade) noexcept;
/// Errors: unknown_grade.
Result<Grade> parse_grade(std::string_view text);

/// One value per grade; an edition without grades keeps its one value in all three.
template <class T>
struct PerGrade {
  std::array<T, 3> values{};  ///< in the order of Grade
  /// The value of a grade.
  constexpr const T& operator[](Grade grade) const noexcept { return values[static_cast<std::size_t>(grade)]; }
  /// The value of a grade.
  constexpr T& operator[](Grade grade) noexcept { return values[static_cast<std::size_t>(grade)]; }
};

/// Wire diameter: the preferred (or typical) one and the permitted range of a direction's mean, both ends included.
struct WireRange {
  Limit preferred;  ///< wire diameter that the size is woven with
  Limit minimum;    ///< smallest mean of a direction
  Limit maximum;    ///< largest mean of a direction
};

/// What a size is called. The text lies in the row itself: tables without addresses cost nothing when a program is loaded.
class Designation {
 public:
  static constexpr std::size_t k_longest = 23;  ///< as any Length is written, up to 2^63 pm [bytes]

  /// An empty one.
  constexpr Designation() = default;
  /// A text of up to k_longest bytes. Throws std::length_error where it is longer.
  template <std::convertible_to<std::string_view> Text>
  constexpr Designation(const Text& text) : Designation(std::string_view(text), nullptr) {}

  /// The text; it lives as long as this.
  constexpr std::string_view text() const noexcept { return {text_.data(), size_}; }
  /// The same.
  constexpr operator std::string_view() const noexcept { return text(); }
  /// Whether it has no text.
  constexpr bool empty() const noexcept { return size_ == 0; }

  /// Byte by byte.
  friend constexpr bool operator==(const Designation& a, std::string_view b) noexcept { return a.text() == b; }
  /// Writes the text to a stream.
  template <class Traits>
  friend std::basic_ostream<char, Traits>& operator<<(std::basic_ostream<char, Traits>& out, const Designation& designation) {
    return out << designation.text();
  }

 private:
  constexpr Designation(std::string_view text, std::nullptr_t) : size_(static_cast<std::uint8_t>(text.size())) {
    if (text.size() > k_longest) throw std::length_error("a designation of more than 23 bytes");
    std::copy(text.begin(), text.end(), text_.begin());
  }

  std::array<char, k_longest> text_{};
  std::uint8_t size_ = 0;
};

/// One size. What an edition does not ask of a size is empty.
struct Row {
  Length nominal;                           ///< nominal aperture w
  Designation designation;                  ///< `75 \u00b5m`
  Designation alternative;                  ///< `No. 200`, `3/8 in.`; empty where the edition has none
  Limit average_tolerance;                  ///< Y: the mean of a direction lies within w - Y .. w + Y
  Limit maximum_tolerance;                  ///< X: no aperture above w + X
  std::optional<Limit> intermediate_limit;  ///< w + Z, or the size that 5 % may exceed: an aperture, not a tolerance
  PerGrade<std::optional<Limit>> standard_deviation_limit;  ///< of a direction's apertures
  PerGrade<std::optional<Count>> counts;                    ///< apertures to measure in each direction
  WireRange wire;                                           ///< wires of this size

  /// w - Y.
  constexpr Length smallest_mean() const noexcept { return nominal - average_tolerance.value; }
  /// w + Y.
  constexpr Length largest_mean() const noexcept { return nominal + average_tolerance.value; }
  /// w + X.
  constexpr Length largest_aperture() const noexcept { return nominal + maximum_tolerance.value; }
};

/// What a count of apertures grows with.
enum class CountScale : std::uint8_t {
  fixed,          ///< with nothing
  sieving_area,   ///< n = n200 (D / 200 mm)^2, rounded up, for a sieve of diameter D
  area_of_cloth,  ///< per 100 square feet of cloth, upwards only
};

/// How the spread of a direction is judged.
struct SpreadRule {
  bool factor =
      false;  ///< false: s <= limit. true: K s <= limit, K = sqrt((n - 1) / chi2_tail(n - 1)), K = 1 when all were measured
  bool settled = true;  ///< false: whether K applies was not seen: above the limit with K and within it without is undecided
  /// The lower tail of chi-square that K is taken from, in millionths: 5000 stands for 0.005. Per grade.
  PerGrade<std::int32_t> tail_millionths;
  Basis basis;  ///< where it comes from
};

/// How many apertures may lie above the intermediate limit.
struct ShareRule {
  std::int32_t percent = 0;  ///< at most so many of 100 apertures of a direction above the intermediate limit
  Basis basis;               ///< where it comes from
};

/// How finely an instrument has to read.
struct ResolutionRule {
  Length floor;                          ///< never required finer than this (1 um)
  std::int32_t fraction_of_average = 4;  ///< the instrument resolves Y / this, or `floor`, whichever is greater
  Basis basis;                           ///< where it comes from
};

/// What the counts grow with.
struct ScaleRule {
  PerGrade<CountScale> scale;  ///< for each grade
  Basis basis;                 ///< where it comes from
};

/// How an edition decides.
struct Rules {
  bool graded = true;                        ///< false: the edition knows no grades, and asking for one is an error
  SpreadRule spread;                         ///< how the spread is judged
  std::optional<ShareRule> share;            ///< how many apertures may lie above the intermediate limit
  std::optional<ResolutionRule> resolution;  ///< how finely an instrument has to read
  ScaleRule counts;                          ///< what counts grow with
  Count wire_count;                          ///< wires to measure in each direction
};

/// What numbers were taken from.
struct Source {
  std::string_view id;     ///< as in tables/sources.yaml
  std::string_view title;  ///< what to look up
};

/// A correction of the source, or a doubtful value.
struct Erratum {
  std::span<const Length> sizes;  ///< nominal apertures of the rows that it concerns
  std::string_view value;         ///< what it concerns in them: `wire.maximum`, or `wire` for all three
  std::string_view where;         ///< both in words, such as `19 mm, wire.maximum`
  std::string_view date;          ///< ISO 8601
  std::string_view printed;       ///< what the source prints; empty where nothing
  std::string_view used;          ///< what the table uses
  std::string_view reason;        ///< why

  /// Whether it speaks of this row.
  constexpr bool concerns(const Row& row) const noexcept {
    return std::find(sizes.begin(), sizes.end(), row.nominal) != sizes.end();
  }
};

/// A value of an owner's table that cannot be right, and that no erratum of the table explains.
struct ImplausibleValue {
  Length nominal;          ///< of the row
  std::string_view value;  ///< `wire.maximum`
  std::string_view text;   ///< what looks wrong
};

/// A whole edition: views into tables built in, or into a TableFile that must outlive it.
struct Edition {
  std::string_view name;                     ///< `astm-e11-17`
  std::string_view title;                    ///< `ASTM E11-17`
  std::string_view rests_on;                 ///< one sentence: what the numbers of this table were taken from
  std::string_view table_set;                ///< version of the table set it belongs to; an owner's own table says so
  Rules rules;                               ///< how this edition decides
  std::span<const Row> rows;                 ///< nominal apertures from the largest to the smallest
  std::span<const Source> sources;           ///< what Basis::source counts through
  std::span<const Erratum> errata;           ///< corrections and doubtful values, as listed in the table
  std::span<const ImplausibleValue> doubts;  ///< what looks like typing errors; a verdict on such a row is undecided

  /// What a number was taken from.
  constexpr const Source& source(Basis basis) const noexcept { return sources[basis.source]; }
  /// The errata that concern a row, in the order of the table.
  std::vector<const Erratum*> errata_of(const Row& row) const;
  /// What looks like typing errors in a row, in the order of the checks.
  std::vector<const ImplausibleValue*> implausible_values_of(const Row& row) const;
};

/// The editions built in, by standard and then by year. No allocation; thread-safe.
std::span<const Edition* const> built_in_editions() noexcept;

/// Looks `name` up among the editions built in; there is no latest edition that a bare name could mean.
/// Errors: edition_missing (a standard without its edition), unknown_standard; both list the names there are.
Result<const Edition*> find_edition(std::string_view name);
/// The same, and then among an owner's editions, by exactly their names.
Result<const Edition*> find_edition(std::string_view name, std::span<const Edition* const> owners);

}  // namespace sievecloth
