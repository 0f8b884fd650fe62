// Words of the standards module: one for each value of its enumerations, as used in tables, JSON and the tool.
#pragma once

#include <string_view>

#include "sievecloth/edition.hpp"

namespace sievecloth {

constexpr std::string_view word_of(Provenance value) noexcept {
  switch (value) {
    case Provenance::seen: return "seen";
    case Provenance::confirmed: return "confirmed";
    case Provenance::second_hand: return "second-hand";
    case Provenance::computed: return "computed";
    case Provenance::inferred: return "inferred";
    case Provenance::doubtful: return "doubtful";
    case Provenance::memory: return "memory";
  }
  return {};
}

constexpr std::string_view word_of(Grade value) noexcept {
  switch (value) {
    case Grade::compliance: return "compliance";
    case Grade::inspection: return "inspection";
    case Grade::calibration: return "calibration";
  }
  return {};
}

}  // namespace sievecloth
