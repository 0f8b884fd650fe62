#include "measurement/row_shapes.hpp"

#include <algorithm>
#include <bit>
#include <cassert>
#include <cstring>
#include <utility>

#include "measurement/vectors.hpp"

namespace sievecloth {
namespace {

constexpr std::size_t k_word = sizeof(std::uint64_t);
constexpr std::uint64_t k_digits = 0x0F0F'0F0F'0F0F'0F0Fu;  // the low halves of bytes

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

// A bit for each LF among 64 bytes.
template <class Vectors>
SIEVECLOTH_PART_OF_LOOP std::uint64_t line_ends(const char* text) noexcept {
  using Bytes = typename Vectors::Bytes;
  std::uint64_t bits = 0;
  for (std::size_t i = 0; i < 64; i += sizeof(Bytes)) {
    const auto found = load_as<Bytes>(text + i) == Bytes{} + std::uint8_t{'\n'};
    bits |= std::uint64_t{Vectors::highest_bits(reinterpret_cast<Bytes>(found))} << i;
  }
  return bits;
}

// At 64 - n: ones for the n bytes of a row, zeros for what follows it.
constexpr auto k_row_mask = [] {
  std::array<std::uint8_t, 128> mask{};
  std::fill_n(mask.begin(), 64, std::uint8_t{0xFF});
  return mask;
}();

// A row of so many bytes at most, without its digits and what follows it. XOR '0' makes exactly the digits 0 to 9, and then all of
// them are made 9.
template <class Vectors, std::size_t size>
class RowBytes {
 public:
  using Bytes = typename Vectors::Bytes;

  SIEVECLOTH_PART_OF_LOOP RowBytes(const char* text, std::size_t length) noexcept {
    const std::uint8_t* const mask = k_row_mask.data() + 64 - length;
    for (std::size_t i = 0; i < size; i += sizeof(Bytes)) {
      const Bytes nines = Bytes{} + std::uint8_t{9};
      const Bytes from_zero = load_as<Bytes>(text + i) ^ std::uint8_t{'0'};
      pieces_[i / sizeof(Bytes)] = (from_zero > nines ? from_zero : nines) & load_as<Bytes>(mask + i);
    }
  }

  SIEVECLOTH_PART_OF_LOOP bool is(const std::uint8_t* row) const noexcept {
    std::uint32_t equal = ~std::uint32_t{0} >> (32 - sizeof(Bytes));
    for (const Bytes& piece : pieces_) {
      equal &= Vectors::highest_bits(reinterpret_cast<Bytes>(piece == load_as<Bytes>(row)));
      row += sizeof(Bytes);
    }
    return equal == ~std::uint32_t{0} >> (32 - sizeof(Bytes));
  }

  // Of 250 random factors the one with which the shapes of five ways of writing a file are told apart best: as well as by chance.
  SIEVECLOTH_PART_OF_LOOP std::uint64_t hash() const noexcept {
    using Words = Vector<std::uint32_t, sizeof(Bytes)>;
    std::uint64_t bits = 0;
    for (std::size_t i = 0; i < pieces_.size(); ++i) {
      const Words mixed = reinterpret_cast<Words>(pieces_[i]) * 0x6EDF'BAF9u;
      bits |= std::uint64_t{Vectors::highest_bits(reinterpret_cast<Bytes>(mixed))} << (i * sizeof(Bytes));
    }
    return bits * 0x9E37'79B9'7F4A'7C15u;  // which takes all of them to its highest bits
  }

  void write(std::uint8_t* row) const noexcept { std::memcpy(row, pieces_.data(), size); }

 private:
  std::array<Bytes, size / sizeof(Bytes)> pieces_;
};

template <class Vectors, std::size_t size>
SIEVECLOTH_PART_OF_LOOP std::size_t count_alike_in(const char* row, const std::uint8_t* shape, std::size_t length,
                                                   std::size_t most) noexcept {
  for (std::size_t count = 0; count < most; ++count, row += length) {
    if (!RowBytes<Vectors, size>(row, length).is(shape)) return count;
  }
  return most;
}

// Counts the rows from `row` on that are of this shape, up to `most` of them.
template <class Vectors>
SIEVECLOTH_PART_OF_LOOP std::size_t count_alike(const char* row, const std::uint8_t* shape, std::size_t length,
                                                std::size_t most) noexcept {
  return length <= 32 ? count_alike_in<Vectors, 32>(row, shape, length, most)
                      : count_alike_in<Vectors, 64>(row, shape, length, most);
}

SIEVECLOTH_PART_OF_LOOP Digits digits_of(const char* row, const DigitPlaces& places) noexcept {
  const char* const word = row + places.word_at[0];
  const char* const other = row + places.word_at[1];
  const auto load = [](const char* from) { return load_as<std::uint64_t>(from); };
  return (Digits{load(word), load(other)} & load_as<Digits>(places.after_mark.data())) |
         (Digits{load(word - 1), load(other - 1)} & load_as<Digits>(places.before_mark.data()));
}

SIEVECLOTH_PART_OF_LOOP Numbers numbers_of(const NumbersOfTwo& rows, std::size_t row) noexcept {
  return std::bit_cast<Numbers>(std::uint64_t{reinterpret_cast<Vector<std::uint64_t, 32>>(rows)[2 * row]});
}

template <class Vectors>
SIEVECLOTH_PART_OF_LOOP Numbers read_row(const char* row, const DigitPlaces& places) noexcept {
  const Digits digits = digits_of(row, places);
  NumbersOfTwo numbers;
  Vectors::to_numbers(digits, digits, numbers);
  return numbers_of(numbers, 0);
}

constexpr bool has_zero(const Numbers& numbers) noexcept { return numbers[0] == 0 || numbers[1] == 0; }

// Numbers are below 2^31: less one, a zero alone has the highest bit.
SIEVECLOTH_PART_OF_LOOP bool has_highest_bit(const NumbersOfTwo& less_one) noexcept {
  const auto words = reinterpret_cast<Vector<std::uint64_t, 32>>(less_one);
  return ((words[0] | words[2]) & 0x8000'0000'8000'0000u) != 0;
}

// Reads the numbers of rows of one length. Result: how many rows stand before the first that holds a zero.
template <class Vectors>
SIEVECLOTH_PART_OF_LOOP std::size_t read_run(const char* row, std::size_t length, const DigitPlaces& places,
                                             std::span<Numbers> rows) noexcept {
  const DigitPlaces here = places;  // which no write to the numbers can change
  NumbersOfTwo less_one{}, two;
  std::size_t i = 0;
  for (; i + 2 <= rows.size(); i += 2, row += 2 * length) {
    Vectors::to_numbers(digits_of(row, here), digits_of(row + length, here), two);
    less_one |= two - 1u;
    rows[i] = numbers_of(two, 0);
    rows[i + 1] = numbers_of(two, 1);
  }
  if (i < rows.size()) rows[i] = read_row<Vectors>(row, here);
  if (!has_highest_bit(less_one) && (i == rows.size() || !has_zero(rows[i]))) return rows.size();
  return static_cast<std::size_t>(std::find_if(rows.begin(), rows.end(), has_zero) - rows.begin());
}

SIEVECLOTH_PART_OF_LOOP void pick(const Numbers* numbers, std::size_t which, std::span<std::int32_t> values) noexcept {
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

SIEVECLOTH_PART_OF_LOOP std::size_t RowShapes::first_slot(std::uint64_t hash) noexcept {
  return hash >> (64 - std::countr_zero(k_slots));
}

// Finds rows from `text` on that begin at `last` at the latest: `ahead` or more of them where there are so many. Result: how many;
// the entry behind them is where the last one ends.
template <class Vectors>
SIEVECLOTH_PART_OF_LOOP std::size_t RowShapes::find_rows(const char* text, const char* last, std::size_t ahead,
                                                         Batch& batch) noexcept {
  constexpr std::size_t k_at_once = 6;  // more than 64 bytes mostly have: a branch on how many costs more than it saves
  batch[0].text = text;
  std::size_t rows = 0;
  for (; rows < ahead && text <= last; text += 64) {
    std::uint64_t ends = line_ends<Vectors>(text);
    Row* next = &batch[rows + 1];
    rows += static_cast<std::size_t>(std::popcount(ends));
    do {
      for (std::size_t i = 0; i < k_at_once; ++i, ++next) {
        next->text = text + Vectors::lowest(ends) + 1;
        ends &= ends - 1;
      }
    } while (ends != 0);
  }
  rows = std::min(rows, k_ahead);
  while (rows > 0 && batch[rows - 1].text > last) --rows;
  return rows;
}

template <class Vectors, std::size_t size>
SIEVECLOTH_PART_OF_LOOP const RowShapes::Shape* RowShapes::shape_of(const char* text, std::size_t length) const noexcept {
  const Shape* const shapes = shapes_.data();
  const RowBytes<Vectors, size> row(text, length);
  for (std::size_t slot = first_slot(row.hash());; slot = (slot + 1) % k_slots) {
    const Shape& shape = shapes[slots_[slot]];
    if (row.is(shape.row.data())) return &shape;  // of the same length too: their line ends are in the same place
    if (slots_[slot] == k_no_shape) return nullptr;
  }
}

// Apart from the loop over shorter rows, which is the faster for it.
[[gnu::noinline]] const RowShapes::Shape* RowShapes::shape_of_long(const char* text, std::size_t length) const noexcept {
  return length <= k_longest ? shape_of<NarrowVectors, 64>(text, length) : nullptr;
}

// Finds the shapes of `rows`, the last of which only ends the one before, up to the first that is not known. Result: how many.
template <class Vectors>
SIEVECLOTH_PART_OF_LOOP std::size_t RowShapes::find_shapes(std::span<Row> rows) const noexcept {
  const char* text = rows.front().text;
  for (Row* row = rows.data(); row != &rows.back(); ++row) {
    const char* const end = row[1].text;
    const auto length = static_cast<std::size_t>(end - text);
    const Shape* const shape = length <= 32 ? shape_of<Vectors, 32>(text, length) : shape_of_long(text, length);
    if (shape == nullptr) return static_cast<std::size_t>(row - rows.data());
    row->shape = shape;
    text = end;
  }
  return rows.size() - 1;
}

SIEVECLOTH_PART_OF_LOOP void RowShapes::take_numbers(const Shape& shape, const Numbers& numbers) noexcept {
  Kind& kind = *shape.kind;
  Numbers* const next = kind.next;
  *next = numbers;
  kind.next = next + 1;
}

// Takes these rows, up to the first that holds a zero. Result: how many.
template <class Vectors>
SIEVECLOTH_PART_OF_LOOP std::size_t RowShapes::take_rows(std::span<const Row> rows) {
  for (Kind& kind : kinds_) {
    if (kind.room() < rows.size()) flush(kind);
  }
  NumbersOfTwo less_one{}, two;
  std::size_t i = 0;
  for (; i + 2 <= rows.size(); i += 2) {
    const Row &row = rows[i], &other = rows[i + 1];
    Vectors::to_numbers(digits_of(row.text, row.shape->digits), digits_of(other.text, other.shape->digits), two);
    less_one |= two - 1u;
    take_numbers(*row.shape, numbers_of(two, 0));
    take_numbers(*other.shape, numbers_of(two, 1));
  }
  if (!has_highest_bit(less_one)) {
    if (i == rows.size()) return i;
    const Numbers numbers = read_row<Vectors>(rows[i].text, rows[i].shape->digits);
    if (has_zero(numbers)) return i;
    take_numbers(*rows[i].shape, numbers);
    return rows.size();
  }
  for (const Row& row : rows.first(i)) --row.shape->kind->next;
  for (i = 0;; ++i) {
    const Numbers numbers = read_row<Vectors>(rows[i].text, rows[i].shape->digits);
    if (has_zero(numbers)) return i;
    take_numbers(*rows[i].shape, numbers);
  }
}

// Takes rows of this shape from `row` on, up to the first that is not or holds a zero. Result: how many.
template <class Vectors>
SIEVECLOTH_PART_OF_LOOP std::size_t RowShapes::take_run(const char* row, const char* last, const Shape& shape, std::size_t length) {
  Kind& kind = *shape.kind;
  const std::size_t most = std::min(kind.room(), static_cast<std::size_t>(last - row) / length + 1);
  const std::size_t alike = count_alike<Vectors>(row, shape.row.data(), length, most);
  const std::size_t good = read_run<Vectors>(row, length, shape.digits, {kind.next, alike});
  kind.next += good;
  if (kind.room() == 0) flush(kind);
  return good;
}

template <class Vectors>
SIEVECLOTH_PART_OF_LOOP ShortRows RowShapes::take_by(std::string_view text, std::size_t at) {
  constexpr std::size_t k_before = 2 * k_word;     // a number's word may begin before its row
  constexpr std::size_t k_behind = k_longest + 1;  // a row is read as if it were the longest, and may seem to end behind that
  if (std::endian::native != std::endian::little || at < k_before || text.size() < at + k_behind) return {};
  const char* const last = text.data() + text.size() - k_behind;
  const char* row = text.data() + at;
  std::int64_t taken = 0;
  const Kind& blank = kinds_.front();
  const std::int64_t blank_before = blank.taken();
  Batch batch;
  for (std::size_t ahead = 1; row <= last; ahead = std::min(2 * ahead, k_ahead)) {
    const std::size_t found = find_rows<Vectors>(row, last, ahead, batch);
    const std::size_t known = find_shapes<Vectors>({batch.data(), found + 1});
    const std::size_t good = take_rows<Vectors>({batch.data(), known});
    taken += static_cast<std::int64_t>(good);
    row = batch[good].text;
    if (good < found || found == 0) break;
    const Shape& shape = *batch[good - 1].shape;
    if (good > 1 && batch[good - 2].shape != &shape) continue;
    const auto length = static_cast<std::size_t>(row - batch[good - 1].text);
    for (std::size_t run = 1; run > 0 && row <= last; row += run * length) {
      run = take_run<Vectors>(row, last, shape, length);
      taken += static_cast<std::int64_t>(run);
    }
  }
  return {static_cast<std::size_t>(row - text.data()) - at, taken, taken - (blank.taken() - blank_before)};
}

SIEVECLOTH_WIDE ShortRows RowShapes::take_wide(std::string_view text, std::size_t at) { return take_by<WideVectors>(text, at); }

ShortRows RowShapes::take(std::string_view text, std::size_t at) {
  return has_wide_vectors() ? take_wide(text, at) : take_by<NarrowVectors>(text, at);
}

void RowShapes::flush(Kind& kind) {
  const auto rows = static_cast<std::size_t>(std::exchange(kind.next, kind.begin()) - kind.begin());
  kind.flushed += static_cast<std::int64_t>(rows);
  std::array<std::int32_t, k_waiting> values;
  for (const std::size_t quantity : {k_aperture, k_wire}) {
    if (kind.summaries[quantity] == nullptr) continue;
    vectorised<pick>(kind.begin(), quantity, std::span(values.data(), rows));
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
  const RowBytes<NarrowVectors, 64> row(text.data(), length);
  row.write(shape.row.data());
  const std::uint64_t hash = length <= 32 ? RowBytes<NarrowVectors, 32>(text.data(), length).hash() : row.hash();

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
