// The values of a row by their names in tables.
#pragma once

#include <array>
#include <string>
#include <string_view>
#include <vector>

#include "sievecloth/edition.hpp"

namespace sievecloth {

/// Values and rules that an erratum can concern. `wire` and `standard_deviation_limit` cover all of theirs.
inline constexpr auto k_value_names = std::to_array<std::string_view>({
    "nominal",
    "alternative",
    "average_tolerance",
    "maximum_tolerance",
    "intermediate_limit",
    "standard_deviation_limit",
    "standard_deviation_limit.compliance",
    "standard_deviation_limit.inspection",
    "standard_deviation_limit.calibration",
    "counts",
    "counts.compliance",
    "counts.inspection",
    "counts.calibration",
    "wire",
    "wire.preferred",
    "wire.minimum",
    "wire.maximum",
    "wire_count",
    "graded",
    "spread",
    "share",
    "resolution",
    "count_scale",
});

/// Those of them that are rules of the edition, the same in every row.
inline constexpr auto k_rule_names =
    std::to_array<std::string_view>({"graded", "spread", "share", "resolution", "count_scale", "wire_count"});

/// Returns the values that `name` covers in a row, each once: lengths in micrometres, counts as numbers, `all` for every aperture.
/// Empty if the row has none. `wire` yields the preferred diameter only, which determines its range. The rules are the
/// edition's, in the words of tables: `s`, `1 um or Y/4`, `fixed / fixed / sieving_area`.
std::vector<std::string> values_named(const Edition& edition, const Row& row, std::string_view name);

}  // namespace sievecloth
