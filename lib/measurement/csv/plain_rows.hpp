// The fast path: rows in plain digits, eight bytes at a time.
//
// A row is plain if each of its cells is written in the simplest way: digits with at most one decimal mark, a known word, or text
// without quotes. Any other line is left to the exact reader, which gives a plain row the same meaning. A number is read as one
// 64-bit word whose eight bytes are processed together ("SIMD within a register": ordinary arithmetic, available on every
// processor): one addition finds the bytes that are not digits (H. S. Warren, Hacker's Delight, 2nd ed., 6-1), and three
// multiplications combine pairs, fours and all eight digits (D. Lemire, "Quickly parsing eight digits", 2018), so that no branch
// depends on the length of a number.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "measurement/csv/header.hpp"
#include "sievecloth/sample.hpp"

namespace sievecloth {

/// Plain rows of one file, as columns of whole numbers.
class PlainRows {
 public:
  /// Bytes after a text that must be readable; their contents do not matter.
  static constexpr std::size_t k_padding = 8;

  /// Sets the layout of the rows that follow. No row of a wide table is plain.
  void set_layout(const RowLayout& layout);
  /// Discards all rows and reserves room for those of a text of `bytes` bytes.
  void begin(std::size_t bytes);
  /// Appends the rows at the beginning of `lines`, which end with LF, up to the first line that is not a plain row. They must be
  /// part of the text that room was reserved for, and stay in place. Returns the number of bytes in these rows.
  std::size_t read(std::string_view lines) noexcept;

  std::size_t size() const noexcept { return size_; }
  /// Returns `count` rows, starting at row `first`; the caller sets their line numbers.
  ReadingColumns rows(std::size_t first, std::size_t count) const noexcept;

 private:
  /// What a cell of a column may hold. Numbers are parsed, texts kept unchanged.
  enum class Content : std::uint8_t { direction, role, length, position, gap, text, nothing };

  struct PlainColumn {
    Content content = Content::text;
    std::vector<Length>* numbers = nullptr;          // destination of its numbers
    std::vector<std::string_view>* texts = nullptr;  // destination of its texts
    char end = ',';                                  // follows each cell
    std::array<std::int64_t, 8> last_digit_pm{};     // value of the last digit, by the bytes from the mark on: 0 for a mark alone
    std::int64_t unit_pm = 0;
  };
  // An unsigned number and what follows it. 0 or null if it is not plain.
  struct Number {
    std::int64_t pm = 0;
    const char* end = nullptr;
  };

  PlainColumn plain_column(Field field) noexcept;
  const char* read_row(const char* at) noexcept;
  const char* read_cell(const char* at, const PlainColumn& column) noexcept;
  const char* read_direction(const char* at) noexcept;
  const char* read_role(const char* at, char end) noexcept;
  const char* read_length(const char* at, const PlainColumn& column) noexcept;
  const char* read_position(const char* at, const PlainColumn& column) noexcept;
  const char* read_gap(const char* at) noexcept;
  const char* read_text(const char* at, const PlainColumn& column) const noexcept;
  Number number_at(const char* at, const PlainColumn& column) const noexcept;
  Number long_number_at(const char* at, const PlainColumn& column) const noexcept;
  bool is_consistent() const noexcept;

  std::vector<PlainColumn> columns_;
  char separator_ = ',';
  std::optional<Direction> direction_of_all_;
  char mark_ = '.';
  std::size_t size_ = 0;
  std::vector<Direction> direction_;  // with room for more rows; empty for a column that the file does not have
  std::vector<Role> role_;
  std::vector<Length> aperture_, wire_, x_, y_;
  std::vector<std::string_view> field_, operator_name_;
  std::vector<std::int32_t> gap_;
};

}  // namespace sievecloth
