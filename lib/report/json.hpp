// JSON, written in the order of the calls: numbers are the shortest decimals that convert back to the same double.
#pragma once

#include <array>
#include <charconv>
#include <concepts>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "sievecloth/length.hpp"

namespace sievecloth {

/// Emits one document, member by member, in the order of the calls; the derived class decides what becomes of it.
class JsonWriter {
 public:
  JsonWriter() = default;
  JsonWriter(const JsonWriter&) = delete;
  JsonWriter& operator=(const JsonWriter&) = delete;
  virtual ~JsonWriter() = default;

  /// Names the member whose value is next.
  virtual void key(std::string_view name) = 0;

  template <class Body>
  void object(Body body) {
    open(Container::object);
    body();
    close(Container::object);
  }
  template <class Body>
  void object(std::string_view name, Body body) {
    key(name);
    object(body);
  }
  template <class Items, class Body>
  void array(std::string_view name, const Items& items, Body body) {
    key(name);
    open(Container::array);
    for (const auto& item : items) body(item);
    close(Container::array);
  }

  void value(std::string_view text) { string(text); }
  void value(const char* text) { string(text); }
  void value(const std::string& text) { string(text); }
  void value(std::same_as<bool> auto truth) { word(truth ? "true" : "false"); }
  template <class Number>
  requires((std::integral<Number> && !std::same_as<Number, bool>) || std::floating_point<Number>) void value(Number digits) {
    std::array<char, 32> buffer{};
    number({buffer.data(), std::to_chars(buffer.data(), buffer.data() + buffer.size(), digits).ptr});
  }
  void value(Length length) { value(length.um()); }
  void null() { word("null"); }

  template <class Value>
  void member(std::string_view name, const Value& content) {
    key(name);
    value(content);
  }
  /// Writes nothing if there is no value.
  template <class Value>
  void member(std::string_view name, const std::optional<Value>& content) {
    if (content) member(name, *content);
  }

 protected:
  enum class Container : std::uint8_t { object, array };

  virtual void open(Container container) = 0;
  virtual void close(Container container) = 0;
  virtual void string(std::string_view text) = 0;
  virtual void number(std::string_view digits) = 0;
  virtual void word(std::string_view word) = 0;  ///< `true`, `false` or `null`
};

/// The document as text: on many lines for reading, indented by two blanks per level, or on one line.
class JsonText final : public JsonWriter {
 public:
  enum class Layout : std::uint8_t { lines, line };

  explicit JsonText(Layout layout = Layout::lines) : layout_(layout) {}

  /// The document and a line end, once everything opened has been closed.
  std::string text() const { return text_ + "\n"; }

  void key(std::string_view name) override;

 private:
  void open(Container container) override;
  void close(Container container) override;
  void string(std::string_view text) override;
  void number(std::string_view digits) override { word(digits); }
  void word(std::string_view word) override;

  void begin_value();
  void begin_line();
  void quote(std::string_view text);
  void quote_character(std::string_view character);

  Layout layout_;
  std::string text_;
  std::size_t depth_ = 0;
  bool first_ = true;       // the innermost container is still empty
  bool after_key_ = false;  // the next value follows a key
};

}  // namespace sievecloth
