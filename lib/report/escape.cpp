#include "report/escape.hpp"

#include <fmt/format.h>

#include "sievecloth/result.hpp"

namespace sievecloth {

std::string escaped_html(std::string_view text) {
  std::string safe;
  safe.reserve(text.size());
  for (const char c : text) {
    switch (c) {
      case '&': safe += "&amp;"; break;
      case '<': safe += "&lt;"; break;
      case '>': safe += "&gt;"; break;
      case '"': safe += "&quot;"; break;
      case '\'': safe += "&#39;"; break;
      default: safe += c;
    }
  }
  return safe;
}

std::string quoted_css(std::string_view text) {
  std::string safe = "\"";
  for (const char c : text) {
    const bool plain = static_cast<unsigned char>(c) >= 0x80 || c == ' ' || (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') ||
                       (c >= 'a' && c <= 'z');
    if (plain) {
      safe += c;
    } else {
      safe += fmt::format("\\{:x} ", static_cast<unsigned>(static_cast<unsigned char>(c)));
    }
  }
  return safe + "\"";
}

std::string escaped_markdown(std::string_view text) {
  constexpr std::string_view k_markup = "\\`*_[]<>|~&$!#";
  std::string safe;
  for (const char c : text) {
    if (k_markup.find(c) != std::string_view::npos) safe += '\\';
    safe += c;
  }
  return safe;
}

std::string csv_cell(std::string_view text) {
  std::string safe;
  if (!text.empty() && std::string_view("=+-@\t\r").find(text.front()) != std::string_view::npos) safe += '\'';
  safe += printable(text, std::string::npos);
  if (safe.find_first_of(",;\"\r\n\t") == std::string::npos) return safe;
  std::string quoted = "\"";
  for (const char c : safe) quoted += c == '"' ? std::string("\"\"") : std::string(1, c);
  return quoted + "\"";
}

}  // namespace sievecloth
