// Warnings: readings that look like those of another size, or like none at all.
#pragma once

#include <vector>

#include "sievecloth/assessment.hpp"

namespace sievecloth {

/// Examines each direction separately. Advisory: no verdict rests on it.
std::vector<Warning> find_warnings(const Specification& specification, const Sample& sample, const Piece& piece);

}  // namespace sievecloth
