#include "measurement/row_shapes.hpp"

#include <algorithm>
#include <bit>
#include <cassert>
#include <cstring>

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

SIEVECLOTH_PART_OF_LOOP void store(std::uint64_t* to, Bytes bytes) noexcept { std::memcpy(to, &bytes, sizeof(bytes)); }

// A row is told from others by its bytes XOR '0': exactly the digits are 0 to 9 then, and all of them are made 0.
SIEVECLOTH_PART_OF_LOOP Bytes without_digits(Bytes bytes) noexcept {
  const Bytes from_zero = bytes ^ '0';
  const Bytes digits = reinterpret_cast<Bytes>(from_zero <= 9);
  return from_zero & ~digits;
}

// 0x80 at each LF, 0 elsewhere.
SIEVECLOTH_PART_OF_LOOP Bytes line_ends(Bytes bytes) noexcept { return reinterpret_cast<Bytes>(bytes == '\n') & 0x80; }

SIEVECLOTH_PART_OF_LOOP bool is_zero(Bytes bytes) noexcept {
  std::array<std::uint64_t, 2> words;
  std::memcpy(words.data(), &bytes, sizeof(bytes));
  return (words[0] | words[1]) == 0;
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
constexpr std::array<Pair, 4> k_factors{
    Pair{0x9E37'79B9'7F4A'7C15u, 0xC2B2'AE3D'27D4'EB4Fu}, Pair{0x1656'67B1'9E37'79F9u, 0x85EB'CA77'C2B2'AE63u},
    Pair{0x27D4'EB2F'1656'67C5u, 0xFF51'AFD7'ED55'8CCDu}, Pair{0xC4CE'B9FE'1A85'EC53u, 0x2545'F491'4F6C'DD1Du}};

template <std::size_t pieces>
SIEVECLOTH_PART_OF_LOOP std::uint64_t hash_of(const std::array<Bytes, pieces>& row) noexcept {
  Pair sum{};
  for (std::size_t i = 0; i < pieces; ++i) sum += reinterpret_cast<Pair>(row[i]) * k_factors[i];
  const std::uint64_t both = sum[0] + sum[1];
  return (both ^ both >> 32) * k_factors[0][0];
}

// Length of the row with its LF, 0 where that is not among its first 64 bytes. Rows of up to 32 bytes all take the same steps: a
// branch on what differs from row to row would cost more than it saves.
SIEVECLOTH_PART_OF_LOOP std::size_t length_of(const char* row) noexcept {
  std::size_t length = 0;
  for (std::size_t half = 0; half < 64 && length == 0; half += 32) {
    std::array<std::uint64_t, 4> ends;
    store(&ends[0], line_ends(load_bytes(row + half)));
    store(&ends[2], line_ends(load_bytes(row + half + 16)));
    for (std::size_t i = ends.size(); i-- > 0;)
      length = ends[i] == 0 ? length : half + i * k_word + static_cast<std::size_t>(std::countr_zero(ends[i])) / 8 + 1;
  }
  return length;
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
    Bytes difference = (without_digits(load_bytes(row + 16 * (pieces - 1))) ^ expected[pieces - 1]) & last_mask;
    for (std::size_t i = 0; i + 1 < pieces; ++i) difference |= without_digits(load_bytes(row + 16 * i)) ^ expected[i];
    if (!is_zero(difference)) break;
  }
  return count;
}

constexpr std::array k_count_alike{count_alike<1>, count_alike<2>, count_alike<3>, count_alike<4>};

// Eight digits, each in the low half of its byte, as a number: tens of pairs, then hundreds of fours, then all. `Digits` is a word
// or several of them side by side.
template <class Digits>
SIEVECLOTH_PART_OF_LOOP Digits from_digits(Digits digits) noexcept {
  const Digits pairs = (digits & 0x00FF'00FF'00FF'00FFu) * 10u + (digits >> 8 & 0x00FF'00FF'00FF'00FFu);
  const Digits fours = (pairs & 0x0000'FFFF'0000'FFFFu) * 100u + (pairs >> 16 & 0x0000'FFFF'0000'FFFFu);
  return (fours & 0xFFFF'FFFFu) * 10'000u + (fours >> 32);
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
bool read_values(const char* word, std::size_t length, std::size_t rows, const DigitPlaces& places, std::int32_t* values) noexcept {
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

RowShapes::RowShapes(Sample& sample) {
  std::size_t next = 0;
  for (const Direction direction : k_directions) {
    queues_[next++].summary = &sample[direction].aperture;
    queues_[next++].summary = &sample[direction].suspect;
    queues_[next].quantity = k_wire;
    queues_[next++].summary = &sample[direction].wire;
  }
  auto values = values_.begin();
  for (Queue& queue : queues_) queue.values = values++->data();
  for (Queue& queue : nowhere_) queue.values = values++->data();
}

SIEVECLOTH_VECTORISED ShortRows RowShapes::take(std::string_view text, std::size_t at) {
  ShortRows taken;
  constexpr std::size_t k_before = 2 * k_word;  // a number's word may begin before its row
  if (std::endian::native != std::endian::little || at < k_before || text.size() < at + k_longest) return taken;
  const char* const last = text.data() + text.size() - k_longest;  // a row is read as if it were the longest
  const char* row = text.data() + at;
  const Shape* before = nullptr;
  while (row <= last) {
    const Found found = find(row);
    if (found.shape == nullptr) break;
    // Where shapes change with every row, looking for more of the same would cost more than it saves.
    const std::size_t rows = found.shape == before ? take_run(row, last, *found.shape) : take_row(row, *found.shape);
    if (rows == 0) break;
    before = found.shape;
    taken.rows += static_cast<std::int64_t>(rows);
    taken.with_reading += static_cast<std::int64_t>(rows * found.shape->readings);
    row += rows * found.length;
  }
  taken.bytes = static_cast<std::size_t>(row - text.data()) - at;
  return taken;
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
  for (std::size_t slot = first_slot(hash_of(row)); slots_[slot] != 0; slot = (slot + 1) % k_slots) {
    const Shape& shape = shapes_[slots_[slot] - 1u];
    Bytes difference{};
    for (std::size_t i = 0; i < pieces; ++i) difference |= row[i] ^ load_bytes(shape.row.data() + 16 * i);
    if (is_zero(difference) && shape.length == length) return &shape;
  }
  return nullptr;
}

SIEVECLOTH_PART_OF_LOOP std::size_t RowShapes::first_slot(std::uint64_t hash) noexcept {
  return hash >> (64 - std::countr_zero(k_slots));
}

// Takes one row of this shape. Result: 1, or 0 where it holds a zero.
SIEVECLOTH_PART_OF_LOOP std::size_t RowShapes::take_row(const char* row, const Shape& shape) {
  const DigitPlaces& places = shape.numbers[0].digits;
  const DigitPlaces& more_places = shape.numbers[1].digits;
  const Pair both =
      from_digits(Pair{digits_of(row + shape.numbers[0].word_at, places), digits_of(row + shape.numbers[1].word_at, more_places)});
  const std::int32_t first = in_quanta(both[0], places);
  const std::int32_t second = in_quanta(both[1], more_places);
  if (first == 0 || second == 0) return 0;
  push(*shape.numbers[0].queue, first);
  push(*shape.numbers[1].queue, second);
  return 1;
}

SIEVECLOTH_PART_OF_LOOP void RowShapes::push(Queue& queue, std::int32_t value) {
  queue.values[queue.size] = value;
  if (++queue.size == k_block_readings) flush(queue);
}

// Takes the row, which is of this shape, and those behind it that are too. Result: how many; 0 where the first holds a zero.
std::size_t RowShapes::take_run(const char* row, const char* last, const Shape& shape) {
  std::size_t most = k_block_readings;
  for (const Number& number : shape.numbers) most = std::min(most, k_block_readings - number.queue->size);
  const auto count = k_count_alike[(shape.length - 1) / sizeof(Bytes)];
  std::size_t rows = 1 + count(row + shape.length, last, shape.row.data(), shape.length, most - 1);
  for (const Number& number : shape.numbers) {
    std::int32_t* const values = number.queue->values + number.queue->size;
    if (read_values(row + number.word_at, shape.length, rows, number.digits, values)) continue;
    rows = static_cast<std::size_t>(std::find(values, values + rows, 0) - values);
  }
  for (const Number& number : shape.numbers) {
    number.queue->size += rows;
    if (number.queue->size == k_block_readings) flush(*number.queue);
  }
  return rows;
}

void RowShapes::flush(Queue& queue) {
  const std::size_t size = std::exchange(queue.size, 0);
  if (queue.summary == nullptr) return;
  const Length quantum = Length::from_pm(quantum_pm_[queue.quantity]);
  [[maybe_unused]] const auto refused = queue.summary->add_quanta(std::span(queue.values, size), quantum);
  assert(!refused);  // `place` let no digits through that could be
}

void RowShapes::flush() {
  for (Queue& queue : queues_) flush(queue);
}

void RowShapes::learn(std::string_view line, const Reading& reading, const std::optional<NumberCell>& aperture,
                      const std::optional<NumberCell>& wire) {
  if (line.size() >= k_longest) return;
  Shape shape;
  shape.length = static_cast<std::uint32_t>(line.size() + 1);
  shape.readings = aperture || wire ? 1 : 0;
  for (std::size_t i = 0; i < shape.numbers.size(); ++i) shape.numbers[i].queue = &nowhere_[i];
  Queue* const queues = &queues_[reading.direction == Direction::warp ? 0 : 3];
  if (aperture && !place(shape.numbers[0], *aperture, line, queues[reading.role == Role::sample ? 0 : 1])) return;
  if (wire && !place(shape.numbers[1], *wire, line, queues[2])) return;
  std::array<char, k_longest> text{};
  std::copy(line.begin(), line.end(), text.begin());
  text[line.size()] = '\n';
  const std::array<Bytes, 4> row = row_without_digits<4>(text.data(), shape.length);
  std::memcpy(shape.row.data(), row.data(), sizeof(row));
  const std::uint64_t hash = shape.length <= 32 ? hash_of<2>({row[0], row[1]}) : hash_of<4>(row);

  if (shapes_.size() == k_most_shapes) forget_shapes();
  std::size_t slot = first_slot(hash);
  for (; slots_[slot] != 0; slot = (slot + 1) % k_slots) {
    if (shapes_[slots_[slot] - 1u].row == shape.row) return;  // it came too near to an end of its text
  }
  shapes_.push_back(shape);
  slots_[slot] = static_cast<std::uint16_t>(shapes_.size());
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
  number.word_at = static_cast<std::int32_t>(begin + cell.text.size()) - static_cast<std::int32_t>(k_word);
  if (decimals == 0) number.word_at += 1;  // no mark to leave out
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
  shapes_.clear();
  slots_.fill(0);
}

void RowShapes::forget() {
  forget_shapes();
  for (Queue& queue : queues_) queue.size = 0;
}

}  // namespace sievecloth
