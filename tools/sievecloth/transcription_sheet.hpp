// The sheet on which one person copies an edition from the standard: a row for each size and for each rule.
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "sievecloth/edition.hpp"

namespace sievecloth::tool {

/// What may be written into a cell.
enum class Holds : std::uint8_t { designation, length, count, number, yes_or_no, spread, scale };

/// A column of the sizes, or a rule.
struct SheetItem {
  std::string_view head;  ///< as a person finds it in the standard
  std::string_view name;  ///< of the value or rule in tables and errata
  Holds holds;
  bool rule = false;
};

/// Columns in the order of a table's keys, then rules.
inline constexpr std::array k_sheet_items{
    SheetItem{"alternative designation", "alternative", Holds::designation},
    SheetItem{"Y: tolerance of the average (+/-)", "average_tolerance", Holds::length},
    SheetItem{"X: tolerance of the largest (+)", "maximum_tolerance", Holds::length},
    SheetItem{"w + X: maximum individual opening", "maximum_individual", Holds::length},
    SheetItem{"w + Z: intermediate limit", "intermediate_limit", Holds::length},
    SheetItem{"standard deviation", "standard_deviation_limit", Holds::length},
    SheetItem{"standard deviation (compliance)", "standard_deviation_limit.compliance", Holds::length},
    SheetItem{"standard deviation (inspection)", "standard_deviation_limit.inspection", Holds::length},
    SheetItem{"standard deviation (calibration)", "standard_deviation_limit.calibration", Holds::length},
    SheetItem{"openings to measure", "counts", Holds::count},
    SheetItem{"openings to measure (compliance)", "counts.compliance", Holds::count},
    SheetItem{"openings to measure (inspection)", "counts.inspection", Holds::count},
    SheetItem{"openings to measure (calibration)", "counts.calibration", Holds::count},
    SheetItem{"wire diameter: preferred (typical)", "wire.preferred", Holds::length},
    SheetItem{"wire diameter: smallest", "wire.minimum", Holds::length},
    SheetItem{"wire diameter: largest", "wire.maximum", Holds::length},
    SheetItem{"rule: grades (yes or no)", "graded", Holds::yes_or_no, true},
    SheetItem{"rule: what the standard deviation limit is compared with (s or K s)", "spread", Holds::spread, true},
    SheetItem{"rule: lower tail of chi-square for K (compliance)", "spread", Holds::number, true},
    SheetItem{"rule: lower tail of chi-square for K (inspection)", "spread", Holds::number, true},
    SheetItem{"rule: lower tail of chi-square for K (calibration)", "spread", Holds::number, true},
    SheetItem{"rule: percent of openings that may exceed w + Z", "share", Holds::number, true},
    SheetItem{"rule: resolution never required finer than", "resolution", Holds::length, true},
    SheetItem{"rule: resolution required is Y divided by", "resolution", Holds::number, true},
    SheetItem{"rule: number of openings is (compliance) fixed / sieving area / area of cloth", "count_scale", Holds::scale, true},
    SheetItem{"rule: number of openings is (inspection) fixed / sieving area / area of cloth", "count_scale", Holds::scale, true},
    SheetItem{"rule: number of openings is (calibration) fixed / sieving area / area of cloth", "count_scale", Holds::scale, true},
    SheetItem{"rule: wires to measure in each direction", "wire_count", Holds::count, true},
};

/// A filled cell: lengths in micrometres without trailing zeros, words as tables spell them, so that equal cells are equal texts.
struct CopiedCell {
  std::string text;
  Where where;
};
/// The filled cells of a size by their index in k_sheet_items, from the largest size; the rules come last, at length 0.
using CopiedRows = std::map<Length, std::map<std::size_t, CopiedCell>, std::greater<>>;

/// A sheet to fill in, as CSV. `like`: whose columns it has; all columns if null. Another order is the same for the same sizes.
std::string blank_sheet(const Edition* like, std::vector<Length> sizes, bool shuffled);

/// Reads a sheet. Errors: of the 2xx family, with file, line and column.
Result<CopiedRows> read_sheet(std::string_view text, const std::string& file);

}  // namespace sievecloth::tool
