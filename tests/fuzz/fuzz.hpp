// What the fuzz targets share: a demand that cannot be switched off, and numbers out of the bytes of an input.
#pragma once

#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <span>
#include <string>
#include <string_view>

#include "base/text.hpp"
#include "sievecloth/readings_csv.hpp"
#include "sievecloth/result.hpp"

namespace sievecloth::fuzz {

/// Ends the program where the demand is not met, whatever the build.
inline void demand(bool met, const char* what) {
  if (met) return;
  std::fprintf(stderr, "demand not met: %s\n", what);
  std::abort();
}

/// Takes an input apart from its front; an input at its end gives zeros.
class Bytes {
 public:
  Bytes(const std::uint8_t* data, std::size_t size) : rest_(data, size) {}

  bool empty() const { return rest_.empty(); }
  template <class Number>
  Number take() {
    Number number{};
    const std::size_t size = rest_.size() < sizeof(Number) ? rest_.size() : sizeof(Number);
    if (size > 0) std::memcpy(&number, rest_.data(), size);
    rest_ = rest_.subspan(size);
    return number;
  }
  std::uint32_t below(std::uint32_t bound) { return take<std::uint8_t>() % bound; }
  std::string_view text() const { return {reinterpret_cast<const char*>(rest_.data()), rest_.size()}; }
  std::span<const std::byte> bytes() const { return std::as_bytes(rest_); }

 private:
  std::span<const std::uint8_t> rest_;
};

/// Gives `text` in pieces of at most `piece` bytes, as a pipe would.
inline ByteSource source_of(std::string_view text, std::size_t piece) {
  return [text, piece](std::span<char> to) mutable -> Result<std::size_t> {
    const std::size_t size = std::min({to.size(), text.size(), piece});
    std::copy_n(text.begin(), size, to.begin());
    text.remove_prefix(size);
    return size;
  };
}

/// One line of UTF-8 without invisible characters: what may be written to a terminal.
inline void demand_plain(std::string_view line) {
  while (!line.empty()) {
    const std::size_t length = utf8_length(line);
    demand(length != 0 && !is_invisible(code_point(line.substr(0, length))), "a line is UTF-8 without invisible characters");
    line.remove_prefix(length);
  }
}

/// At least one complaint, at most so many as come at once, each safe to show.
inline void demand_complaints(const Errors& errors) {
  demand(!errors.empty() && errors.size() <= k_most_complaints, "1 to 20 complaints");
  for (const Error& error : errors) {
    demand(error.code != ErrorCode::internal, "no input is a defect");
    demand(!error.message.empty() && error.where.line >= 0 && error.where.column >= 0, "a complaint has a message and a place");
    demand_plain(to_text(error));
  }
}

/// The same complaints, in every member.
inline bool same(const Errors& a, const Errors& b) {
  if (a.size() != b.size()) return false;
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (a[i].code != b[i].code || to_text(a[i]) != to_text(b[i])) return false;
  }
  return true;
}

}  // namespace sievecloth::fuzz

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);
