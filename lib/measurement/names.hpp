// Words of the measurement module: one for each value of its enumerations, as used in tables, JSON and the tool.
#pragma once

#include <string_view>

#include "sievecloth/sample.hpp"

namespace sievecloth {

constexpr std::string_view word_of(Direction value) noexcept {
  switch (value) {
    case Direction::warp: return "warp";
    case Direction::weft: return "weft";
  }
  return {};
}

}  // namespace sievecloth
