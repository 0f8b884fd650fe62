// The values of a row by their names in tables.
#pragma once

#include <array>
#include <string>
#include <string_view>
#include <vector>

#include "sievecloth/edition.hpp"

namespace sievecloth {

/// Values that an erratum can concern. `wire` and `standard_deviation_limit` cover all of theirs.
inline constexpr auto k_value_names = std::to_array<std::string_view>({
    "average_tolerance",
    "maximum_tolerance",
    "intermediate_limit",
    "standard_deviation_limit",
    "standard_deviation_limit.compliance",
    "standard_deviation_limit.inspection",
    "standard_deviation_limit.calibration",
    "counts.compliance",
    "counts.inspection",
    "counts.calibration",
    "wire",
    "wire.preferred",
    "wire.minimum",
    "wire.maximum",
    "wire_count",
});

/// Returns the values that `name` covers in a row, each once: lengths in micrometres, counts as numbers, `all` for every aperture.
/// Empty if the row has none. `wire` yields the preferred diameter only, which determines its range. The wire count is the
/// edition's.
std::vector<std::string> values_named(const Edition& edition, const Row& row, std::string_view name);

}  // namespace sievecloth
