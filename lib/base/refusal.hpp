// An error that allocates nothing: its text fits into the string object itself.
#pragma once

#include <cstddef>

#include "sievecloth/result.hpp"

namespace sievecloth {

/// Neither allocates nor throws: 15 characters fit into the string object of every common standard library.
template <std::size_t size>
Error refusal(ErrorCode code, const char (&message)[size]) noexcept {
  static_assert(size <= 16, "a longer text would allocate");
  return {code, message, "", "", {}};
}

}  // namespace sievecloth
