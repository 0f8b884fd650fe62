#include "measurement/row_shapes.hpp"

#include <algorithm>
#include <bit>
#include <cassert>
#include <cstring>
#include <utility>

#ifdef __SSE2__
#include <emmintrin.h>
#endif

#include "measurement/vectorised.hpp"

namespace sievecloth {
namespace {

constexpr std::size_t k_word = sizeof(std::uint64_t);
constexpr std::uint64_t k_each_byte = 0x0101'0101'0101'0101u;
constexpr std::uint64_t k_digits = k_each_byte * 0x0F;  // the low halves of bytes

SIEVECLOTH_PART_OF_LOOP std::uint64_t load(const char* from) noexcept {
  std::uint64_t word;
  std::memcpy(&word, from, k_word);
  return word;
}

// The lowest `bytes` bytes, those that come first in the text.
constexpr std::uint64_t first_bytes(std::size_t bytes) noexcept {
  return bytes >= k_word ? ~std::uint64_t{0} : (std::uint64_t{1} << (8 * bytes)) - 1;
}

constexpr std::int64_t power_of_ten(std::size_t exponent) noexcept {
  std::int64_t power = 1;
  for (; exponent > 0; --exponent) power *= 10;
  return power;
}

enum Quantity : std::size_t { k_aperture, k_wire };

template <class Element, std::size_t bytes>
using Vector [[gnu::vector_size(bytes)]] = Element;

// Sixteen bytes at once, which every machine of 64 bits has instructions for.
using Bytes = Vector<std::uint8_t, 16>;
using Pair = Vector<std::uint64_t, 16>;

template <class Type>
SIEVECLOTH_PART_OF_LOOP Type load_as(const void* from) noexcept {
  Type vector;
  std::memcpy(&vector, from, sizeof(vector));
  return vector;
}

// One bit for each byte that is 0xFF, none for each that is 0; the first byte's is the lowest.
SIEVECLOTH_PART_OF_LOOP std::uint32_t bits_of(Bytes mask) noexcept {
#ifdef __SSE2__
  return static_cast<std::uint32_t>(_mm_movemask_epi8(reinterpret_cast<__m128i>(mask)));
#else
  std::array<std::uint64_t, 2> words;
  std::memcpy(words.data(), &mask, sizeof(mask));
  for (std::uint64_t& word : words) word = (word & 0x8040'2010'0804'0201u) * k_each_byte >> 56;
  return static_cast<std::uint32_t>(words[0] | words[1] << 8);
#endif
}

SIEVECLOTH_PART_OF_LOOP Bytes equal(Bytes a, Bytes b) noexcept { return reinterpret_cast<Bytes>(a == b); }

SIEVECLOTH_PART_OF_LOOP bool all(Bytes mask) noexcept { return bits_of(mask) == 0xFFFF; }

// A row is told from others by its bytes XOR '0': exactly the digits are 0 to 9 then, and all of them are made 9.
SIEVECLOTH_PART_OF_LOOP Bytes without_digits(Bytes bytes) noexcept {
  constexpr Bytes k_nine = Bytes{} + 9;
  const Bytes from_zero = bytes ^ '0';
  return from_zero > k_nine ? from_zero : k_nine;
}

// At 64 - n: ones for the n bytes of a row, zeros for what follows it.
constexpr auto k_row_mask = [] {
  std::array<std::uint8_t, 128> mask{};
  std::fill_n(mask.begin(), 64, std::uint8_t{0xFF});
  return mask;
}();

// The first row of `text`, which is of this length and lies in so many pieces of 16 bytes: without digits and what follows it.
template <std::size_t pieces>
SIEVECLOTH_PART_OF_LOOP std::array<Bytes, pieces> row_without_digits(const char* text, std::size_t length) noexcept {
  std::array<Bytes, pieces> row;
  const std::uint8_t* const mask = k_row_mask.data() + 64 - length;
  for (std::size_t i = 0; i < pieces; ++i) row[i] = without_digits(load_as<Bytes>(text + 16 * i)) & load_as<Bytes>(mask + 16 * i);
  return row;
}

// Where the search for a row begins: the pieces shifted, so that equal bytes sixteen apart do not make up for each other, and all
// bits spread over the highest.
template <std::size_t pieces>
SIEVECLOTH_PART_OF_LOOP std::uint64_t hash_of(const std::array<Bytes, pieces>& row) noexcept {
  Pair sum = reinterpret_cast<Pair>(row[0]);
  for (std::size_t i = 1; i < pieces; ++i) sum += reinterpret_cast<Pair>(row[i]) << (3 * i);
  return (sum[0] ^ std::rotl(sum[1], 29)) * 0x9E37'79B9'7F4A'7C15u;
}

// A bit for each LF among 32 bytes.
SIEVECLOTH_PART_OF_LOOP std::uint32_t line_ends(const char* text) noexcept {
  constexpr Bytes k_ends = Bytes{} + '\n';
  return bits_of(equal(load_as<Bytes>(text), k_ends)) | bits_of(equal(load_as<Bytes>(text + 16), k_ends)) << 16;
}

// Length of the row with its LF, 0 where that is not among its first 64 bytes. Rows of up to 32 bytes all take the same steps: a
// branch on what differs from row to row would cost more than it saves.
SIEVECLOTH_PART_OF_LOOP std::size_t length_of(const char* row) noexcept {
  if (const std::uint32_t ends = line_ends(row); ends != 0) return static_cast<unsigned>(std::countr_zero(ends)) + 1u;
  const std::uint32_t ends = line_ends(row + 32);
  return ends == 0 ? 0 : static_cast<unsigned>(std::countr_zero(ends)) + 33u;
}

template <std::size_t pieces>
SIEVECLOTH_PART_OF_LOOP std::size_t count_alike_of(const char* row, const std::uint8_t* shape, std::size_t length,
                                                   std::size_t most) noexcept {
  std::array<Bytes, pieces> expected;
  for (std::size_t i = 0; i < pieces; ++i) expected[i] = load_as<Bytes>(shape + 16 * i);
  const Bytes last_mask = load_as<Bytes>(k_row_mask.data() + 64 - length + 16 * (pieces - 1));
  for (std::size_t count = 0; count < most; ++count, row += length) {
    Bytes same = equal(without_digits(load_as<Bytes>(row + 16 * (pieces - 1))) & last_mask, expected[pieces - 1]);
    for (std::size_t i = 0; i + 1 < pieces; ++i) same &= equal(without_digits(load_as<Bytes>(row + 16 * i)), expected[i]);
    if (!all(same)) return count;
  }
  return most;
}

// Counts the rows from `row` on that are alike in `length` bytes but for their digits, up to `most` of them.
SIEVECLOTH_VECTORISED
std::size_t count_alike(const char* row, const std::uint8_t* shape, std::size_t length, std::size_t most) noexcept {
  if (length <= 16) return count_alike_of<1>(row, shape, length, most);
  if (length <= 32) return count_alike_of<2>(row, shape, length, most);
  if (length <= 48) return count_alike_of<3>(row, shape, length, most);
  return count_alike_of<4>(row, shape, length, most);
}

// Numbers, each in the lower half of a word, out of eight digits each, which stand in the low halves of its bytes: tens of pairs,
// hundreds of fours, then all. Each step multiplies what comes first into the place of what follows it.
template <std::size_t bytes>
SIEVECLOTH_PART_OF_LOOP void from_digits(Vector<std::uint64_t, bytes>& words) noexcept {
  using Words16 = Vector<std::uint16_t, bytes>;
  using Words32 = Vector<std::uint32_t, bytes>;
  const Words16 pairs = reinterpret_cast<Words16>(words) * (10 << 8 | 1) >> 8;
  const Words32 fours = reinterpret_cast<Words32>(pairs) * (100 << 16 | 1) >> 16;
  const Words32 ten_thousands = reinterpret_cast<Words32>(Vector<std::uint64_t, bytes>{} + (std::uint64_t{1} << 32 | 10'000));
  words = reinterpret_cast<Vector<std::uint64_t, bytes>>(fours * ten_thousands);
  words += words >> 32;
}

// Both numbers of a row.
SIEVECLOTH_PART_OF_LOOP Numbers read_row(const char* row, const DigitPlaces& places) noexcept {
  const char* const word = row + places.word_at[0];
  const char* const other = row + places.word_at[1];
  Pair words = (Pair{load(word), load(other)} & load_as<Pair>(places.after_mark.data())) |
               (Pair{load(word - 1), load(other - 1)} & load_as<Pair>(places.before_mark.data()));
  from_digits<16>(words);
  return {static_cast<std::int32_t>(words[0]), static_cast<std::int32_t>(words[1])};
}

// How many rows stand before the first that holds a zero.
SIEVECLOTH_PART_OF_LOOP std::size_t rows_before_zero(std::span<const Numbers> rows) noexcept {
  std::int32_t one_less = 0;  // than any number: only a zero has the highest bit then
  for (const Numbers& numbers : rows) one_less |= (numbers[0] - 1) | (numbers[1] - 1);
  if (one_less >= 0) return rows.size();
  const auto zero =
      std::find_if(rows.begin(), rows.end(), [](const Numbers& numbers) { return numbers[0] == 0 || numbers[1] == 0; });
  return static_cast<std::size_t>(zero - rows.begin());
}

// Reads the numbers of rows of one length, four rows side by side. Result: as rows_before_zero.
SIEVECLOTH_VECTORISED
std::size_t read_rows(const char* row, std::size_t length, const DigitPlaces& places, std::span<Numbers> rows) noexcept {
  using Words = Vector<std::uint64_t, 32>;
  const DigitPlaces here = places;  // which no write to the numbers can change
  std::size_t i = 0;
  for (; i + 4 <= rows.size(); i += 4, row += 4 * length) {
    std::array<Words, 2> words;
    for (std::size_t k = 0; k < words.size(); ++k) {
      const char* const at = row + here.word_at[k];
      Words four = Words{load(at), load(at + length), load(at + 2 * length), load(at + 3 * length)} & here.after_mark[k];
      four |=
          Words{load(at - 1), load(at + length - 1), load(at + 2 * length - 1), load(at + 3 * length - 1)} & here.before_mark[k];
      from_digits<32>(four);
      words[k] = four;
    }
    const Words numbers = (words[0] & 0xFFFF'FFFFu) | words[1] << 32;
    std::memcpy(&rows[i], &numbers, sizeof(numbers));
  }
  for (; i < rows.size(); ++i, row += length) rows[i] = read_row(row, here);
  return rows_before_zero(rows);
}

SIEVECLOTH_VECTORISED
void pick(const Numbers* numbers, std::size_t which, std::span<std::int32_t> values) noexcept {
  for (std::size_t i = 0; i < values.size(); ++i) values[i] = numbers[i][which];
}

}  // namespace

RowShapes::RowShapes(Sample& sample) : shapes_(1) {
  for (std::size_t i = 0; i < kinds_.size(); ++i) kinds_[i].next = kinds_[i].end = waiting_[i].data();
  for (Kind& kind : kinds_) kind.end += k_waiting;
  for (const Direction direction : k_directions) {
    DirectionSample& side = sample[direction];
    for (Summary* const wire : {static_cast<Summary*>(nullptr), &side.wire}) {
      kind_of(direction, Role::sample, true, wire != nullptr).summaries = {&side.aperture, wire};
      kind_of(direction, Role::suspect, true, wire != nullptr).summaries = {&side.suspect, wire};
    }
    kind_of(direction, Role::sample, false, true).summaries = {nullptr, &side.wire};
  }
}

SIEVECLOTH_VECTORISED ShortRows RowShapes::take(std::string_view text, std::size_t at) {
  constexpr std::size_t k_before = 2 * k_word;  // a number's word may begin before its row
  if (std::endian::native != std::endian::little || at < k_before || text.size() < at + k_longest) return {};
  const char* const last = text.data() + text.size() - k_longest;  // a row is read as if it were the longest
  const char* row = text.data() + at;
  const Shape* before = nullptr;
  std::int64_t taken = 0;
  const Kind& blank = kinds_.front();
  const std::int64_t blank_before = blank.taken();
  std::array<Row, k_ahead> rows;
  while (row <= last) {
    // Finding the shapes of several rows before taking their numbers lets a processor work on more rows at a time.
    std::size_t count = 0;
    const char* next = row;
    Found found;
    for (; count < k_ahead && next <= last; next += found.length) {
      found = find(next);
      if (found.shape == nullptr || found.shape == before) break;
      rows[count++] = {next, found.shape};
      before = found.shape;
    }
    const std::size_t good = take_rows({rows.data(), count});
    taken += static_cast<std::int64_t>(good);
    row = good < count ? rows[good].text : next;
    if (good < count || found.shape == nullptr) break;
    if (count == k_ahead || row > last) continue;
    // Where shapes change with every row, looking for more of the same would cost more than it saves.
    const std::size_t run = take_run(row, last, found);
    if (run == 0) break;
    taken += static_cast<std::int64_t>(run);
    row += run * found.length;
  }
  return {static_cast<std::size_t>(row - text.data()) - at, taken, taken - (blank.taken() - blank_before)};
}

// The length comes from the row itself, so that the next row need not wait for the shape.
SIEVECLOTH_PART_OF_LOOP RowShapes::Found RowShapes::find(const char* row) const noexcept {
  const std::size_t length = length_of(row);
  if (length == 0) return {};
  return {length <= 32 ? shape_of<2>(row, length) : shape_of<4>(row, length), length};
}

template <std::size_t pieces>
SIEVECLOTH_PART_OF_LOOP const RowShapes::Shape* RowShapes::shape_of(const char* text, std::size_t length) const noexcept {
  const std::array<Bytes, pieces> row = row_without_digits<pieces>(text, length);
  for (std::size_t slot = first_slot(hash_of(row));; slot = (slot + 1) % k_slots) {
    const Shape& shape = shapes_[slots_[slot]];
    Bytes same = equal(row[0], load_as<Bytes>(shape.row.data()));
    for (std::size_t i = 1; i < pieces; ++i) same &= equal(row[i], load_as<Bytes>(shape.row.data() + 16 * i));
    if (all(same)) return &shape;  // of the same length too: their line ends are in the same place
    if (slots_[slot] == k_no_shape) return nullptr;
  }
}

SIEVECLOTH_PART_OF_LOOP std::size_t RowShapes::first_slot(std::uint64_t hash) noexcept {
  return hash >> (64 - std::countr_zero(k_slots));
}

// Takes these rows, up to the first that holds a zero. Result: how many.
SIEVECLOTH_PART_OF_LOOP std::size_t RowShapes::take_rows(std::span<const Row> rows) {
  std::array<Numbers, k_ahead> numbers;
  for (std::size_t i = 0; i < rows.size(); ++i) numbers[i] = read_row(rows[i].text, rows[i].shape->digits);
  const std::size_t good = rows_before_zero({numbers.data(), rows.size()});
  for (std::size_t i = 0; i < good; ++i) {
    Kind& kind = *rows[i].shape->kind;
    *kind.next++ = numbers[i];
    if (kind.next == kind.end) flush(kind);
  }
  return good;
}

// Takes the row, which is of this shape, and those behind it that are too. Result: how many; 0 where the first holds a zero.
std::size_t RowShapes::take_run(const char* row, const char* last, const Found& found) {
  const auto& [shape, length] = found;
  Kind& kind = *shape->kind;
  const std::size_t most = std::min(kind.room(), static_cast<std::size_t>(last - row) / length + 1);
  const std::size_t alike = 1 + count_alike(row + length, shape->row.data(), length, most - 1);
  const std::size_t good = read_rows(row, length, shape->digits, {kind.next, alike});
  kind.next += good;
  if (kind.next == kind.end) flush(kind);
  return good;
}

void RowShapes::flush(Kind& kind) {
  const auto rows = static_cast<std::size_t>(std::exchange(kind.next, kind.begin()) - kind.begin());
  kind.flushed += static_cast<std::int64_t>(rows);
  std::array<std::int32_t, k_waiting> values;
  for (const std::size_t quantity : {k_aperture, k_wire}) {
    if (kind.summaries[quantity] == nullptr) continue;
    pick(kind.begin(), quantity, {values.data(), rows});
    const Length quantum = Length::from_pm(quantum_pm_[quantity]);
    [[maybe_unused]] const auto refused = kind.summaries[quantity]->add_quanta({values.data(), rows}, quantum);
    assert(!refused);  // `place` let no digits through that could be
  }
}

void RowShapes::flush() {
  for (Kind& kind : kinds_) flush(kind);
}

RowShapes::Kind& RowShapes::kind_of(Direction direction, Role role, bool has_aperture, bool has_wire) noexcept {
  if (!has_aperture && !has_wire) return kinds_.front();
  const std::size_t aperture = !has_aperture ? 0 : role == Role::sample ? 1 : 2;
  return kinds_[(direction == Direction::warp ? 0 : 6) + 2 * aperture + (has_wire ? 1 : 0)];
}

void RowShapes::learn(std::string_view line, const Reading& reading, const std::optional<NumberCell>& aperture,
                      const std::optional<NumberCell>& wire) {
  if (line.size() >= k_longest) return;
  Shape shape;
  const std::size_t length = line.size() + 1;
  // The line end stands in for a number: in the last place, without anything before it.
  shape.digits.after_mark.fill(k_digits & ~first_bytes(k_word - 1));
  shape.digits.word_at.fill(static_cast<std::int64_t>(length) - static_cast<std::int64_t>(k_word));
  if (aperture && !place(shape.digits, k_aperture, *aperture, line)) return;
  if (wire && !place(shape.digits, k_wire, *wire, line)) return;
  shape.kind = &kind_of(reading.direction, reading.role, aperture.has_value(), wire.has_value());
  std::array<char, k_longest> text{};
  std::copy(line.begin(), line.end(), text.begin());
  text[line.size()] = '\n';
  const std::array<Bytes, 4> row = row_without_digits<4>(text.data(), length);
  std::memcpy(shape.row.data(), row.data(), sizeof(row));
  const std::uint64_t hash = length <= 32 ? hash_of<2>({row[0], row[1]}) : hash_of<4>(row);

  if (shapes_.size() > k_most_shapes) forget_shapes();  // the empty one is not counted
  std::size_t slot = first_slot(hash);
  for (; slots_[slot] != k_no_shape; slot = (slot + 1) % k_slots) {
    if (shapes_[slots_[slot]].row == shape.row) return;  // it came too near to an end of its text
  }
  slots_[slot] = static_cast<std::uint16_t>(shapes_.size());
  shapes_.push_back(shape);
}

// Result: false where other digits in these places might not be a reading, or too many in the finest decimal of their column.
bool RowShapes::place(DigitPlaces& places, std::size_t quantity, const NumberCell& cell, std::string_view line) {
  const std::uintptr_t begin = reinterpret_cast<std::uintptr_t>(cell.text.data()) - reinterpret_cast<std::uintptr_t>(line.data());
  const std::size_t mark = std::min(cell.text.find_first_of(".,"), cell.text.size());
  const std::size_t decimals = mark == cell.text.size() ? 0 : cell.text.size() - mark - 1;
  const std::size_t digits = mark + decimals;
  const std::int64_t per_unit = picometres(cell.unit);
  if (begin > line.size() || digits > k_word || per_unit % power_of_ten(decimals) != 0) return false;
  const std::int64_t last_digit_pm = per_unit / power_of_ten(decimals);
  const std::int64_t most = power_of_ten(digits) - 1;
  if (last_digit_pm > k_coarsest_quantum.pm() || most > k_longest_reading.pm() / last_digit_pm) return false;

  if (quantum_pm_[quantity] == 0 || last_digit_pm < quantum_pm_[quantity]) refine(quantity, last_digit_pm);
  std::size_t zeros = 0;  // that make it a number of the finest decimals
  while (last_digit_pm / power_of_ten(zeros) > quantum_pm_[quantity]) ++zeros;
  const std::size_t end =
      begin + cell.text.size() + (decimals == 0 ? 1 : 0) + zeros;  // without decimals there is no mark to leave out
  if (digits + zeros > k_word || end > k_longest) return false;

  const std::uint64_t after = first_bytes(k_word - zeros) & ~first_bytes(k_word - zeros - decimals);
  const std::uint64_t before = first_bytes(k_word - zeros - decimals) & ~first_bytes(k_word - zeros - digits);
  places.after_mark[quantity] = k_digits & after;
  places.before_mark[quantity] = k_digits & before;
  places.word_at[quantity] = static_cast<std::int64_t>(end) - static_cast<std::int64_t>(k_word);
  return true;
}

// Places count in the finest decimal of their column: a finer one makes all of them wrong.
void RowShapes::refine(std::size_t quantity, std::int64_t quantum_pm) {
  flush();
  forget_shapes();
  quantum_pm_[quantity] = quantum_pm;
}

void RowShapes::forget_shapes() {
  shapes_.resize(1);
  slots_.fill(k_no_shape);
}

void RowShapes::forget() {
  forget_shapes();
  for (Kind& kind : kinds_) kind.next = kind.begin();
}

}  // namespace sievecloth
