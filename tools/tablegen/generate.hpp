// Writes editions as C++ that needs no start-up code.
#pragma once

#include <string>
#include <vector>

#include "sievecloth/edition.hpp"

namespace sievecloth::tablegen {

/// The source of `built_in_editions()`, by standard and then by year: ASCII, constants alone.
std::string generate(std::vector<const Edition*> editions);

}  // namespace sievecloth::tablegen
