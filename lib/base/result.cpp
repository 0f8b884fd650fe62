#include "sievecloth/result.hpp"

#include <fmt/format.h>

#include "base/text.hpp"

namespace sievecloth {

namespace {

// Characters that move the cursor, end a line or reorder the text around them: C0, DEL and C1, U+2028 and U+2029, and the
// bidirectional embeddings, overrides and isolates.
bool is_control(std::string_view character) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(character[i]); };
  if (byte(0) < 0x20 || byte(0) == 0x7F) return true;
  if (character.size() == 2) return byte(0) == 0xC2 && byte(1) < 0xA0;
  if (character.size() != 3 || byte(0) != 0xE2) return false;
  return (byte(1) == 0x80 && byte(2) >= 0xA8 && byte(2) <= 0xAE) || (byte(1) == 0x81 && byte(2) >= 0xA6 && byte(2) <= 0xA9);
}

}  // namespace

std::string printable(std::string_view text, std::size_t limit) {
  std::string safe;
  while (!text.empty() && safe.size() < limit) {
    const std::size_t length = utf8_length(text);
    if (length == 0 || is_control(text.substr(0, length))) {
      const std::size_t bytes = length == 0 ? 1 : length;
      for (std::size_t i = 0; i < bytes; ++i) safe += fmt::format("\\x{:02x}", static_cast<unsigned char>(text[i]));
      text.remove_prefix(bytes);
    } else {
      safe += text.substr(0, length);
      text.remove_prefix(length);
    }
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
