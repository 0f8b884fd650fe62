#include "report/json.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "base/text.hpp"

namespace sievecloth {

void JsonText::key(std::string_view name) {
  begin_value();
  quote(name);
  text_ += ": ";
  after_key_ = true;
}

void JsonText::open(Container container) {
  begin_value();
  text_ += container == Container::object ? '{' : '[';
  ++depth_;
  first_ = true;
}

void JsonText::close(Container container) {
  --depth_;
  if (!first_) begin_line();
  text_ += container == Container::object ? '}' : ']';
  first_ = false;
}

void JsonText::string(std::string_view text) {
  begin_value();
  quote(text);
}

void JsonText::word(std::string_view word) {
  begin_value();
  text_ += word;
}

// A value follows its key; any other value, and a key, begins a line.
void JsonText::begin_value() {
  if (!after_key_ && depth_ > 0) {
    if (!first_) text_ += ',';
    begin_line();
  }
  after_key_ = false;
  first_ = false;
}

void JsonText::begin_line() {
  if (layout_ == Layout::lines) text_.append("\n").append(2 * depth_, ' ');
}

// What is not UTF-8 becomes U+FFFD; what cannot be seen is written by its number.
void JsonText::quote(std::string_view text) {
  text_ += '"';
  while (!text.empty()) {
    const std::size_t length = utf8_length(text);
    const std::string_view character = text.substr(0, std::max<std::size_t>(length, 1));
    quote_character(length == 0 ? "\uFFFD" : character);
    text.remove_prefix(character.size());
  }
  text_ += '"';
}

void JsonText::quote_character(std::string_view character) {
  switch (character.front()) {
    case '"': text_ += "\\\""; return;
    case '\\': text_ += "\\\\"; return;
    case '\b': text_ += "\\b"; return;
    case '\f': text_ += "\\f"; return;
    case '\n': text_ += "\\n"; return;
    case '\r': text_ += "\\r"; return;
    case '\t': text_ += "\\t"; return;
    default: break;
  }
  const auto code = static_cast<std::uint32_t>(code_point(character));
  if (!is_invisible(code)) {
    text_ += character;
  } else if (code < 0x10000) {
    text_ += fmt::format("\\u{:04X}", code);
  } else {
    text_ += fmt::format("\\u{:04X}\\u{:04X}", 0xD7C0 + (code >> 10), 0xDC00 + (code & 0x3FF));
  }
}

}  // namespace sievecloth
