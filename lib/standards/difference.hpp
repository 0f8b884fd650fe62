// What differs between two editions, value by value.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "sievecloth/edition.hpp"

namespace sievecloth {

/// A value that one edition has otherwise than the other, or not at all.
struct Difference {
  const Row* row = nullptr;  ///< of the second edition, or of the first where only that has the size; none for a rule
  std::string_view value;    ///< by its name in tables; `nominal` for a size that only one edition has
  std::string first;         ///< lengths in um; empty where the first edition has none
  std::string second;        ///< the same for the second
};

/// In this order: the rules; sizes from the largest to the smallest, each with its values in the order of tables.
std::vector<Difference> differences(const Edition& first, const Edition& second);

}  // namespace sievecloth
