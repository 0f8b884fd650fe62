// The table of one edition of a standard: its sizes, limits, counts and decision rules, each with its source.
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

/// How well a value is established. docs/tables.md explains each word.
enum class Provenance : std::uint8_t { seen, confirmed, second_hand, computed, inferred, doubtful, memory };
/// All of them in their order.
inline constexpr std::array k_provenances{Provenance::seen,     Provenance::confirmed, Provenance::second_hand,
                                          Provenance::computed, Provenance::inferred,  Provenance::doubtful,
                                          Provenance::memory};

/// `seen`, `confirmed`, `second-hand`, `computed`, `inferred`, `doubtful`, `memory`.
std::string_view to_text(Provenance provenance) noexcept;

/// Verified: seen, or computed from what was seen. A verdict that rests on anything unverified is provisional.
constexpr bool is_verified(Provenance provenance) noexcept {
  return provenance == Provenance::seen || provenance == Provenance::computed;
}

/// Where a value or rule comes from, and how well it is established.
struct Basis {
  Provenance provenance = Provenance::memory;  ///< how well it is established
  std::uint8_t source = 0;                     ///< index into the edition's `sources`
};

/// A limit of the table [pm].
struct Limit {
  Length value;  ///< the limit itself [pm]
  Basis basis;   ///< where it comes from
};

/// Apertures to measure in each direction; `k_all` means every full aperture.
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

/// One value per grade; an edition without grades holds its one value in all three.
template <class T>
struct PerGrade {
  std::array<T, 3> values{};  ///< in the order of Grade
  /// The value of a grade.
  constexpr const T& operator[](Grade grade) const noexcept { return values[static_cast<std::size_t>(grade)]; }
  /// The value of a grade.
  constexpr T& operator[](Grade grade) noexcept { return values[static_cast<std::size_t>(grade)]; }
};

/// Wire diameter: the preferred (or typical) one and the permitted range of the mean of a direction, both ends included.
struct WireRange {
  Limit preferred;  ///< preferred or typical diameter
  Limit minimum;    ///< smallest mean of a direction
  Limit maximum;    ///< largest mean of a direction
};

/// The name of a size. The text is stored in the row itself: tables without pointers cost nothing at load time.
class Designation {
 public:
  static constexpr std::size_t k_longest = 23;  ///< fits any Length, up to 2^63 pm [bytes]

  /// An empty name.
  constexpr Designation() = default;
  /// A text of up to k_longest bytes. Throws std::length_error if it is longer.
  template <std::convertible_to<std::string_view> Text>
  constexpr Designation(const Text& text) : Designation(std::string_view(text), nullptr) {}

  /// The text; valid as long as this object.
  constexpr std::string_view text() const noexcept { return {text_.data(), size_}; }
  /// The same.
  constexpr operator std::string_view() const noexcept { return text(); }
  /// True if there is no text.
  constexpr bool empty() const noexcept { return size_ == 0; }

  /// Compares byte by byte.
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

/// One size. What the edition does not require of it is empty.
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

/// How a required count of apertures scales.
enum class CountScale : std::uint8_t {
  fixed,          ///< not at all
  sieving_area,   ///< n = n200 (D / 200 mm)^2, rounded up, for a sieve of diameter D
  area_of_cloth,  ///< per 100 square feet of cloth, upwards only
};

/// How the standard deviation of a direction is judged.
struct SpreadRule {
  bool factor =
      false;  ///< false: s <= limit. true: K s <= limit, K = sqrt((n - 1) / chi2_tail(n - 1)), K = 1 when all were measured
  bool settled = true;  ///< false: whether K applies is unverified: above the limit with K and within it without is undecided
  /// Lower tail probability of chi-square from which K is computed, in millionths: 5000 means 0.005. Per grade.
  PerGrade<std::int32_t> tail_millionths;
  Basis basis;  ///< where it comes from
};

/// How many apertures may lie above the intermediate limit.
struct ShareRule {
  std::int32_t percent = 0;  ///< maximum percentage of a direction's apertures above the intermediate limit
  Basis basis;               ///< where it comes from
};

/// Required resolution of the instrument.
struct ResolutionRule {
  Length floor;                          ///< never required finer than this (1 um)
  std::int32_t fraction_of_average = 4;  ///< Y / this is required, or `floor`, whichever is greater
  Basis basis;                           ///< where it comes from
};

/// How the counts scale.
struct ScaleRule {
  PerGrade<CountScale> scale;  ///< for each grade
  Basis basis;                 ///< where it comes from
};

/// The decision rules of an edition.
struct Rules {
  bool graded = true;                        ///< false: the edition has no grades, and specifying one is an error
  SpreadRule spread;                         ///< how the standard deviation is judged
  std::optional<ShareRule> share;            ///< how many apertures may lie above the intermediate limit
  std::optional<ResolutionRule> resolution;  ///< required resolution of the instrument
  ScaleRule counts;                          ///< how the counts scale
  Count wire_count;                          ///< wires to measure in each direction
};

/// A source that values were taken from.
struct Source {
  std::string_view id;     ///< as in tables/sources.yaml
  std::string_view title;  ///< title to look up
};

/// A correction of the source, or a doubtful value.
struct Erratum {
  std::span<const Length> sizes;  ///< nominal apertures of the rows concerned
  std::string_view value;         ///< value concerned: `wire.maximum`, or `wire` for all three
  std::string_view where;         ///< sizes and value in words, such as `19 mm, wire.maximum`
  std::string_view date;          ///< ISO 8601
  std::string_view printed;       ///< what the source prints; empty if nothing
  std::string_view used;          ///< what the table uses
  std::string_view reason;        ///< why

  /// True if it concerns this row.
  constexpr bool concerns(const Row& row) const noexcept {
    return std::find(sizes.begin(), sizes.end(), row.nominal) != sizes.end();
  }
};

/// An implausible value of an owner's table that no erratum of the table explains.
struct ImplausibleValue {
  Length nominal;          ///< of the row
  std::string_view value;  ///< `wire.maximum`
  std::string_view text;   ///< what looks wrong
};

/// A complete edition: views into the built-in tables, or into a TableFile that must outlive it.
struct Edition {
  std::string_view name;                     ///< `astm-e11-17`
  std::string_view title;                    ///< `ASTM E11-17`
  std::string_view rests_on;                 ///< one sentence: where the values of this table were taken from
  std::string_view table_set;                ///< version of the table set it belongs to, or a note that it is an owner's table
  Rules rules;                               ///< how this edition decides
  std::span<const Row> rows;                 ///< nominal apertures from the largest to the smallest
  std::span<const Source> sources;           ///< indexed by Basis::source
  std::span<const Erratum> errata;           ///< corrections and doubtful values, as listed in the table
  std::span<const ImplausibleValue> doubts;  ///< apparent typing errors; a verdict on such a row is undecided
  bool transcribed = false;                  ///< two people copied it from the standard: it may bear a built-in edition's name

  /// The source of a value.
  constexpr const Source& source(Basis basis) const noexcept { return sources[basis.source]; }
  /// The errata that concern a row, in the order of the table.
  std::vector<const Erratum*> errata_of(const Row& row) const;
  /// The apparent typing errors in a row, in the order of the checks.
  std::vector<const ImplausibleValue*> implausible_values_of(const Row& row) const;
};

/// The built-in editions, by standard and then by year. No allocation; thread-safe.
std::span<const Edition* const> built_in_editions() noexcept;

/// Looks up `name` among the built-in editions; the name of a standard alone never means its latest edition.
/// Errors: edition_missing (a standard without its edition), unknown_standard; both list the available names.
Result<const Edition*> find_edition(std::string_view name);
/// The same, then among an owner's editions, whose names must match exactly. A transcription comes before the edition it lies over.
Result<const Edition*> find_edition(std::string_view name, std::span<const Edition* const> owners);

}  // namespace sievecloth
