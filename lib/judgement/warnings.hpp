// Readings that look like something else than the size they are checked against.
#pragma once

#include <vector>

#include "sievecloth/assessment.hpp"

namespace sievecloth {

/// At most one warning, the most likely mistake first. Advice: no verdict rests on it.
std::vector<Warning> find_warnings(const Specification& specification, const Sample& sample);

}  // namespace sievecloth
