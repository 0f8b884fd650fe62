// The values of an enumeration, counted by their words.
#pragma once

#include <cstddef>

namespace sievecloth {

/// How many values an enumeration has. Each module has a `names.hpp` whose `word_of(value)` is a switch without default, so that a
/// value without its word does not compile; what is no value has no word, and so the words can be counted.
template <class Enum>
consteval std::size_t enumerator_count() {
  std::size_t count = 0;
  while (!word_of(static_cast<Enum>(count)).empty()) ++count;
  return count;
}

}  // namespace sievecloth
