// The bytes of a text as UTF-8, whatever a spreadsheet saved it as.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>

#include "sievecloth/readings_csv.hpp"

namespace sievecloth {

/// Converts UTF-16 that begins with its byte order mark; anything else passes unchanged and uncopied. Half a character becomes a
/// byte that is not UTF-8, so that the reader complains about it in its place.
class Utf8Text {
 public:
  /// Returns the next bytes as UTF-8, valid until the next call and as long as `bytes`.
  std::string_view take(std::string_view bytes);
  /// Ends the text. Returns what stands for an unfinished character.
  std::string_view finish();

 private:
  enum class Encoding : std::uint8_t { unknown, utf8, utf16_little, utf16_big };

  void convert();
  std::uint32_t unit_at(std::size_t at) const noexcept;

  Encoding encoding_ = Encoding::unknown;
  std::string left_;  // bytes that are not converted yet
  std::string converted_;
};

/// A source of the same text as UTF-8.
class Utf8Source {
 public:
  explicit Utf8Source(const ByteSource& source) : source_(source) {}
  /// As a ByteSource.
  Result<std::size_t> operator()(std::span<char> to);

 private:
  const ByteSource& source_;
  Utf8Text text_;
  std::string_view ready_;  // not handed out yet
  bool ended_ = false;
};

}  // namespace sievecloth
