// Measurement uncertainty, confidence and the weave on paper: both directions side by side.
#pragma once

#include <vector>

#include "report/report_context.hpp"

namespace sievecloth {

/// Notes, the figures of the whole piece, and a table of the others with a column for each direction.
std::vector<Block> confidence_blocks(const ReportContext& of, const Diagnosis& diagnosis);

/// What was tested and found nothing, in sentences, and a table of the signs found.
std::vector<Block> weave_blocks(const ReportContext& of, const Diagnosis& diagnosis);

}  // namespace sievecloth
