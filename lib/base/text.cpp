#include "base/text.hpp"

#include <algorithm>

namespace sievecloth {

std::string_view trimmed(std::string_view text) noexcept {
  while (!text.empty() && is_blank(text.front())) text.remove_prefix(1);
  while (!text.empty() && is_blank(text.back())) text.remove_suffix(1);
  return text;
}

std::string lower_case(std::string_view text) {
  std::string lower(text);
  for (char& c : lower) c = to_lower(c);
  return lower;
}

bool same_word(std::string_view text, std::string_view word) noexcept {
  return std::equal(text.begin(), text.end(), word.begin(), word.end(), [](char a, char b) { return to_lower(a) == b; });
}

std::size_t utf8_length(std::string_view text) noexcept {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  if (text.empty()) return 0;
  const unsigned first = byte(0);
  if (first < 0x80) return 1;
  const std::size_t length = first >= 0xC2 && first <= 0xDF   ? 2
                             : first >= 0xE0 && first <= 0xEF ? 3
                             : first >= 0xF0 && first <= 0xF4 ? 4
                                                              : 0;
  if (length == 0 || text.size() < length) return 0;
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte(i) & 0xC0) != 0x80) return 0;
  }
  const unsigned second = byte(1);
  const bool overlong = (first == 0xE0 && second < 0xA0) || (first == 0xF0 && second < 0x90);
  const bool surrogate = first == 0xED && second > 0x9F;
  const bool beyond = first == 0xF4 && second > 0x8F;
  return overlong || surrogate || beyond ? 0 : length;
}

char32_t code_point(std::string_view character) noexcept {
  const auto first = static_cast<unsigned char>(character.front());
  if (character.size() == 1) return first;
  char32_t code = first & (0x7Fu >> character.size());
  for (const char c : character.substr(1)) code = code << 6 | (static_cast<unsigned char>(c) & 0x3Fu);
  return code;
}

// Unicode 15: general categories Cc, Cf, Zl and Zp, letters and symbols without a glyph, and noncharacters; without the marks that
// Arabic, Hebrew, Indic and Persian writing needs (U+0600 to U+0605, U+06DD, U+070F, U+0890 to U+0891, U+08E2, U+200C to U+200F,
// U+110BD, U+110CD) and the variation selectors.
bool is_invisible(char32_t c) noexcept {
  const bool is_filler = c == 0x115F || c == 0x1160 || c == 0x17B4 || c == 0x17B5 || c == 0x2800 || c == 0x3164 || c == 0xFFA0;
  const bool is_noncharacter = (c & 0xFFFE) == 0xFFFE || (c >= 0xFDD0 && c <= 0xFDEF);
  return c < 0x20 || (c >= 0x7F && c < 0xA0) || c == 0xAD || c == 0x61C || (c >= 0x180B && c <= 0x180F) || c == 0x200B ||
         (c >= 0x2028 && c <= 0x202E) || (c >= 0x2060 && c <= 0x206F) || c == 0xFEFF || (c >= 0xFFF0 && c <= 0xFFFB) ||
         (c >= 0x13430 && c <= 0x1343F) || (c >= 0x1BCA0 && c <= 0x1BCA3) || c == 0x1D159 || (c >= 0x1D173 && c <= 0x1D17A) ||
         (c >= 0xE0000 && c <= 0xE0FFF) || is_filler || is_noncharacter;
}

bool is_odd_blank(char32_t c) noexcept {
  return c == 0xA0 || c == 0x1680 || (c >= 0x2000 && c <= 0x200A) || c == 0x202F || c == 0x205F || c == 0x3000;
}

std::size_t utf8_prefix(std::string_view text) noexcept {
  std::size_t at = 0;
  while (at < text.size()) {
    const std::size_t length = utf8_length(text.substr(at));
    if (length == 0) break;
    at += length;
  }
  return at;
}

std::size_t character_count(std::string_view text) noexcept {
  std::size_t count = 0;
  for (std::size_t at = 0; at < text.size(); ++count) {
    const bool ascii = static_cast<unsigned char>(text[at]) < 0x80;  // most text is ASCII: tested here to save the call
    at += ascii ? 1 : std::max<std::size_t>(utf8_length(text.substr(at)), 1);
  }
  return count;
}

std::string padded(std::string_view text, std::size_t width, bool right) {
  const std::string fill(width - std::min(width, character_count(text)), ' ');
  return right ? fill + std::string(text) : std::string(text) + fill;
}

}  // namespace sievecloth
