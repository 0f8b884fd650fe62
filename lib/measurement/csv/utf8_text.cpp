#include "measurement/csv/utf8_text.hpp"

#include <algorithm>
#include <utility>

namespace sievecloth {
namespace {

constexpr char k_not_utf8 = '\xFF';

bool is_high_surrogate(std::uint32_t unit) noexcept { return unit >= 0xD800 && unit < 0xDC00; }
bool is_low_surrogate(std::uint32_t unit) noexcept { return unit >= 0xDC00 && unit < 0xE000; }

void append(std::string& text, std::uint32_t code_point) {
  const auto add = [&](std::uint32_t byte) { text += static_cast<char>(byte); };
  const auto continuation = [&](unsigned bits) { add(0x80 | (code_point >> bits & 0x3F)); };
  if (code_point < 0x80) return add(code_point);
  if (code_point < 0x800) {
    add(0xC0 | code_point >> 6);
  } else if (code_point < 0x10000) {
    add(0xE0 | code_point >> 12);
    continuation(6);
  } else {
    add(0xF0 | code_point >> 18);
    continuation(12);
    continuation(6);
  }
  continuation(0);
}

}  // namespace

std::string_view Utf8Text::take(std::string_view bytes) {
  if (encoding_ == Encoding::utf8) return bytes;
  if (encoding_ == Encoding::unknown) {
    const bool may_be_mark = left_.empty() && (bytes.starts_with('\xFF') || bytes.starts_with('\xFE'));
    if (left_.empty() && !bytes.empty() && !may_be_mark) encoding_ = Encoding::utf8;
    if (encoding_ == Encoding::utf8) return bytes;
  }
  left_ += bytes;
  converted_.clear();
  if (encoding_ == Encoding::unknown) {
    if (left_.size() < 2) return {};
    encoding_ = left_.starts_with("\xFF\xFE")   ? Encoding::utf16_little
                : left_.starts_with("\xFE\xFF") ? Encoding::utf16_big
                                                : Encoding::utf8;
    if (encoding_ == Encoding::utf8) return converted_ = std::move(left_);
    left_.erase(0, 2);
  }
  convert();
  return converted_;
}

std::string_view Utf8Text::finish() {
  const bool is_unfinished = !left_.empty();
  left_.clear();
  return is_unfinished ? std::string_view(&k_not_utf8, 1) : std::string_view();
}

std::uint32_t Utf8Text::unit_at(std::size_t at) const noexcept {
  const auto byte = [&](std::size_t i) { return std::uint32_t{static_cast<unsigned char>(left_[i])}; };
  return encoding_ == Encoding::utf16_little ? byte(at) | byte(at + 1) << 8 : byte(at) << 8 | byte(at + 1);
}

// Converts the characters that are complete.
void Utf8Text::convert() {
  std::size_t at = 0;
  for (; at + 2 <= left_.size(); at += 2) {
    const std::uint32_t unit = unit_at(at);
    if (is_high_surrogate(unit)) {
      if (at + 4 > left_.size()) break;
      const std::uint32_t low = unit_at(at + 2);
      if (is_low_surrogate(low)) {
        append(converted_, 0x10000 + ((unit - 0xD800) << 10) + (low - 0xDC00));
        at += 2;
        continue;
      }
    }
    if (is_high_surrogate(unit) || is_low_surrogate(unit)) {
      converted_ += k_not_utf8;
    } else {
      append(converted_, unit);
    }
  }
  left_.erase(0, at);
}

Result<std::size_t> Utf8Source::operator()(std::span<char> to) {
  while (ready_.empty() && !ended_) {
    const Result<std::size_t> read = source_(to);
    if (!read.ok()) return read;
    ended_ = *read == 0;
    ready_ = ended_ ? text_.finish() : text_.take({to.data(), *read});
    if (ready_.data() == to.data()) return std::exchange(ready_, {}).size();
  }
  const std::size_t size = std::min(ready_.size(), to.size());
  std::copy_n(ready_.data(), size, to.data());
  ready_.remove_prefix(size);
  return size;
}

}  // namespace sievecloth
