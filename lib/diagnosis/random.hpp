// Random numbers that are the same on every platform: the C++ standard fixes the engine; the distributions are written here, since
// those of standard libraries differ.
#pragma once

#include <cstdint>
#include <random>

namespace sievecloth {

using RandomEngine = std::mt19937_64;

/// Uniform among 0 .. bound - 1, without bias. bound >= 1.
inline std::uint64_t uniform_below(RandomEngine& engine, std::uint64_t bound) {
  const std::uint64_t excess = (RandomEngine::max() % bound + 1) % bound;
  std::uint64_t drawn = engine();
  while (drawn > RandomEngine::max() - excess) drawn = engine();
  return drawn % bound;
}

/// Uniform in the open interval 0 .. 1, in steps of 2^-53.
inline double uniform_unit(RandomEngine& engine) { return (static_cast<double>(engine() >> 11) + 0.5) * 0x1p-53; }

}  // namespace sievecloth
