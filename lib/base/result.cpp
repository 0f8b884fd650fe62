#include "sievecloth/result.hpp"

#include <algorithm>
#include <cstdint>

#include <fmt/format.h>

#include "base/text.hpp"

namespace sievecloth {

namespace {

// Marks that join or turn letters, or choose a glyph: some writing needs them, and in a message they hide the difference of two
// words.
bool is_joiner(char32_t c) { return c == 0x34F || (c >= 0x200C && c <= 0x200F) || (c >= 0xFE00 && c <= 0xFE0F); }

}  // namespace

std::string printable(std::string_view text, std::size_t limit) {
  std::string safe;
  while (!text.empty() && safe.size() < limit) {
    const std::size_t length = utf8_length(text);
    const std::string_view character = text.substr(0, std::max<std::size_t>(length, 1));
    const char32_t code = length == 0 ? 0 : code_point(character);
    if (length == 0 || code < 0x80) {
      const bool plain = length == 1 && !is_invisible(code);
      safe += plain ? std::string(character) : fmt::format("\\x{:02x}", static_cast<unsigned char>(character.front()));
    } else {
      safe += is_invisible(code) || is_odd_blank(code) || is_joiner(code)
                  ? fmt::format("<U+{:04X}>", static_cast<std::uint32_t>(code))
                  : std::string(character);
    }
    text.remove_prefix(character.size());
  }
  if (!text.empty()) safe += "...";
  return safe;
}

std::string to_text(const Error& error) {
  std::string text;
  const Where& where = error.where;
  if (!where.file.empty()) {
    text = printable(where.file, 4096);
    if (where.line > 0) text += fmt::format(":{}:{}", where.line, where.column);
    text += ": ";
  }
  text += error.message;
  if (!error.found.empty()) text += fmt::format(": found '{}'", error.found);
  if (!error.expected.empty()) text += fmt::format("{} expected {}", error.found.empty() ? ":" : ",", error.expected);
  return text;
}

ErrorException::ErrorException(Errors errors) : std::runtime_error(to_text(errors.at(0))), errors_(std::move(errors)) {}

}  // namespace sievecloth
