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

constexpr std::string_view word_of(CertifiedFigure value) noexcept {
  switch (value) {
    case CertifiedFigure::mean: return "mean";
    case CertifiedFigure::largest: return "largest";
    case CertifiedFigure::standard_deviation: return "standard_deviation";
    case CertifiedFigure::wire: return "wire";
  }
  return {};
}

}  // namespace sievecloth
