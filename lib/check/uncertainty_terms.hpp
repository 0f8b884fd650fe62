// Whether the uncertainties of a piece can be, and may be stated by the laboratory.
#pragma once

#include "sievecloth/assessment.hpp"
#include "sievecloth/job.hpp"

namespace sievecloth {

/// Errors: wrong_value (an uncertainty that is not below the nominal aperture, or a figure that is certified below the laboratory's
/// accredited capability: ILAC-P14:09/2020, 5.4).
Result<void> check_uncertainties(const Job& job, const Assessment& assessment);

/// Adds cautions about uncertainties that are stated too small, or too large to decide anything.
void warn_of_uncertainties(Assessment& assessment);

}  // namespace sievecloth
