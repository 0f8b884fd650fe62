#include "report/json.hpp"

#include <fmt/format.h>

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

void JsonText::quote(std::string_view text) {
  text_ += '"';
  for (const char c : text) {
    switch (c) {
      case '"': text_ += "\\\""; break;
      case '\\': text_ += "\\\\"; break;
      case '\b': text_ += "\\b"; break;
      case '\f': text_ += "\\f"; break;
      case '\n': text_ += "\\n"; break;
      case '\r': text_ += "\\r"; break;
      case '\t': text_ += "\\t"; break;
      default:
        if (const auto byte = static_cast<unsigned char>(c); byte < 0x20) {
          text_ += fmt::format("\\u{:04X}", byte);
        } else {
          text_ += c;
        }
    }
  }
  text_ += '"';
}

}  // namespace sievecloth
