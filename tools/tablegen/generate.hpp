// Writes editions as C++ that needs no start-up code.
#pragma once

#include <span>
#include <string>

#include "sievecloth/edition.hpp"

namespace sievecloth::tablegen {

/// The source of `built_in_editions()`, in the order given: ASCII, constants alone.
std::string generate(std::span<const Edition* const> editions);

}  // namespace sievecloth::tablegen
