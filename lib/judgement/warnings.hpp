// Readings that look like something else than the size they are checked against, or like none at all.
#pragma once

#include <vector>

#include "sievecloth/assessment.hpp"

namespace sievecloth {

/// Each direction is looked at by itself. Advice: no verdict rests on it.
std::vector<Warning> find_warnings(const Specification& specification, const Sample& sample, const Piece& piece);

}  // namespace sievecloth
