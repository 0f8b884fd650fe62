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

constexpr std::int64_t power_of_ten(std::size_t exponent) noexcept {
  std::int64_t power = 1;
  for (; exponent > 0; --exponent) power *= 10;
  return power;
}

// Where the word begins that ends there.
constexpr std::int16_t word_that_ends(std::size_t end) noexcept {
  return static_cast<std::int16_t>(static_cast<int>(end) - static_cast<int>(k_word));
}

enum Quantity : std::size_t { k_aperture, k_wire };

// A bit for each of 64 bytes that is this one.
template <class Vectors>
SIEVECLOTH_PART_OF_LOOP std::uint64_t equal_bytes(const void* bytes, std::uint8_t byte) noexcept {
  using Bytes = typename Vectors::Bytes;
  std::uint64_t bits = 0;
  for (std::size_t i = 0; i < 64; i += sizeof(Bytes)) {
    const auto found = load_as<Bytes>(static_cast<const std::uint8_t*>(bytes) + i) == Bytes{} + byte;
    bits |= std::uint64_t{Vectors::highest_bits(reinterpret_cast<Bytes>(found))} << i;
  }
  return bits;
}

// At k_short - n: ones for the n bytes of a row, zeros for what follows it.
constexpr auto k_row_mask = [] {
  std::array<std::uint8_t, 2 * RowShapes::k_short> mask{};
  std::fill_n(mask.begin(), RowShapes::k_short, std::uint8_t{0xFF});
  return mask;
}();

// Up to k_short bytes of a row, without its digits and what follows it. XOR '0' makes exactly the digits 0 to 9, and then all of
// them are made 9.
template <class Vectors>
class RowBytes {
 public:
  using Bytes = typename Vectors::Bytes;

  SIEVECLOTH_PART_OF_LOOP RowBytes(const char* text, std::size_t length) noexcept {
    const std::uint8_t* const mask = k_row_mask.data() + RowShapes::k_short - length;
    for (std::size_t i = 0; i < RowShapes::k_short; i += sizeof(Bytes)) {
      const Bytes nines = Bytes{} + std::uint8_t{9};
      const Bytes from_zero = load_as<Bytes>(text + i) ^ std::uint8_t{'0'};
      pieces_[i / sizeof(Bytes)] = (from_zero > nines ? from_zero : nines) & load_as<Bytes>(mask + i);
    }
  }

  SIEVECLOTH_PART_OF_LOOP bool operator==(const ShapeBytes& shape) const noexcept {
    std::uint32_t equal = ~std::uint32_t{0} >> (32 - sizeof(Bytes));
    const std::uint8_t* bytes = shape.data();
    for (const Bytes& piece : pieces_) {
      equal &= Vectors::highest_bits(reinterpret_cast<Bytes>(piece == load_as<Bytes>(bytes)));
      bytes += sizeof(Bytes);
    }
    return equal == ~std::uint32_t{0} >> (32 - sizeof(Bytes));
  }

  // A bit of each byte, which depends on those before it in its word too.
  SIEVECLOTH_PART_OF_LOOP std::uint32_t mixed(const ShapeFactors& factors) const noexcept {
    using Words = Vector<std::uint32_t, sizeof(Bytes)>;
    std::uint32_t bits = 0;
    for (std::size_t i = 0; i < pieces_.size(); ++i) {
      const Words mixed = reinterpret_cast<Words>(pieces_[i]) * load_as<Words>(factors.data());
      bits |= Vectors::highest_bits(reinterpret_cast<Bytes>(mixed)) << (i * sizeof(Bytes));
    }
    return bits;
  }

  ShapeBytes bytes() const noexcept {
    ShapeBytes bytes;
    std::memcpy(bytes.data(), pieces_.data(), bytes.size());
    return bytes;
  }

 private:
  std::array<Bytes, RowShapes::k_short / sizeof(Bytes)> pieces_;
};

template <class Vectors>
SIEVECLOTH_PART_OF_LOOP std::uint32_t mixed_of(const RowBytes<Vectors>& row, const RowBytes<Vectors>& rest,
                                               const ShapeFactors& factors) noexcept {
  return row.mixed(factors) ^ rest.mixed(factors) * 0x85EB'CA6Bu;
}

template <class Vectors>
SIEVECLOTH_PART_OF_LOOP Digits digits_of(const char* row, const DigitPlaces& places) noexcept {
  const auto word = [&](std::size_t quantity) { return load_as<std::uint64_t>(row + places.word_at[quantity]); };
  return Vectors::pick(Digits{word(k_aperture), word(k_wire)}, places.from);
}

SIEVECLOTH_PART_OF_LOOP Numbers numbers_of(const NumbersOfTwo& rows, std::size_t row) noexcept {
  return std::bit_cast<Numbers>(std::uint64_t{reinterpret_cast<Vector<std::uint64_t, 32>>(rows)[2 * row]});
}

template <class Vectors>
SIEVECLOTH_PART_OF_LOOP Numbers read_row(const char* row, const DigitPlaces& places) noexcept {
  const Digits digits = digits_of<Vectors>(row, places);
  NumbersOfTwo numbers;
  Vectors::to_numbers(digits, digits, numbers);
  return numbers_of(numbers, 0);
}

constexpr bool has_zero(const Numbers& numbers) noexcept { return numbers[0] == 0 || numbers[1] == 0; }

// The least numbers of many rows, two at a time.
class Least {
 public:
  SIEVECLOTH_PART_OF_LOOP void note(const NumbersOfTwo& two) noexcept { least_ = two < least_ ? two : least_; }
  SIEVECLOTH_PART_OF_LOOP bool is_zero() const noexcept {
    return has_zero(numbers_of(least_, 0)) || has_zero(numbers_of(least_, 1));
  }

 private:
  NumbersOfTwo least_ = NumbersOfTwo{} + 1u;
};

// Reads the numbers of rows of one length. Result: how many rows stand before the first that holds a zero.
template <class Vectors>
SIEVECLOTH_PART_OF_LOOP std::size_t read_run(const char* row, std::size_t length, const DigitPlaces& places,
                                             std::span<Numbers> rows) noexcept {
  const DigitPlaces here = places;  // which no write to the numbers can change
  Least least;
  NumbersOfTwo two;
  std::size_t i = 0;
  for (; i + 2 <= rows.size(); i += 2, row += 2 * length) {
    Vectors::to_numbers(digits_of<Vectors>(row, here), digits_of<Vectors>(row + length, here), two);
    least.note(two);
    rows[i] = numbers_of(two, 0);
    rows[i + 1] = numbers_of(two, 1);
  }
  if (i < rows.size()) rows[i] = read_row<Vectors>(row, here);
  if (!least.is_zero() && (i == rows.size() || !has_zero(rows[i]))) return rows.size();
  return static_cast<std::size_t>(std::find_if(rows.begin(), rows.end(), has_zero) - rows.begin());
}

}  // namespace

RowShapes::RowShapes(Sample& sample) {
  // With this factor and the one in first_slot, the best of 20,000 random pairs, the shapes of ten ways of writing a file are told
  // apart as well as by chance.
  factors_.fill(0x9F3D'AE8Du);
  forget_shapes();
  for (std::size_t i = 0; i < kinds_.size(); ++i) kinds_[i].next = kinds_[i].end = waiting_[i].data();
  for (Kind& kind : kinds_) kind.end += k_waiting;
  for (const Direction direction : k_directions) {
    DirectionSample& side = sample[direction];
    for (Summary* const wire : {static_cast<Summary*>(nullptr), &side.wire}) {
      kinds_[kind_of(direction, Role::sample, true, wire != nullptr)].summaries = {&side.aperture, wire};
      kinds_[kind_of(direction, Role::suspect, true, wire != nullptr)].summaries = {&side.suspect, wire};
    }
    kinds_[kind_of(direction, Role::sample, false, true)].summaries = {nullptr, &side.wire};
  }
}

SIEVECLOTH_PART_OF_LOOP std::size_t RowShapes::first_slot(std::uint32_t mixed) const noexcept {
  return mixed * 0x201A'EE69u >> slot_shift_;
}

SIEVECLOTH_PART_OF_LOOP std::size_t RowShapes::next_slot(std::size_t slot) const noexcept {
  return (slot + 1) & (slots_.size() - 1);
}

// Where lines end in a piece of text.
template <class Vectors>
class RowShapes::LineEnds {
 public:
  static constexpr std::size_t k_most_bytes = 1024;  // as many as k_together rows take

  // Of the first `bytes` bytes of the text, or a few less.
  SIEVECLOTH_PART_OF_LOOP LineEnds(const char* text, std::size_t bytes) noexcept {
    const std::size_t words = std::min(bytes, k_most_bytes) / 64;
    for (std::size_t i = 0; i < words; ++i) bits_[i] = equal_bytes<Vectors>(text + 64 * i, '\n');
    bits_[words] = 0;
    bytes_ = 64 * words;
  }

  // Whether a row that begins at `at` may be read: as if it were 64 bytes long.
  SIEVECLOTH_PART_OF_LOOP bool has_row(std::size_t at) const noexcept { return at + 2 * k_short <= bytes_; }

  // Of the row that begins at `at`; more than k_longest where it may be longer than that.
  SIEVECLOTH_PART_OF_LOOP std::size_t length(std::size_t at) const noexcept { return Vectors::lowest(bits_from(at)) + 1; }

  // Of that row and the next one.
  SIEVECLOTH_PART_OF_LOOP std::size_t length_of_two(std::size_t at) const noexcept {
    const std::uint64_t bits = bits_from(at), behind_first = bits & (bits - 1);
    return behind_first != 0 ? Vectors::lowest(behind_first) + 1 : length(at) + length(at + length(at));
  }

 private:
  SIEVECLOTH_PART_OF_LOOP std::uint64_t bits_from(std::size_t at) const noexcept {
    return load_as<std::uint64_t>(reinterpret_cast<const char*>(bits_.data()) + at / 8) >> at % 8;
  }

  std::size_t bytes_;
  std::array<std::uint64_t, k_most_bytes / 64 + 1> bits_;
};

// Result: null where the shape is not known.
template <class Vectors>
SIEVECLOTH_PART_OF_LOOP const RowShapes::Shape* RowShapes::shape_of_short(const char* text, std::size_t length) const noexcept {
  const RowBytes<Vectors> row(text, length);
  const Shape* shape = &slots_[first_slot(row.mixed(factors_))];
  if (row == shape->row) [[likely]]
    return shape;  // of the same length too: their line ends are in the same place
  do {
    if (shape->is_none()) return nullptr;
    shape = &slots_[next_slot(static_cast<std::size_t>(shape - slots_.data()))];
  } while (row != shape->row);
  return shape;
}

template <class Vectors>
SIEVECLOTH_PART_OF_LOOP const RowShapes::Shape* RowShapes::shape_of_long(const char* text, std::size_t length) const noexcept {
  const RowBytes<Vectors> row(text, k_short), rest(text + k_short, length - k_short);
  for (std::size_t slot = first_slot(mixed_of(row, rest, factors_)); !slots_[slot].is_none(); slot = next_slot(slot)) {
    if (row == slots_[slot].row && rest == rests_[slots_[slot].rest]) return &slots_[slot];
  }
  return nullptr;
}

template <class Vectors>
SIEVECLOTH_PART_OF_LOOP const RowShapes::Shape* RowShapes::shape_of(const char* text, std::size_t length) const noexcept {
  if (length <= k_short) return shape_of_short<Vectors>(text, length);
  return length <= k_longest ? shape_of_long<Vectors>(text, length) : nullptr;
}

// How many rows of each kind there are, in one register: counts in memory would make a row wait for the one before, where that is
// of its kind. Of the last kind, rows without a length, it only knows a part.
class RowShapes::KindCounts {
 public:
  SIEVECLOTH_PART_OF_LOOP std::size_t operator[](std::size_t count_at) const noexcept {
    return bits_ >> count_at & ((1u << k_count_bits) - 1);
  }
  SIEVECLOTH_PART_OF_LOOP void add(std::size_t count_at) noexcept { bits_ += std::uint64_t{1} << count_at; }

 private:
  std::uint64_t bits_ = 0;
};

// Makes room for k_together rows of each kind. Result: where the next of each goes.
RowShapes::Places RowShapes::make_room() {
  Places places;
  for (std::size_t i = 0; i < kinds_.size(); ++i) {
    if (kinds_[i].room() < k_together) flush(kinds_[i]);
    places[k_count_bits * i] = kinds_[i].next;
  }
  return places;
}

// Result: how many of the rows had a length.
std::int64_t RowShapes::count_in(const KindCounts& counts) noexcept {
  std::size_t rows = 0;
  for (std::size_t i = 0; i < k_blank; ++i) {
    kinds_[i].next += counts[k_count_bits * i];
    rows += counts[k_count_bits * i];
  }
  return static_cast<std::int64_t>(rows);
}

SIEVECLOTH_PART_OF_LOOP void RowShapes::put(const Numbers& numbers, const Shape& shape, const Places& places,
                                            KindCounts& counts) noexcept {
  const std::size_t count_at = shape.count_at;  // which the compiler would read again for each use
  places[count_at][counts[count_at]] = numbers;
  counts.add(count_at);
}

// Takes rows from `text` on, up to the first that is of no known shape, holds a zero, or has not 64 bytes left of `size`.
template <class Vectors>
SIEVECLOTH_PART_OF_LOOP RowShapes::TakenRows RowShapes::take_rows(const char* text, std::size_t size) {
  const LineEnds<Vectors> ends(text, size);
  const Places places = make_room();
  KindCounts counts;
  Least least;
  NumbersOfTwo two;
  const Shape *shape = nullptr, *other = nullptr;
  std::size_t at = 0, length = 0, rows = 0;
  for (; rows < k_together && ends.has_row(at); rows += 2) {
    const std::size_t first_length = ends.length(at), both = ends.length_of_two(at);
    length = both - first_length;
    if ((first_length | length) >= k_short) break;
    const char* const row = text + at;
    shape = shape_of_short<Vectors>(row, first_length);
    if (shape == nullptr) break;
    other = shape_of_short<Vectors>(row + first_length, length);
    if (other == nullptr) break;
    Vectors::to_numbers(digits_of<Vectors>(row, shape->digits), digits_of<Vectors>(row + first_length, other->digits), two);
    least.note(two);
    put(numbers_of(two, 0), *shape, places, counts);
    put(numbers_of(two, 1), *other, places, counts);
    at += both;
  }
  if (least.is_zero()) {
    counts = {};
    at = rows = 0;
  }
  for (; rows < k_together && ends.has_row(at); ++rows) {
    length = ends.length(at);
    shape = std::exchange(other, shape_of<Vectors>(text + at, length));
    if (other == nullptr) break;
    const Numbers numbers = read_row<Vectors>(text + at, other->digits);
    if (has_zero(numbers)) break;
    put(numbers, *other, places, counts);
    at += length;
  }
  return {at, rows, count_in(counts), shape == other ? other : nullptr, length};
}

// Counts the rows from `row` on that are of this shape, up to `most` of them.
template <class Vectors>
SIEVECLOTH_PART_OF_LOOP std::size_t RowShapes::count_alike(const char* row, const Shape& shape, std::size_t length,
                                                           std::size_t most) const noexcept {
  for (std::size_t count = 0; count < most; ++count, row += length) {
    if (RowBytes<Vectors>(row, std::min(length, k_short)) != shape.row) return count;
    if (length > k_short && RowBytes<Vectors>(row + k_short, length - k_short) != rests_[shape.rest]) return count;
  }
  return most;
}

// Takes rows of this shape from `row` on, up to the first that is not or holds a zero. Result: how many.
template <class Vectors>
SIEVECLOTH_PART_OF_LOOP std::size_t RowShapes::take_run(const char* row, const char* last, const Shape& shape, std::size_t length) {
  Kind& kind = kinds_[shape.count_at / k_count_bits];
  const std::size_t most = std::min(kind.room(), static_cast<std::size_t>(last - row) / length + 1);
  const std::size_t alike = count_alike<Vectors>(row, shape, length, most);
  const std::size_t good = read_run<Vectors>(row, length, shape.digits, {kind.next, alike});
  kind.next += good;
  if (kind.room() == 0) flush(kind);
  return good;
}

template <class Vectors>
SIEVECLOTH_PART_OF_LOOP ShortRows RowShapes::take_by(std::string_view text, std::size_t at) {
  constexpr std::size_t k_before = k_word;       // a number's word may begin before its row
  constexpr std::size_t k_behind = 2 * k_short;  // a row is read as if it were so long
  if (std::endian::native != std::endian::little || at < k_before || text.size() < at + k_behind) return {};
  const char* const end = text.data() + text.size();
  const char* const last = end - k_behind;
  const char* row = text.data() + at;
  ShortRows taken;
  while (row <= last) {
    const TakenRows good = take_rows<Vectors>(row, static_cast<std::size_t>(end - row));
    taken.rows += static_cast<std::int64_t>(good.rows);
    taken.with_reading += good.with_reading;
    row += good.bytes;
    if (good.rows == 0) break;
    if (good.run == nullptr) continue;
    for (std::size_t run = 1; run > 0 && row <= last; row += run * good.length) {
      run = take_run<Vectors>(row, last, *good.run, good.length);
      taken.rows += static_cast<std::int64_t>(run);
      taken.with_reading += good.run->has_reading() ? static_cast<std::int64_t>(run) : 0;
    }
  }
  taken.bytes = static_cast<std::size_t>(row - text.data()) - at;
  return taken;
}

SIEVECLOTH_WIDE ShortRows RowShapes::take_wide(std::string_view text, std::size_t at) { return take_by<WideVectors>(text, at); }

ShortRows RowShapes::take(std::string_view text, std::size_t at) {
  return has_wide_vectors() ? take_wide(text, at) : take_by<NarrowVectors>(text, at);
}

void RowShapes::flush(Kind& kind) {
  const std::span<const Numbers> rows(kind.begin(), std::exchange(kind.next, kind.begin()));
  if (rows.empty()) return;
  const auto needs_readings = [](const Summary* summary) { return summary != nullptr && !summary->is_settled(); };
  if (std::any_of(kind.summaries.begin(), kind.summaries.end(), needs_readings)) return flush_columns(kind, rows);
  std::fill_n(kind.begin() + rows.size(), k_rows_at_once - 1, Numbers());
  Summary::take_columns(rows, quantum_pm_, kind.summaries);
}

// One after the other.
void RowShapes::flush_columns(const Kind& kind, std::span<const Numbers> rows) {
  std::array<std::int32_t, k_waiting> values;
  for (const std::size_t quantity : {k_aperture, k_wire}) {
    if (kind.summaries[quantity] == nullptr) continue;
    std::transform(rows.begin(), rows.end(), values.begin(), [&](const Numbers& row) { return row[quantity]; });
    const Length quantum = Length::from_pm(quantum_pm_[quantity]);
    [[maybe_unused]] const auto refused = kind.summaries[quantity]->add_quanta({values.data(), rows.size()}, quantum);
    assert(!refused);  // `place` let no digits through that could be
  }
}

void RowShapes::flush() {
  for (Kind& kind : kinds_) flush(kind);
}

std::size_t RowShapes::kind_of(Direction direction, Role role, bool has_aperture, bool has_wire) noexcept {
  if (!has_aperture && !has_wire) return k_blank;
  const std::size_t aperture = !has_aperture ? 0 : role == Role::sample ? 1 : 2;
  return (direction == Direction::warp ? 0 : k_blank / 2) + 2 * aperture - (has_wire ? 0 : 1);
}

void RowShapes::learn(std::string_view line, const Reading& reading, const std::optional<NumberCell>& aperture,
                      const std::optional<NumberCell>& wire) {
  if (line.size() >= k_longest) return;
  Shape shape;
  const std::size_t length = line.size() + 1;
  // The line end stands in for a number: ten in the last place, whatever is before it.
  for (std::size_t last = k_word - 1; last < shape.digits.from.size(); last += k_word)
    shape.digits.from[last] = static_cast<std::uint8_t>(last);
  shape.digits.word_at.fill(word_that_ends(length));
  if (aperture && !place(shape.digits, k_aperture, *aperture, line)) return;
  if (wire && !place(shape.digits, k_wire, *wire, line)) return;
  shape.count_at =
      static_cast<std::uint8_t>(k_count_bits * kind_of(reading.direction, reading.role, aperture.has_value(), wire.has_value()));
  std::array<char, 2 * k_short> text{};
  std::copy(line.begin(), line.end(), text.begin());
  text[line.size()] = '\n';
  const std::size_t behind = length - std::min(length, k_short);
  const RowBytes<NarrowVectors> row(text.data(), length - behind), rest(text.data() + k_short, behind);
  shape.row = row.bytes();
  shape.mixed = behind == 0 ? row.mixed(factors_) : mixed_of(row, rest, factors_);

  if (rests_.size() == k_most_shapes) forget_shapes();
  std::size_t slot = first_slot(shape.mixed);
  for (; !slots_[slot].is_none(); slot = next_slot(slot)) {
    if (row == slots_[slot].row && rest == rests_[slots_[slot].rest]) return;  // it came too near to an end of its text
  }
  shape.rest = static_cast<std::uint16_t>(rests_.size());
  rests_.push_back(rest.bytes());
  slots_[slot] = shape;
  if (rests_.size() > slots_.size() / k_slots_per_shape) spread_shapes();
}

// In the order of learning, so that those that are met more often are found at once.
void RowShapes::spread_shapes() {
  const std::vector<Shape> shapes = std::exchange(slots_, std::vector<Shape>(2 * slots_.size()));
  --slot_shift_;
  std::vector<const Shape*> learnt(rests_.size());
  for (const Shape& shape : shapes) {
    if (!shape.is_none()) learnt[shape.rest] = &shape;
  }
  for (const Shape* const shape : learnt) {
    std::size_t slot = first_slot(shape->mixed);
    while (!slots_[slot].is_none()) slot = next_slot(slot);
    slots_[slot] = *shape;
  }
}

// Result: false where other digits in these places might not be a reading, or too many in the finest decimal of their column.
bool RowShapes::place(DigitPlaces& places, std::size_t quantity, const NumberCell& cell, std::string_view line) {
  const std::uintptr_t begin = reinterpret_cast<std::uintptr_t>(cell.text.data()) - reinterpret_cast<std::uintptr_t>(line.data());
  const std::size_t size = cell.text.size();
  const std::size_t mark = std::min(cell.text.find_first_of(".,"), size);
  const std::size_t decimals = mark == size ? 0 : size - mark - 1;
  const std::size_t digits = mark + decimals;
  const std::int64_t per_unit = picometres(cell.unit);
  if (begin > line.size() || size > k_word || per_unit % power_of_ten(decimals) != 0) return false;
  const std::int64_t last_digit_pm = per_unit / power_of_ten(decimals);
  const std::int64_t most = power_of_ten(digits) - 1;
  if (last_digit_pm > k_coarsest_quantum.pm() || most > k_longest_reading.pm() / last_digit_pm) return false;

  if (quantum_pm_[quantity] == 0 || last_digit_pm < quantum_pm_[quantity]) refine(quantity, last_digit_pm);
  std::size_t zeros = 0;  // that make it a number of the finest decimals
  while (last_digit_pm / power_of_ten(zeros) > quantum_pm_[quantity]) ++zeros;
  if (digits + zeros > k_word) return false;

  const std::span<std::uint8_t> from(places.from.data() + quantity * k_word, k_word);
  std::fill(from.begin(), from.end(), DigitPlaces::k_none);
  std::size_t place = k_word - zeros - digits;
  for (std::size_t i = 0; i < size; ++i) {
    if (i != mark) from[place++] = static_cast<std::uint8_t>(quantity * k_word + k_word - size + i);
  }
  places.word_at[quantity] = word_that_ends(begin + size);
  return true;
}

// Places count in the finest decimal of their column: a finer one makes all of them wrong.
void RowShapes::refine(std::size_t quantity, std::int64_t quantum_pm) {
  flush();
  forget_shapes();
  quantum_pm_[quantity] = quantum_pm;
}

void RowShapes::forget_shapes() {
  rests_.clear();
  slots_.assign(k_fewest_slots, Shape());
  slot_shift_ = 32 - static_cast<std::size_t>(std::countr_zero(k_fewest_slots));
}

void RowShapes::forget() {
  forget_shapes();
  for (Kind& kind : kinds_) kind.next = kind.begin();
}

}  // namespace sievecloth
