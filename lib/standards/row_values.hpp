// The numbers of a row by the names that tables give them.
#pragma once

#include <array>
#include <string>
#include <string_view>
#include <vector>

#include "sievecloth/edition.hpp"

namespace sievecloth {

/// What an erratum can speak of. `wire` and `standard_deviation_limit` stand for all of theirs.
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

/// The numbers that `name` stands for in a row, each once: lengths in micrometres, counts as such, `all` for every aperture.
/// Empty where the row has none; of `wire` the preferred diameter alone, which its range follows. The count of wires is the
/// edition's.
std::vector<std::string> values_named(const Edition& edition, const Row& row, std::string_view name);

}  // namespace sievecloth
