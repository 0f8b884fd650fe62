// The number of values of an enumeration, counted by their words.
#pragma once

#include <cstddef>

namespace sievecloth {

/// Number of values of an enumeration. Each module has a `names.hpp` whose `word_of(value)` is a switch without default, so that a
/// value without a word does not compile; an invalid value has no word, so counting words counts values.
template <class Enum>
consteval std::size_t enumerator_count() {
  std::size_t count = 0;
  while (!word_of(static_cast<Enum>(count)).empty()) ++count;
  return count;
}

}  // namespace sievecloth
