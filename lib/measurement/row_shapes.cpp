#include "measurement/row_shapes.hpp"

#include <algorithm>
#include <bit>
#include <cassert>
#include <cstring>

#ifdef __SSE2__
#include <emmintrin.h>
#endif

#include "measurement/vectorised.hpp"

namespace sievecloth {
namespace {

constexpr std::size_t k_word = sizeof(std::uint64_t);
constexpr std::uint64_t k_each_byte = 0x0101'0101'0101'0101u;

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

// Sixteen bytes at once, which every machine of 64 bits has instructions for.
using Bytes = std::uint8_t __attribute__((vector_size(16)));

SIEVECLOTH_PART_OF_LOOP Bytes load_bytes(const void* from) noexcept {
  Bytes bytes;
  std::memcpy(&bytes, from, sizeof(bytes));
  return bytes;
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

// A row is told from others by its bytes XOR '0': exactly the digits are 0 to 9 then, and all of them are made 0.
SIEVECLOTH_PART_OF_LOOP Bytes without_digits(Bytes bytes) noexcept {
  const Bytes from_zero = bytes ^ '0';
  const Bytes digits = reinterpret_cast<Bytes>(from_zero <= 9);
  return from_zero & ~digits;
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
  for (std::size_t i = 0; i < pieces; ++i)
    row[i] = without_digits(load_bytes(text + 16 * i)) & load_bytes(k_row_mask.data() + 64 - length + 16 * i);
  return row;
}

using Pair = std::uint64_t __attribute__((vector_size(16)));

// Where the search for a row begins: the pieces shifted, so that equal bytes sixteen apart do not make up for each other, and both
// halves of their sum spread over the highest bits.
template <std::size_t pieces>
SIEVECLOTH_PART_OF_LOOP std::uint64_t hash_of(const std::array<Bytes, pieces>& row) noexcept {
  Pair sum = reinterpret_cast<Pair>(row[0]);
  for (std::size_t i = 1; i < pieces; ++i) sum += reinterpret_cast<Pair>(row[i]) << (3 * i);
  return sum[0] * 0x9E37'79B9'7F4A'7C15u + sum[1] * 0xC2B2'AE3D'27D4'EB4Fu;
}

// A bit for each LF among 32 bytes.
SIEVECLOTH_PART_OF_LOOP std::uint32_t line_ends(const char* text) noexcept {
  constexpr Bytes k_ends = Bytes{} + '\n';
  return bits_of(equal(load_bytes(text), k_ends)) | bits_of(equal(load_bytes(text + 16), k_ends)) << 16;
}

// Length of the row with its LF, 0 where that is not among its first 64 bytes. Rows of up to 32 bytes all take the same steps: a
// branch on what differs from row to row would cost more than it saves.
SIEVECLOTH_PART_OF_LOOP std::size_t length_of(const char* row) noexcept {
  if (const std::uint32_t ends = line_ends(row); ends != 0) return static_cast<std::size_t>(std::countr_zero(ends)) + 1;
  const std::uint32_t ends = line_ends(row + 32);
  return ends == 0 ? 0 : static_cast<std::size_t>(std::countr_zero(ends)) + 33;
}

// Counts the rows from `row` on that are alike in `length` bytes, which lie in so many pieces of 16, but for their digits: up to
// `most` of them, and none that begins behind `last`.
template <std::size_t pieces>
std::size_t count_alike(const char* row, const char* last, const std::uint8_t* shape, std::size_t length,
                        std::size_t most) noexcept {
  std::array<Bytes, pieces> expected;
  for (std::size_t i = 0; i < pieces; ++i) expected[i] = load_bytes(shape + 16 * i);
  const Bytes last_mask = load_bytes(k_row_mask.data() + 64 - length + 16 * (pieces - 1));
  std::size_t count = 0;
  for (; count < most && row <= last; ++count, row += length) {
    Bytes same = equal(without_digits(load_bytes(row + 16 * (pieces - 1))) & last_mask, expected[pieces - 1]);
    for (std::size_t i = 0; i + 1 < pieces; ++i) same &= equal(without_digits(load_bytes(row + 16 * i)), expected[i]);
    if (!all(same)) break;
  }
  return count;
}

constexpr std::array k_count_alike{count_alike<1>, count_alike<2>, count_alike<3>, count_alike<4>};

// Eight digits, each in the low half of its byte, as a number: tens of pairs, then hundreds of fours, then all. In steps that
// compilers turn into vector instructions for several numbers side by side.
SIEVECLOTH_PART_OF_LOOP std::uint64_t from_digits(std::uint64_t digits) noexcept {
  const std::uint64_t pairs = (digits & 0x00FF'00FF'00FF'00FFu) * 10 + (digits >> 8 & 0x00FF'00FF'00FF'00FFu);
  const std::uint64_t fours = (pairs & 0x0000'FFFF'0000'FFFFu) * 100 + (pairs >> 16 & 0x0000'FFFF'0000'FFFFu);
  return (fours & 0xFFFF'FFFFu) * 10'000 + (fours >> 32);
}

// The digits of the number whose last word begins at `word`.
SIEVECLOTH_PART_OF_LOOP std::uint64_t digits_of(const char* word, const DigitPlaces& places) noexcept {
  return (load(word) & places.after_mark) | (load(word - 1) & places.before_mark);
}

SIEVECLOTH_PART_OF_LOOP std::int32_t in_quanta(std::uint64_t number, const DigitPlaces& places) noexcept {
  return static_cast<std::int32_t>(number) * places.scale + places.stand_in;
}

// Reads one number in each of so many rows of one length. Result: false where one is zero.
SIEVECLOTH_VECTORISED
bool read_values(const char* row, std::size_t length, std::size_t rows, const DigitPlaces& places, std::int32_t* values) noexcept {
  const char* const word = row + places.word_at;
  const DigitPlaces here = places;  // which no write to the values can change
  std::int32_t below_zero = 0;
  for (std::size_t i = 0; i < rows; ++i) {
    const std::int32_t value = in_quanta(from_digits(digits_of(word + i * length, here)), here);
    values[i] = value;
    below_zero |= value - 1;
  }
  return below_zero >= 0;
}

}  // namespace

RowShapes::RowShapes(Sample& sample) : shapes_(1) {
  std::size_t next = 0;
  for (const Direction direction : k_directions) {
    queues_[next++].summary = &sample[direction].aperture;
    queues_[next++].summary = &sample[direction].suspect;
    queues_[next].quantity = k_wire;
    queues_[next++].summary = &sample[direction].wire;
  }
  auto values = values_.begin();
  const auto give_room = [&](Queue& queue) {
    queue.next = values++->data();
    queue.end = queue.next + k_block_readings;
  };
  for (Queue& queue : queues_) give_room(queue);
  for (Queue& queue : nowhere_) give_room(queue);
  give_room(blank_);
}

SIEVECLOTH_VECTORISED ShortRows RowShapes::take(std::string_view text, std::size_t at) {
  constexpr std::size_t k_before = 2 * k_word;  // a number's word may begin before its row
  if (std::endian::native != std::endian::little || at < k_before || text.size() < at + k_longest) return {};
  const char* const last = text.data() + text.size() - k_longest;  // a row is read as if it were the longest
  const char* row = text.data() + at;
  const Shape* before = nullptr;
  std::int64_t taken = 0;
  const auto result = [&, blank = blank_.taken()] {
    return ShortRows{static_cast<std::size_t>(row - text.data()) - at, taken, taken - (blank_.taken() - blank)};
  };
  // Finding the shapes of several rows before taking their numbers lets a processor work on more rows at a time.
  std::array<Found, 32> ahead;
  while (row <= last) {
    std::size_t found = 0;
    for (const char* next = row; found < ahead.size() && next <= last; next += ahead[found++].length) {
      ahead[found] = find(next);
      if (ahead[found].shape == nullptr || ahead[found].shape == before) break;
      before = ahead[found].shape;
    }
    for (std::size_t i = 0; i < found; ++i, ++taken) {
      if (!take_row(row, *ahead[i].shape)) return result();
      row += ahead[i].length;
    }
    if (found == ahead.size() || row > last) continue;
    if (ahead[found].shape == nullptr) break;
    // Where shapes change with every row, looking for more of the same would cost more than it saves.
    const std::size_t rows = take_run(row, last, ahead[found]);
    if (rows == 0) break;
    taken += static_cast<std::int64_t>(rows);
    row += rows * ahead[found].length;
  }
  return result();
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
    Bytes same = equal(row[0], load_bytes(shape.row.data()));
    for (std::size_t i = 1; i < pieces; ++i) same &= equal(row[i], load_bytes(shape.row.data() + 16 * i));
    if (all(same)) return &shape;  // of the same length too: their line ends are in the same place
    if (slots_[slot] == k_no_shape) return nullptr;
  }
}

SIEVECLOTH_PART_OF_LOOP std::size_t RowShapes::first_slot(std::uint64_t hash) noexcept {
  return hash >> (64 - std::countr_zero(k_slots));
}

// Takes one row of this shape. Result: false where it holds a zero.
SIEVECLOTH_PART_OF_LOOP bool RowShapes::take_row(const char* row, const Shape& shape) {
  const auto& [number, other] = shape.numbers;
  const std::int32_t value = in_quanta(from_digits(digits_of(row + number.digits.word_at, number.digits)), number.digits);
  const std::int32_t other_value = in_quanta(from_digits(digits_of(row + other.digits.word_at, other.digits)), other.digits);
  if (value == 0 || other_value == 0) return false;
  push(*number.queue, value);
  push(*other.queue, other_value);
  return true;
}

SIEVECLOTH_PART_OF_LOOP void RowShapes::push(Queue& queue, std::int32_t value) {
  *queue.next++ = value;
  if (queue.next == queue.end) flush(queue);
}

// Takes the row, which is of this shape, and those behind it that are too. Result: how many; 0 where the first holds a zero.
std::size_t RowShapes::take_run(const char* row, const char* last, const Found& found) {
  const auto& [shape, length] = found;
  std::size_t most = k_block_readings;
  for (const Number& number : shape->numbers) most = std::min(most, number.queue->room());
  const auto count = k_count_alike[(length - 1) / sizeof(Bytes)];
  std::size_t rows = 1 + count(row + length, last, shape->row.data(), length, most - 1);
  for (const Number& number : shape->numbers) {
    std::int32_t* const values = number.queue->next;
    if (read_values(row, length, rows, number.digits, values)) continue;
    rows = static_cast<std::size_t>(std::find(values, values + rows, 0) - values);
  }
  for (const Number& number : shape->numbers) {
    number.queue->next += rows;
    if (number.queue->next == number.queue->end) flush(*number.queue);
  }
  return rows;
}

void RowShapes::flush(Queue& queue) {
  const std::span<const std::int32_t> values(queue.begin(), std::exchange(queue.next, queue.begin()));
  queue.flushed += static_cast<std::int64_t>(values.size());
  if (queue.summary == nullptr) return;
  const Length quantum = Length::from_pm(quantum_pm_[queue.quantity]);
  [[maybe_unused]] const auto refused = queue.summary->add_quanta(values, quantum);
  assert(!refused);  // `place` let no digits through that could be
}

void RowShapes::flush() {
  for (Queue& queue : queues_) flush(queue);
}

void RowShapes::learn(std::string_view line, const Reading& reading, const std::optional<NumberCell>& aperture,
                      const std::optional<NumberCell>& wire) {
  if (line.size() >= k_longest) return;
  Shape shape;
  shape.numbers[0].queue = aperture || wire ? &nowhere_[0] : &blank_;
  shape.numbers[1].queue = &nowhere_[1];
  Queue* const queues = &queues_[reading.direction == Direction::warp ? 0 : 3];
  if (aperture && !place(shape.numbers[0], *aperture, line, queues[reading.role == Role::sample ? 0 : 1])) return;
  if (wire && !place(shape.numbers[1], *wire, line, queues[2])) return;
  std::array<char, k_longest> text{};
  std::copy(line.begin(), line.end(), text.begin());
  text[line.size()] = '\n';
  const std::size_t length = line.size() + 1;
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

// Result: false where other digits in these places might not be a reading, or not fit 32 bits.
bool RowShapes::place(Number& number, const NumberCell& cell, std::string_view line, Queue& queue) {
  const std::uintptr_t begin = reinterpret_cast<std::uintptr_t>(cell.text.data()) - reinterpret_cast<std::uintptr_t>(line.data());
  const std::size_t mark = std::min(cell.text.find_first_of(".,"), cell.text.size());
  const std::size_t decimals = mark == cell.text.size() ? 0 : cell.text.size() - mark - 1;
  const std::size_t digits = mark + decimals;
  const std::int64_t per_unit = picometres(cell.unit);
  if (begin > line.size() || digits > k_word || per_unit % power_of_ten(decimals) != 0) return false;
  const std::int64_t last_digit_pm = per_unit / power_of_ten(decimals);
  const std::int64_t most = power_of_ten(digits) - 1;
  if (last_digit_pm > k_coarsest_quantum.pm() || most > k_longest_reading.pm() / last_digit_pm) return false;

  const std::size_t quantity = queue.quantity;
  if (quantum_pm_[quantity] == 0 || last_digit_pm < quantum_pm_[quantity]) refine(quantity, last_digit_pm);
  const std::int64_t scale = last_digit_pm / quantum_pm_[quantity];
  if (most * scale > INT32_MAX) return false;

  constexpr std::uint64_t k_digits = k_each_byte * 0x0F;
  number.digits.after_mark = k_digits & ~first_bytes(k_word - decimals);
  number.digits.before_mark = k_digits & first_bytes(k_word - decimals) & ~first_bytes(k_word - digits);
  const std::size_t end = begin + cell.text.size() + (decimals == 0 ? 1 : 0);  // without decimals there is no mark to leave out
  number.digits.word_at = static_cast<std::int16_t>(static_cast<std::int64_t>(end) - static_cast<std::int64_t>(k_word));
  number.digits.scale = static_cast<std::int32_t>(scale);
  number.digits.stand_in = 0;
  number.queue = &queue;
  return true;
}

// Scales count in the finest decimal of their column: a finer one makes all of them wrong.
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
  for (Queue& queue : queues_) queue.next = queue.begin();
}

}  // namespace sievecloth
