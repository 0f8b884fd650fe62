#include "sievecloth/result.hpp"

#include <fmt/format.h>

#include "base/text.hpp"

namespace sievecloth {

std::string printable(std::string_view text, std::size_t limit) {
  std::string safe;
  while (!text.empty() && safe.size() < limit) {
    const std::size_t length = utf8_length(text);
    const auto first = static_cast<unsigned char>(text.front());
    const bool control =
        first < 0x20 || first == 0x7F || (first == 0xC2 && length == 2 && static_cast<unsigned char>(text[1]) < 0xA0);
    if (length == 0 || control) {
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
