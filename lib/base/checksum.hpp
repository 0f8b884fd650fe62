// CRC-64/XZ: tells a damaged snapshot from a whole one, and one specification from another.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>

namespace sievecloth {

/// Every change of up to 64 bits in a row, and any two flipped bits, change the checksum of a text of this length.
/// Source: ECMA-182 polynomial, reflected; the check value of "123456789" is 0x995DC9BBDF1939FA.
class Checksum {
 public:
  void add(std::span<const std::byte> bytes) noexcept {
    for (const std::byte byte : bytes) {
      remainder_ ^= static_cast<std::uint64_t>(byte);
      for (int bit = 0; bit < 8; ++bit) remainder_ = (remainder_ >> 1) ^ ((remainder_ & 1) != 0 ? k_polynomial : 0);
    }
  }
  std::uint64_t value() const noexcept { return ~remainder_; }

 private:
  static constexpr std::uint64_t k_polynomial = 0xC96C5795D7870F42;
  std::uint64_t remainder_ = ~std::uint64_t{0};
};

}  // namespace sievecloth
