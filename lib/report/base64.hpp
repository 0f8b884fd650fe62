// Bytes as text (RFC 4648).
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace sievecloth {

inline std::string base64(std::string_view bytes) {
  constexpr std::string_view k_digits = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string text;
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    std::uint32_t group = 0;
    for (std::size_t j = 0; j < 3; ++j)
      group = group << 8 | (i + j < bytes.size() ? static_cast<std::uint32_t>(static_cast<unsigned char>(bytes[i + j])) : 0u);
    for (std::size_t j = 0; j < 4; ++j) text += i + j <= bytes.size() ? k_digits[group >> (18 - 6 * j) & 63] : '=';
  }
  return text;
}

}  // namespace sievecloth
