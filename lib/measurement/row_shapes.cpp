#include "measurement/row_shapes.hpp"

#include <algorithm>
#include <bit>
#include <cassert>
#include <cstring>

#include "base/text.hpp"

namespace sievecloth {
namespace {

constexpr std::size_t k_word = sizeof(std::uint64_t);
constexpr std::uint64_t k_each_byte = 0x0101'0101'0101'0101u;

std::uint64_t load(const char* from) noexcept {
  std::uint64_t word;
  std::memcpy(&word, from, k_word);
  return word;
}

// The lowest `bytes` bytes, those that come first in the text.
constexpr std::uint64_t first_bytes(std::size_t bytes) noexcept {
  return bytes >= k_word ? ~std::uint64_t{0} : (std::uint64_t{1} << (8 * bytes)) - 1;
}

constexpr std::uint64_t hashed(std::uint64_t hash, std::uint64_t word) noexcept { return (hash ^ word) * 0x9E37'79B9'7F4A'7C15u; }

// Eight digits, each in the low half of its byte, as a number: tens of pairs, then hundreds of fours, then all.
constexpr std::int32_t from_digits(std::uint64_t digits) noexcept {
  digits = (digits * ((10 << 8) + 1)) >> 8 & 0x00FF'00FF'00FF'00FFu;
  digits = (digits * ((100 << 16) + 1)) >> 16 & 0x0000'FFFF'0000'FFFFu;
  return static_cast<std::int32_t>((digits * ((std::uint64_t{10'000} << 32) + 1)) >> 32);
}

constexpr std::int64_t power_of_ten(std::size_t exponent) noexcept {
  std::int64_t power = 1;
  for (; exponent > 0; --exponent) power *= 10;
  return power;
}

enum Quantity : std::size_t { k_aperture, k_wire };

// Sixteen bytes at once, which every machine of 64 bits has instructions for.
using Bytes = std::uint8_t __attribute__((vector_size(16)));

Bytes load_bytes(const void* from) noexcept {
  Bytes bytes;
  std::memcpy(&bytes, from, sizeof(bytes));
  return bytes;
}

void store(std::uint64_t* to, Bytes bytes) noexcept { std::memcpy(to, &bytes, sizeof(bytes)); }

// A row is told from others by its bytes XOR '0': exactly the digits are 0 to 9 then, and all of them are made 0.
Bytes without_digits(Bytes bytes) noexcept {
  const Bytes from_zero = bytes ^ '0';
  const Bytes digits = reinterpret_cast<Bytes>(from_zero <= 9);
  return from_zero & ~digits;
}

// 0x80 at each LF, 0 elsewhere.
Bytes line_ends(Bytes bytes) noexcept { return reinterpret_cast<Bytes>(bytes == '\n') & 0x80; }

bool is_zero(Bytes bytes) noexcept {
  std::array<std::uint64_t, 2> words;
  std::memcpy(words.data(), &bytes, sizeof(bytes));
  return (words[0] | words[1]) == 0;
}

// At 16 - n: ones for the n bytes of a row in its last piece, zeros for what follows it.
constexpr std::array<std::uint8_t, 32> k_row_mask{255, 255, 255, 255, 255, 255, 255, 255, 255, 255, 255, 255, 255, 255, 255, 255};

// Counts the rows from `row` on that are alike in `length` bytes, which lie in so many pieces of 16, but for their digits: up to
// `most` of them, and none that begins behind `last`.
template <std::size_t pieces>
std::size_t count_alike(const char* row, const char* last, const std::uint64_t* shape, std::size_t length,
                        std::size_t most) noexcept {
  std::array<Bytes, pieces> expected;
  for (std::size_t i = 0; i < pieces; ++i) expected[i] = load_bytes(shape + 2 * i);
  const Bytes last_mask = load_bytes(k_row_mask.data() + 16 * pieces - length);
  std::size_t count = 0;
  for (; count < most && row <= last; ++count, row += length) {
    Bytes difference = (without_digits(load_bytes(row + 16 * (pieces - 1))) ^ expected[pieces - 1]) & last_mask;
    for (std::size_t i = 0; i + 1 < pieces; ++i) difference |= without_digits(load_bytes(row + 16 * i)) ^ expected[i];
    if (!is_zero(difference)) break;
  }
  return count;
}

constexpr std::array k_count_alike{count_alike<1>, count_alike<2>, count_alike<3>, count_alike<4>};

}  // namespace

RowShapes::RowShapes(Sample& sample) {
  std::size_t next = 0;
  for (const Direction direction : k_directions) {
    queues_[next++].summary = &sample[direction].aperture;
    queues_[next++].summary = &sample[direction].suspect;
    queues_[next].quantity = k_wire;
    queues_[next++].summary = &sample[direction].wire;
  }
}

ShortRows RowShapes::take(std::string_view text, std::size_t at) {
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

// Every row of up to 32 bytes takes the same steps: a branch on what differs from row to row would cost more than it saves. The
// length comes from the row itself, so that the next row need not wait for the shape.
RowShapes::Found RowShapes::find(const char* row) const noexcept {
  alignas(Bytes) Words words;
  alignas(Bytes) std::array<std::uint64_t, k_half> ends;
  std::uint64_t hash = 0;
  std::size_t length = 0;
  for (std::size_t half = 0; length == 0; half += k_half) {
    if (half == words.size()) return {};
    for (std::size_t i = 0; i < k_half; i += 2) {
      const Bytes bytes = load_bytes(row + (half + i) * k_word);
      store(&words[half + i], without_digits(bytes));
      store(&ends[i], line_ends(bytes));
    }
    std::uint64_t in_row = ~std::uint64_t{0};
    for (std::size_t i = 0; i < k_half; ++i) {
      words[half + i] &= in_row & (ends[i] ^ (ends[i] - 1));  // up to the first LF of the word, or all of it
      in_row = ends[i] == 0 ? in_row : 0;
      hash = hashed(hash, words[half + i]);
    }
    for (std::size_t i = k_half; i-- > 0;)
      length = ends[i] == 0 ? length : (half + i) * k_word + static_cast<std::size_t>(std::countr_zero(ends[i])) / 8 + 1;
  }
  for (std::size_t slot = first_slot(hash); slots_[slot] != 0; slot = (slot + 1) % k_slots) {
    const Shape& shape = shapes_[slots_[slot] - 1u];
    std::uint64_t difference = shape.length ^ length;
    for (std::size_t i = 0; i < k_half; ++i) difference |= words[i] ^ shape.words[i];
    if (length > k_half * k_word) {
      for (std::size_t i = k_half; i < words.size(); ++i) difference |= words[i] ^ shape.words[i];
    }
    if (difference == 0) return {&shape, length};
  }
  return {};
}

std::size_t RowShapes::first_slot(std::uint64_t hash) noexcept { return hash >> (64 - std::countr_zero(k_slots)); }

std::int32_t RowShapes::value(const char* row, const Number& number) noexcept {
  const char* const word = row + number.word_at;
  const std::uint64_t digits = (load(word) & number.after_mark) | (load(word - 1) & number.before_mark);
  return from_digits(digits) * number.scale + number.stand_in;
}

// Takes one row of this shape. Result: 1, or 0 where it holds a zero.
std::size_t RowShapes::take_row(const char* row, const Shape& shape) {
  const std::int32_t first = value(row, shape.numbers[0]);
  const std::int32_t second = value(row, shape.numbers[1]);
  if (first == 0 || second == 0) return 0;
  push(*shape.numbers[0].queue, first);
  push(*shape.numbers[1].queue, second);
  return 1;
}

void RowShapes::push(Queue& queue, std::int32_t value) {
  queue.values[queue.size] = value;
  if (++queue.size == k_block_readings) flush(queue);
}

// Takes the row, which is of this shape, and those behind it that are too. Result: how many; 0 where the first holds a zero.
std::size_t RowShapes::take_run(const char* row, const char* last, const Shape& shape) {
  std::size_t most = k_block_readings;
  for (const Number& number : shape.numbers) most = std::min(most, k_block_readings - number.queue->size);
  const auto count = k_count_alike[(shape.length - 1) / sizeof(Bytes)];
  std::size_t rows = 1 + count(row + shape.length, last, shape.words.data(), shape.length, most - 1);
  for (const Number number : shape.numbers) {
    std::int32_t* const values = number.queue->values.data() + number.queue->size;
    const char* next = row;
    std::int32_t below_zero = 0;
    for (std::size_t i = 0; i < rows; ++i, next += shape.length) {
      values[i] = value(next, number);
      below_zero |= values[i] - 1;
    }
    if (below_zero < 0) rows = static_cast<std::size_t>(std::find(values, values + rows, 0) - values);
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
  [[maybe_unused]] const auto refused = queue.summary->add_quanta(std::span(queue.values).first(size), quantum);
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
  std::array<char, k_longest> text;
  text.fill('0');  // which leaves nothing
  std::copy(line.begin(), line.end(), text.begin());
  text[line.size()] = '\n';
  std::uint64_t hash = 0;
  for (std::size_t i = 0; i < shape.words.size(); i += 2) store(&shape.words[i], without_digits(load_bytes(&text[i * k_word])));
  for (std::size_t i = 0; i < (shape.length > k_half * k_word ? shape.words.size() : k_half); ++i)
    hash = hashed(hash, shape.words[i]);

  if (shapes_.size() == k_most_shapes) forget_shapes();
  shapes_.reserve(k_most_shapes);  // pointers to shapes stay good
  std::size_t slot = first_slot(hash);
  for (; slots_[slot] != 0; slot = (slot + 1) % k_slots) {
    if (shapes_[slots_[slot] - 1u].words == shape.words) return;  // it came too near to an end of its text
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
  number.after_mark = k_digits & ~first_bytes(k_word - decimals);
  number.before_mark = k_digits & first_bytes(k_word - decimals) & ~first_bytes(k_word - digits);
  number.word_at = static_cast<std::int32_t>(begin + cell.text.size()) - static_cast<std::int32_t>(k_word);
  if (decimals == 0) number.word_at += 1;  // no mark to leave out
  number.scale = static_cast<std::int32_t>(scale);
  number.stand_in = 0;
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
