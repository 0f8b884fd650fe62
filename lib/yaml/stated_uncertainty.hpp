// Uncertainties that a laboratory states, in its own file or in a job.
#pragma once

#include "sievecloth/sample.hpp"
#include "yaml/yaml_file.hpp"

namespace sievecloth {

/// `expanded`, and optionally `coverage_factor` (1 to 100, 2 if absent), `coverage_probability` (in percent) and
/// `degrees_of_freedom`.
std::optional<StatedUncertainty> read_stated_uncertainty(const YamlMapping& mapping, Complaints& complaints);

/// The keys of the certified figures, as to_text(CertifiedFigure) has them.
std::vector<std::string_view> figure_keys();

/// The values of those keys in a mapping.
StatedUncertainties read_stated_uncertainties(const YamlMapping& mapping, Complaints& complaints);

}  // namespace sievecloth
