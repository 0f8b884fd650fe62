// CRC-64/XZ: tells a damaged snapshot from a whole one, and one specification from another.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>

#include <boost/crc.hpp>

namespace sievecloth {

/// Detects every change of up to 64 consecutive bits, and any two flipped bits, in texts of this length.
/// Source: ECMA-182 polynomial, reflected; the check value of "123456789" is 0x995DC9BBDF1939FA.
class Checksum {
 public:
  void add(std::span<const std::byte> bytes) noexcept { crc_.process_bytes(bytes.data(), bytes.size()); }
  std::uint64_t value() const noexcept { return crc_.checksum(); }

 private:
  static constexpr std::uint64_t k_polynomial = 0x42F0E1EBA9EA3693;
  static constexpr std::uint64_t k_ones = ~std::uint64_t{0};
  boost::crc_optimal<64, k_polynomial, k_ones, k_ones, true, true> crc_;
};

}  // namespace sievecloth
