// The fast path: rows in plain digits, eight bytes at a time.
//
// A row is plain where each of its cells is written in the plainest way: digits with at most one decimal mark, a known word, or
// text without quotes. Any other line is left to the exact reader, to which a plain row means the same. A number is read as one
// word of 64 bits whose eight bytes are worked on together ("SIMD within a register": ordinary arithmetic, which every processor
// has): one addition tells which bytes are no digits (H. S. Warren, Hacker's Delight, 2nd ed., 6-1), and three multiplications make
// pairs, fours and all eight digits (D. Lemire, "Quickly parsing eight digits", 2018), so that no branch depends on how long a
// number is.
#pragma once

#include <array>
#include <cstdint>
#include <string_view>
#include <vector>

#include "measurement/csv/header.hpp"
#include "sievecloth/sample.hpp"

namespace sievecloth {

/// Plain rows of one file, as columns of whole numbers.
class PlainRows {
 public:
  /// So many bytes after a text must be readable; what they hold does not matter.
  static constexpr std::size_t k_padding = 8;

  /// How the rows are written from now on.
  void set_layout(const RowLayout& layout);
  /// Forgets all rows, and makes room for those of a text of `bytes` bytes.
  void begin(std::size_t bytes);
  /// Appends the rows at the beginning of `lines`, which end with LF, up to the first line that is no plain row. They must be a
  /// part of the text that there is room for, and stay where they are. Result: how many bytes the rows have.
  std::size_t read(std::string_view lines) noexcept;

  std::size_t size() const noexcept { return size_; }
  /// `count` rows from the row `first` on; who knows their lines sets them.
  ReadingColumns rows(std::size_t first, std::size_t count) const noexcept;

 private:
  /// What a cell of a column may hold. The digits of numbers matter, those of texts stay as they are.
  enum class Content : std::uint8_t { direction, role, length, position, text };

  struct PlainColumn {
    Content content = Content::text;
    std::vector<Length>* numbers = nullptr;          // where its numbers go
    std::vector<std::string_view>* texts = nullptr;  // where its texts go
    char end = ',';                                  // follows each cell
    std::array<std::int64_t, 8> last_digit_pm{};  // what the last digit counts, by the bytes from the mark on: 0 for a mark alone
    std::int64_t unit_pm = 0;
  };
  // A number without a sign and what follows it. 0 or null where it is not plain.
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
  const char* read_text(const char* at, const PlainColumn& column) const noexcept;
  Number number_at(const char* at, const PlainColumn& column) const noexcept;
  Number long_number_at(const char* at, const PlainColumn& column) const noexcept;
  bool is_consistent() const noexcept;

  std::vector<PlainColumn> columns_;
  char separator_ = ',';
  char mark_ = '.';
  std::size_t size_ = 0;
  std::vector<Direction> direction_;  // with room for more rows; a column that the file does not have has none
  std::vector<Role> role_;
  std::vector<Length> aperture_, wire_, x_, y_;
  std::vector<std::string_view> field_;
};

}  // namespace sievecloth
