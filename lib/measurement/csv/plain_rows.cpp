#include "measurement/csv/plain_rows.hpp"

#include <algorithm>
#include <bit>
#include <cstring>
#include <utility>

#include "base/text.hpp"

namespace sievecloth {
namespace {

// The shortest possible plain row: a direction, a separator, LF.
constexpr std::size_t k_shortest_row = 6;
constexpr std::size_t k_shortest_undirected_row = 2;
// Used while the decimal mark is unknown: no digit can follow the digits of a number.
constexpr char k_no_mark = '0';

constexpr std::uint64_t in_each_byte(std::uint8_t byte) noexcept { return 0x0101'0101'0101'0101u * byte; }

// Loads eight bytes, the first one least significant.
std::uint64_t load(const char* from) noexcept {
  std::uint64_t word;
  std::memcpy(&word, from, sizeof(word));
  if constexpr (std::endian::native == std::endian::big) word = __builtin_bswap64(word);
  return word;
}

constexpr std::uint64_t word_of(std::string_view text) noexcept {
  std::uint64_t word = 0;
  for (std::size_t i = text.size(); i-- > 0;) word = word << 8 | static_cast<unsigned char>(text[i]);
  return word;
}

// True if a loaded text begins with `word`, of 1 to 8 lower-case letters, ignoring case: the cases differ in 0x20, and no other
// bytes do.
bool begins_with(std::uint64_t text, std::string_view word) noexcept {
  const std::uint64_t bytes_of_word = ~std::uint64_t{0} >> (64 - 8 * word.size());
  return ((text | in_each_byte(0x20)) & bytes_of_word) == word_of(word);
}

constexpr std::uint64_t k_highest_bits = in_each_byte(0x80);

// Sets the highest bit of each byte above `most`, which must be below 0x80. No sum carries into the next byte.
constexpr std::uint64_t bytes_above(std::uint64_t bytes, std::uint8_t most) noexcept {
  return (((bytes & ~k_highest_bits) + in_each_byte(static_cast<std::uint8_t>(0x7F - most))) | bytes) & k_highest_bits;
}

// Sets the highest bit of each byte that ends a text (separator, quote, control character) or is not ASCII.
std::uint64_t ends_of_text(std::uint64_t characters, char separator) noexcept {
  const std::uint64_t others = bytes_above(characters, ' ' - 1) & bytes_above(characters ^ in_each_byte('"'), 0) &
                               bytes_above(characters ^ in_each_byte(static_cast<std::uint8_t>(separator)), 0);
  return (~others | characters) & k_highest_bits;
}

// Index of the first byte whose highest bit is set.
std::size_t first_of(std::uint64_t highest_bits) noexcept { return static_cast<std::size_t>(std::countr_zero(highest_bits)) / 8; }

// Value of eight digits, the first in the lowest byte.
std::int64_t number_of(std::uint64_t digits) noexcept {
  digits = (digits * (10u << 8 | 1)) >> 8 & 0x00FF'00FF'00FF'00FFu;
  digits = (digits * (100u << 16 | 1)) >> 16 & 0x0000'FFFF'0000'FFFFu;
  return static_cast<std::int64_t>((digits * (std::uint64_t{10'000} << 32 | 1)) >> 32);
}

}  // namespace

// Declares whether the digits of a cell matter: lengths, positions and gaps become numbers, text stays unchanged. No default, so
// that the build fails until a new column is declared.
PlainRows::PlainColumn PlainRows::plain_column(Field field) noexcept {
  switch (field) {
    case Field::direction: return {Content::direction};
    case Field::role: return {Content::role};
    case Field::aperture: return {Content::length, &aperture_};
    case Field::wire: return {Content::length, &wire_};
    case Field::x: return {Content::position, &x_};
    case Field::y: return {Content::position, &y_};
    case Field::field: return {Content::text, nullptr, &field_};
    case Field::gap: return {Content::gap};
    case Field::operator_name: return {Content::text, nullptr, &operator_name_};
    case Field::ignored: return {Content::text};
    case Field::empty: return {Content::nothing};
  }
  __builtin_unreachable();
}

void PlainRows::set_layout(const RowLayout& layout) {
  mark_ = layout.mark ? static_cast<char>(*layout.mark) : k_no_mark;
  separator_ = layout.separator;
  direction_of_all_ = layout.direction;
  columns_.clear();
  if (layout.wide) return;
  for (const Column& column : layout.columns) {
    PlainColumn plain = plain_column(column.field);
    plain.end = columns_.size() + 1 == layout.columns.size() ? '\n' : layout.separator;
    plain.unit_pm = picometres(column.unit);
    std::int64_t last_digit_pm = plain.unit_pm;
    for (std::int64_t& pm : plain.last_digit_pm) pm = std::exchange(last_digit_pm, last_digit_pm / 10);
    std::copy_backward(plain.last_digit_pm.begin(), plain.last_digit_pm.end() - 1, plain.last_digit_pm.end());
    plain.last_digit_pm[1] = 0;
    columns_.push_back(plain);
  }
}

void PlainRows::begin(std::size_t bytes) {
  size_ = 0;
  const std::size_t most = bytes / (direction_of_all_ ? k_shortest_undirected_row : k_shortest_row) + 1;
  const auto make_room = [&](auto& column) { column.resize(std::max(column.size(), most)); };
  for (const PlainColumn& column : columns_) {
    if (column.content == Content::direction) make_room(direction_);
    if (column.content == Content::role) make_room(role_);
    if (column.content == Content::gap) make_room(gap_);
    if (column.numbers != nullptr) make_room(*column.numbers);
    if (column.texts != nullptr) make_room(*column.texts);
  }
  if (direction_of_all_ && !columns_.empty()) direction_.resize(std::max(direction_.size(), most), *direction_of_all_);
}

std::size_t PlainRows::read(std::string_view lines) noexcept {
  if (columns_.empty()) return 0;
  const char* at = lines.data();
  const char* const end = at + lines.size();
  while (at != end) {
    const char* const next = read_row(at);
    if (next == nullptr || static_cast<std::size_t>(next - at) > k_longest_line) break;
    at = next;
    ++size_;
  }
  return static_cast<std::size_t>(at - lines.data());
}

ReadingColumns PlainRows::rows(std::size_t first, std::size_t count) const noexcept {
  return ReadingColumns{0, direction_, role_, aperture_, wire_, x_, y_, field_, gap_, operator_name_}.part(first, count);
}

// Returns the beginning of the next row, or null if this one is not plain. Inlined, like what it calls: calls would cost a fifth.
[[gnu::always_inline]] inline const char* PlainRows::read_row(const char* at) noexcept {
  if (*at == '#') return nullptr;
  for (const PlainColumn& column : columns_) {
    at = read_cell(at, column);
    if (at == nullptr) return nullptr;
    if (column.end == '\n' && *at == '\r') ++at;
    if (*at++ != column.end) return nullptr;
  }
  return is_consistent() ? at : nullptr;
}

// Returns the end of the cell.
[[gnu::always_inline]] inline const char* PlainRows::read_cell(const char* at, const PlainColumn& column) noexcept {
  switch (column.content) {
    case Content::direction: return read_direction(at);
    case Content::role: return read_role(at, column.end);
    case Content::length: return read_length(at, column);
    case Content::position: return read_position(at, column);
    case Content::gap: return read_gap(at);
    case Content::text: return read_text(at, column);
    case Content::nothing: return at;
  }
  __builtin_unreachable();
}

[[gnu::always_inline]] inline const char* PlainRows::read_direction(const char* at) noexcept {
  const std::uint64_t word = load(at);
  const bool warp = begins_with(word, "warp"), weft = begins_with(word, "weft");
  direction_[size_] = warp ? Direction::warp : Direction::weft;
  if (warp | weft) return at + 4;
  return begins_with(word, "shute") || begins_with(word, "shoot") ? at + 5 : nullptr;
}

[[gnu::always_inline]] inline const char* PlainRows::read_role(const char* at, char end) noexcept {
  const std::uint64_t word = load(at);
  const bool suspect = begins_with(word, "suspect");
  role_[size_] = suspect ? Role::suspect : Role::sample;
  if (suspect) return at + 7;
  return begins_with(word, "sample") ? at + 6 : *at == end || *at == '\r' ? at : nullptr;
}

[[gnu::always_inline]] inline const char* PlainRows::read_length(const char* at, const PlainColumn& column) noexcept {
  const Number number = number_at(at, column);
  (*column.numbers)[size_] = Length::from_pm(number.pm);
  const bool empty = number.end == at, zero = number.pm == 0;
  const bool is_reading = (zero == empty) & (number.pm <= k_longest_reading.pm());  // one branch, not two
  return is_reading ? number.end : nullptr;
}

[[gnu::always_inline]] inline const char* PlainRows::read_position(const char* at, const PlainColumn& column) noexcept {
  const bool negative = *at == '-';
  const char* const digits = at + (negative ? 1 : 0);
  const Number number = number_at(digits, column);
  const bool empty = number.end == at;
  (*column.numbers)[size_] = empty ? k_no_position : Length::from_pm(negative ? -number.pm : number.pm);
  const bool is_number = is_digit(*digits) && number.end != nullptr && is_digit(number.end[-1]);
  return empty || is_number ? number.end : nullptr;
}

[[gnu::always_inline]] inline const char* PlainRows::read_gap(const char* at) noexcept {
  const char* const begin = at;
  std::int64_t number = 0;
  for (; is_digit(*at); ++at) {
    number = 10 * number + (*at - '0');
    if (number > k_highest_gap) return nullptr;
  }
  gap_[size_] = at == begin ? k_no_gap : static_cast<std::int32_t>(number);
  return at;
}

[[gnu::always_inline]] inline const char* PlainRows::read_text(const char* at, const PlainColumn& column) const noexcept {
  constexpr std::size_t k_longest_character = 4;
  const char* end = at;
  while (true) {
    const std::uint64_t ends = ends_of_text(load(end), separator_);
    end += ends == 0 ? sizeof(ends) : first_of(ends);
    if (ends == 0) continue;
    if (static_cast<unsigned char>(*end) < 0x80) break;
    const std::size_t length = utf8_length({end, k_longest_character});
    if (length == 0) return nullptr;
    end += length;
  }
  if (column.texts != nullptr) {
    const std::string_view text(at, static_cast<std::size_t>(end - at));
    if (text.size() > k_longest_field) return nullptr;
    (*column.texts)[size_] = text.starts_with(' ') || text.ends_with(' ') ? trimmed(text) : text;
  }
  return end;
}

// Empty if it ends where it begins. No branch depends on the number of digits, only on whether there are any.
[[gnu::always_inline]] inline PlainRows::Number PlainRows::number_at(const char* at, const PlainColumn& column) const noexcept {
  const std::uint64_t characters = load(at), word = characters ^ in_each_byte('0');
  const std::uint64_t others = bytes_above(word, 9);
  const std::uint64_t ends = others & bytes_above(characters ^ in_each_byte(static_cast<std::uint8_t>(mark_)), 0);
  if (ends == 0) return long_number_at(at, column);
  const std::size_t size = first_of(ends);  // all that the next cell depends on
  const std::uint64_t mark = (others ^ ends) & (ends - 1);
  if ((mark & (mark - 1)) != 0) return {};
  const std::size_t marks = mark != 0 ? 1 : 0, whole = first_of(mark | ends);

  const std::uint64_t before_mark = (std::uint64_t{1} << (8 * whole)) - 1;
  const std::uint64_t joined = (word & before_mark) | (word >> (8 * marks) & ~before_mark);
  const std::uint64_t aligned = joined << (56 - 8 * (size - marks)) << 8;  // last digit highest, leading zeros
  const std::int64_t pm = number_of(aligned) * column.last_digit_pm[marks * (size - whole)];
  return {pm, at + size};
}

// Digit by digit, up to as many as fit into 64 bits.
PlainRows::Number PlainRows::long_number_at(const char* at, const PlainColumn& column) const noexcept {
  constexpr int k_most_digits = 15;
  std::int64_t number = 0, last_digit_pm = column.unit_pm;
  bool has_mark = false;
  int digits = 0;
  for (;; ++at) {
    if (is_digit(*at)) {
      if (++digits > k_most_digits || (has_mark && last_digit_pm % 10 != 0)) return {};
      number = 10 * number + (*at - '0');
      if (has_mark) last_digit_pm /= 10;
    } else if (*at == mark_ && !has_mark && is_digit(at[1])) {
      has_mark = true;
    } else {
      break;
    }
  }
  return number <= k_longest.pm() / last_digit_pm ? Number{number * last_digit_pm, at} : Number{};
}

// Checks that involve several cells of a row.
[[gnu::always_inline]] inline bool PlainRows::is_consistent() const noexcept {
  const bool half_a_position = !x_.empty() && (x_[size_] == k_no_position) != (y_[size_] == k_no_position);
  const bool no_aperture = aperture_.empty() || aperture_[size_] == Length();
  const bool no_wire = wire_.empty() || wire_[size_] == Length();
  const bool odd_suspect = !role_.empty() && role_[size_] == Role::suspect && (no_aperture || !no_wire);
  const bool may_be_empty = direction_of_all_ && no_aperture && no_wire;  // an empty line between rows is an error
  return !half_a_position && !odd_suspect && !may_be_empty;
}

}  // namespace sievecloth
