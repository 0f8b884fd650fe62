// JSON written through RapidJSON, numbers as the shortest decimal that gives back the same double.
#pragma once

#include <algorithm>
#include <array>
#include <charconv>
#include <concepts>
#include <optional>
#include <string>
#include <string_view>

#include <rapidjson/prettywriter.h>
#include <rapidjson/stringbuffer.h>

#include "sievecloth/length.hpp"

namespace sievecloth {

/// Builds one document, two blanks to a level. Members come in the order in which they are written.
class JsonWriter {
 public:
  /// Over many lines for the eye, or on one line.
  enum class Layout : std::uint8_t { lines, line };

  explicit JsonWriter(Layout layout = Layout::lines) : layout_(layout), writer_(buffer_) { writer_.SetIndent(' ', 2); }

  /// The document and a line end, once everything that was opened is closed.
  std::string text() const {
    const std::string_view lines(buffer_.GetString(), buffer_.GetSize());
    return (layout_ == Layout::line ? on_one_line(lines) : std::string(lines)) + "\n";
  }

  void key(std::string_view name) { writer_.Key(name.data(), size(name)); }

  template <class Body>
  void object(Body body) {
    writer_.StartObject();
    body();
    writer_.EndObject();
  }
  template <class Body>
  void object(std::string_view name, Body body) {
    key(name);
    object(body);
  }
  template <class Items, class Body>
  void array(std::string_view name, const Items& items, Body body) {
    key(name);
    writer_.StartArray();
    for (const auto& item : items) body(item);
    writer_.EndArray();
  }

  void value(std::string_view text) { writer_.String(text.data(), size(text)); }
  void value(const char* text) { value(std::string_view(text)); }
  void value(const std::string& text) { value(std::string_view(text)); }
  void value(std::same_as<bool> auto truth) { writer_.Bool(truth); }
  template <std::integral Number>
  requires(!std::same_as<Number, bool>) void value(Number number) { writer_.Int64(static_cast<std::int64_t>(number)); }
  void value(double number) {
    std::array<char, 32> digits{};
    const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), number).ptr;
    writer_.RawValue(digits.data(), static_cast<std::size_t>(end - digits.data()), rapidjson::kNumberType);
  }
  void value(Length length) { value(length.um()); }
  void null() { writer_.Null(); }

  template <class Value>
  void member(std::string_view name, const Value& content) {
    key(name);
    value(content);
  }
  /// Nothing at all where there is no value.
  template <class Value>
  void member(std::string_view name, const std::optional<Value>& content) {
    if (content) member(name, *content);
  }

 private:
  // No text holds a line end: they are escaped.
  static std::string on_one_line(std::string_view lines) {
    std::string line;
    for (std::size_t end; !lines.empty(); lines.remove_prefix(end)) {
      lines.remove_prefix(std::min(lines.find_first_not_of(" \n"), lines.size()));
      end = std::min(lines.find('\n'), lines.size());
      line += lines.substr(0, end);
    }
    return line;
  }

  static rapidjson::SizeType size(std::string_view text) { return static_cast<rapidjson::SizeType>(text.size()); }

  Layout layout_;
  rapidjson::StringBuffer buffer_;
  rapidjson::PrettyWriter<rapidjson::StringBuffer> writer_;
};

}  // namespace sievecloth
