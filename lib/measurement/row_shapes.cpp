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

// Ones, then zeros: to be read from as many bytes before the first zero as a row has; up to k_short, in one line of the cache.
alignas(64) constexpr auto k_row_mask = [] {
  std::array<std::uint8_t, RowConstants::k_most_ones + RowShapes::k_short> mask{};
  std::fill_n(mask.begin(), RowConstants::k_most_ones, std::uint8_t{0xFF});
  return mask;
}();

// RowConstants in registers.
template <class Vectors>
struct RowVectors {
  using Bytes = typename Vectors::Bytes;
  using Words = Vector<std::uint32_t, sizeof(Bytes)>;

  SIEVECLOTH_PART_OF_LOOP explicit RowVectors(const RowConstants& constants) noexcept
      : zeros(load_as<Bytes>(constants.zeros.data())),
        nines(load_as<Bytes>(constants.nines.data())),
        factors(load_as<Words>(constants.factors.data())),
        end_of_ones(constants.end_of_ones) {}

  Bytes zeros, nines;
  Words factors;
  const std::uint8_t* end_of_ones;
};

// The first k_short bytes of a row of `length`, up to RowConstants::k_most_ones, without its digits and what follows it. XOR '0'
// makes exactly the digits 0 to 9, and then all of them are made 9.
template <class Vectors>
class RowBytes {
 public:
  using Bytes = typename Vectors::Bytes;

  SIEVECLOTH_PART_OF_LOOP RowBytes(const char* text, std::size_t length, const RowVectors<Vectors>& constants) noexcept {
    const std::uint8_t* const mask = constants.end_of_ones - length;
    for (std::size_t i = 0; i < RowShapes::k_short; i += sizeof(Bytes)) {
      const Bytes from_zero = load_as<Bytes>(text + i) ^ constants.zeros;
      pieces_[i / sizeof(Bytes)] = (from_zero > constants.nines ? from_zero : constants.nines) & load_as<Bytes>(mask + i);
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
  SIEVECLOTH_PART_OF_LOOP std::uint32_t mixed(const RowVectors<Vectors>& constants) const noexcept {
    std::uint32_t bits = 0;
    for (std::size_t i = 0; i < pieces_.size(); ++i) {
      const auto mixed = reinterpret_cast<typename RowVectors<Vectors>::Words>(pieces_[i]) * constants.factors;
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

// How long the first part of a row is: all of a short one. Of a longer one it is a byte shorter than that, and has no line end: no
// RowBytes of a whole row is equal to it, however long that row is.
constexpr std::size_t first_part_of(std::size_t length) noexcept {
  return length <= RowShapes::k_short ? length : RowShapes::k_short - 1;
}

// A row in two parts.
template <class Vectors>
struct RowParts {
  RowBytes<Vectors> first, rest;

  SIEVECLOTH_PART_OF_LOOP RowParts(const char* text, std::size_t length, const RowVectors<Vectors>& constants) noexcept
      : first(text, first_part_of(length), constants),
        rest(text + first_part_of(length), length - first_part_of(length), constants) {}

  // As of the first part alone where that is all.
  SIEVECLOTH_PART_OF_LOOP std::uint32_t mixed(const RowVectors<Vectors>& constants) const noexcept {
    return first.mixed(constants) ^ rest.mixed(constants) * 0x85EB'CA6Bu;
  }
};

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
  constants_.zeros.fill('0');
  constants_.nines.fill(9);
  // With this factor and the one of Slots, the best of 20,000 random pairs, the shapes of ten ways of writing a file are told apart
  // as well as by chance.
  constants_.factors.fill(0x9F3D'AE8Du);
  constants_.end_of_ones = k_row_mask.data() + RowConstants::k_most_ones;
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

// Where shapes are looked for: from a first slot on, up to one that holds none.
class RowShapes::Slots {
 public:
  SIEVECLOTH_PART_OF_LOOP explicit Slots(std::vector<Shape>& slots) noexcept
      : begin_(reinterpret_cast<char*>(slots.data())), last_(sizeof(Shape) * (slots.size() - 1)) {}

  SIEVECLOTH_PART_OF_LOOP Shape* first(std::uint32_t mixed) const noexcept {
    return at(std::uint64_t{mixed} * 0x201A'EE69u >> 15);  // the bits from 21 on number a slot
  }
  SIEVECLOTH_PART_OF_LOOP Shape* next(const Shape* shape) const noexcept {
    return at(static_cast<std::size_t>(reinterpret_cast<const char*>(shape + 1) - begin_));
  }

 private:
  SIEVECLOTH_PART_OF_LOOP Shape* at(std::size_t offset) const noexcept {
    return reinterpret_cast<Shape*>(begin_ + (offset & last_));
  }

  char* begin_;
  std::size_t last_;  // the offset of the last slot [bytes]; a power of two less one, times the size of a shape
};

// Where lines end in a piece of text, a bit for each byte.
template <class Vectors>
class RowShapes::LineEnds {
 public:
  // Of the first bytes of up to k_most_ahead: of k_together rows, or all but the last few. Up to seven bytes before them are read
  // too.
  SIEVECLOTH_PART_OF_LOOP explicit LineEnds(std::string_view text) noexcept : begin_(text.data() - address(text.data()) % 8) {
    const auto bytes = static_cast<std::size_t>(text.data() + text.size() - begin_);
    const std::size_t most = bytes / k_step;
    std::size_t steps = 0, rows = 0;
    for (; steps < most && rows + k_step <= k_together; ++steps) {
      for (std::size_t i = 0; i < k_step; i += 64) {
        const std::uint64_t bits = equal_bytes<Vectors>(begin_ + k_step * steps + i, '\n');
        bits_[k_step / 64 * steps + i / 64] = bits;
        rows += static_cast<std::size_t>(std::popcount(bits));
      }
    }
    bits_[k_step / 64 * steps] = 0;
    end_ = begin_ + k_step * steps;
  }

  // Whether so many bytes from here on may be read.
  SIEVECLOTH_PART_OF_LOOP bool has(const char* row, std::size_t bytes) const noexcept {
    return address(row) + bytes <= address(end_);
  }

  // Of the row that begins here; more than k_longest where it may be longer than that.
  SIEVECLOTH_PART_OF_LOOP std::size_t length(const char* row) const noexcept { return Vectors::lowest(bits_from(row)) + 1; }

  // Of that row and the next one.
  SIEVECLOTH_PART_OF_LOOP std::size_t length_of_two(const char* row) const noexcept {
    const std::uint64_t bits = bits_from(row), behind_first = bits & (bits - 1);
    return behind_first != 0 ? Vectors::lowest(behind_first) + 1 : length(row) + length(row + length(row));
  }

 private:
  static constexpr std::size_t k_step = 128;

  SIEVECLOTH_PART_OF_LOOP static std::uintptr_t address(const char* text) noexcept {
    return reinterpret_cast<std::uintptr_t>(text);
  }
  SIEVECLOTH_PART_OF_LOOP std::uint64_t bits_from(const char* row) const noexcept {
    const std::size_t byte = address(row) / 8 - address(begin_) / 8;
    return load_as<std::uint64_t>(reinterpret_cast<const char*>(bits_.data()) + byte) >> address(row) % 8;
  }

  const char* begin_;
  const char* end_;
  std::array<std::uint64_t, k_most_ahead / 64 + 1> bits_;
};

// Looks for the shapes of rows of up to k_short bytes. Has all it needs itself, so that a loop keeps it in registers.
template <class Vectors>
class RowShapes::ShortRowShapes {
 public:
  SIEVECLOTH_PART_OF_LOOP explicit ShortRowShapes(RowShapes& shapes) noexcept
      : constants_(shapes.constants_), slots_(shapes.slots_) {}

  // Result: null where the shape is not known, or the row longer.
  SIEVECLOTH_PART_OF_LOOP const Shape* find(const char* text, std::size_t length) const noexcept {
    const RowBytes<Vectors> row(text, length, constants_);
    Shape* shape = slots_.first(row.mixed(constants_));
    if (row == shape->row) [[likely]]
      return shape;  // of the same length too: their line ends are in the same place
    do {
      if (shape->is_none()) return nullptr;
      shape = slots_.next(shape);
    } while (row != shape->row);
    return shape;
  }

  // Of the row that begins here and the next one.
  SIEVECLOTH_PART_OF_LOOP TwoRows find_two(const char* row, const LineEnds<Vectors>& ends) const noexcept {
    if (!ends.has(row, RowConstants::k_most_ones + k_short)) return {};
    const std::size_t length = ends.length(row), both = ends.length_of_two(row);
    TwoRows two{.first = row, .second = row + length, .end = row + both};
    two.first_shape = find(row, length);
    if (two.first_shape != nullptr) [[likely]]
      two.second_shape = find(row + length, both - length);
    return two;
  }

 private:
  RowVectors<Vectors> constants_;
  Slots slots_;
};

template <class Vectors>
SIEVECLOTH_PART_OF_LOOP const RowShapes::Shape* RowShapes::shape_of_long(const char* text, std::size_t length) {
  if (length > k_longest) return nullptr;
  const RowVectors<Vectors> constants(constants_);
  const RowParts<Vectors> row(text, length, constants);
  const Slots slots(slots_);
  for (Shape* shape = slots.first(row.mixed(constants)); !shape->is_none(); shape = slots.next(shape)) {
    if (row.first == shape->row && row.rest == rests_[shape->rest]) return shape;
  }
  return nullptr;
}

// Makes room for k_together rows of each kind.
RowShapes::Places RowShapes::make_room() {
  Places places;
  for (std::size_t i = 0; i < kinds_.size(); ++i) {
    if (kinds_[i].room() < k_together) flush(kinds_[i]);
    places[i] = kinds_[i].next;
  }
  return places;
}

// Takes rows two by two, up to the first two that are not both of a known shape and up to k_short bytes; none where one of all
// these holds a zero. Their shapes are looked for before the numbers of the two rows before them are read: both take long, but not
// many instructions.
template <class Vectors>
SIEVECLOTH_PART_OF_LOOP RowShapes::TakenRows RowShapes::take_pairs(const char* text, const LineEnds<Vectors>& ends,
                                                                   Places& places) {
  const ShortRowShapes<Vectors> shapes(*this);
  const Places before = places;
  Least least;
  NumbersOfTwo numbers;
  TwoRows rows{.end = text}, next = shapes.find_two(text, ends);
  while (next.second_shape != nullptr) {
    rows = next;
    next = shapes.find_two(rows.end, ends);
    const Shape &first = *rows.first_shape, &second = *rows.second_shape;
    Vectors::to_numbers(digits_of<Vectors>(rows.first, first.digits), digits_of<Vectors>(rows.second, second.digits), numbers);
    least.note(numbers);
    *places[first.kind]++ = numbers_of(numbers, 0);
    *places[second.kind]++ = numbers_of(numbers, 1);
  }
  if (least.is_zero()) {
    places = before;
    return {text};
  }
  return {rows.end, rows.first_shape == rows.second_shape ? rows.second_shape : nullptr,
          static_cast<std::size_t>(rows.end - rows.second)};
}

// Takes rows up to the first that is of no known shape or holds a zero.
template <class Vectors>
SIEVECLOTH_PART_OF_LOOP RowShapes::TakenRows RowShapes::take_singly(const char* text, const LineEnds<Vectors>& ends,
                                                                    Places& places) {
  const ShortRowShapes<Vectors> short_rows(*this);
  const char* row = text;
  std::size_t length = 0;
  const Shape *shape = nullptr, *before = nullptr;
  for (; ends.has(row, 2 * k_short); row += length) {
    length = ends.length(row);
    before = std::exchange(shape, length <= k_short ? short_rows.find(row, length) : shape_of_long<Vectors>(row, length));
    if (shape == nullptr) break;
    const Numbers numbers = read_row<Vectors>(row, shape->digits);
    if (has_zero(numbers)) break;
    *places[shape->kind]++ = numbers;
  }
  return {row, shape == before ? shape : nullptr, length};
}

// Takes rows from the beginning of `text`, as far as they are looked at together, and counts them.
template <class Vectors>
SIEVECLOTH_PART_OF_LOOP RowShapes::TakenRows RowShapes::take_rows(std::string_view text, ShortRows& taken) {
  const LineEnds<Vectors> ends(text);
  Places places = make_room();
  TakenRows rows = take_pairs<Vectors>(text.data(), ends, places);
  if (rows.end == text.data()) rows = take_singly<Vectors>(text.data(), ends, places);
  for (std::size_t i = 0; i < kinds_.size(); ++i) {
    const std::int64_t of_kind = places[i] - std::exchange(kinds_[i].next, places[i]);
    taken.rows += of_kind;
    if (i != k_blank) taken.with_reading += of_kind;
  }
  return rows;
}

// Counts the rows from `row` on that are of this shape, up to `most` of them.
template <class Vectors>
SIEVECLOTH_PART_OF_LOOP std::size_t RowShapes::count_alike(const char* row, const Shape& shape, std::size_t length,
                                                           std::size_t most) const noexcept {
  const RowVectors<Vectors> constants(constants_);
  const std::size_t first = first_part_of(length);
  for (std::size_t count = 0; count < most; ++count, row += length) {
    if (RowBytes<Vectors>(row, first, constants) != shape.row) return count;
    if (length > k_short && RowBytes<Vectors>(row + first, length - first, constants) != rests_[shape.rest]) return count;
  }
  return most;
}

// Takes rows of this shape from `row` on, up to the first that is not or holds a zero. Result: how many.
template <class Vectors>
SIEVECLOTH_PART_OF_LOOP std::size_t RowShapes::take_run(const char* row, const char* last, const Shape& shape, std::size_t length) {
  Kind& kind = kinds_[shape.kind];
  const std::size_t most = std::min(kind.room(), static_cast<std::size_t>(last - row) / length + 1);
  const std::size_t alike = count_alike<Vectors>(row, shape, length, most);
  const std::size_t good = read_run<Vectors>(row, length, shape.digits, {kind.next, alike});
  kind.next += good;
  if (kind.room() == 0) flush(kind);
  return good;
}

template <class Vectors>
SIEVECLOTH_PART_OF_LOOP ShortRows RowShapes::take_by(std::string_view text, std::size_t at) {
  if (std::endian::native != std::endian::little || at < k_before || text.size() < at + k_behind) return {};
  const char* const end = text.data() + text.size();
  const char* const last = end - k_behind;
  const char* row = text.data() + at;
  ShortRows taken;
  // Looks further and further ahead, so that few rows between others cost little.
  for (std::size_t ahead = 256; row <= last; ahead = std::min(2 * ahead, k_most_ahead)) {
    const TakenRows good = take_rows<Vectors>({row, std::min(ahead, static_cast<std::size_t>(end - row))}, taken);
    if (good.end == row) break;
    row = good.end;
    if (good.run == nullptr) continue;
    for (std::size_t run = 1; run > 0 && row <= last; row += run * good.length) {
      run = take_run<Vectors>(row, last, *good.run, good.length);
      taken.rows += static_cast<std::int64_t>(run);
      if (good.run->kind != k_blank) taken.with_reading += static_cast<std::int64_t>(run);
    }
  }
  taken.bytes = static_cast<std::size_t>(row - text.data()) - at;
  return taken;
}

SIEVECLOTH_WIDE ShortRows RowShapes::take_wide(std::string_view text, std::size_t at) { return take_by<WideVectors>(text, at); }

// Up to where the text is too short for reading a row as if it were k_behind bytes long.
ShortRows RowShapes::take_inside(std::string_view text, std::size_t at) {
  return has_wide_vectors() ? take_wide(text, at) : take_by<NarrowVectors>(text, at);
}

ShortRows RowShapes::take(std::string_view text, std::size_t at) {
  ShortRows taken = take_inside(text, at);
  const std::string_view rest = text.substr(at + taken.bytes);
  if (rest.empty() || rest.size() > k_tail) return taken;
  std::array<char, k_before + 2 * k_tail> tail{};  // a copy that may be read behind its end
  std::copy(rest.begin(), rest.end(), tail.begin() + k_before);
  const ShortRows last = take_inside({tail.data(), tail.size()}, k_before);
  return {taken.bytes + last.bytes, taken.rows + last.rows, taken.with_reading + last.with_reading};
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
    [[maybe_unused]] const bool taken = kind.summaries[quantity]->add_quanta({values.data(), rows.size()}, quantum).ok();
    assert(taken);  // `place` let no digits through that could be
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
  shape.kind = static_cast<std::uint8_t>(kind_of(reading.direction, reading.role, aperture.has_value(), wire.has_value()));
  std::array<char, 4 * k_short> text{};
  std::copy(line.begin(), line.end(), text.begin());
  text[line.size()] = '\n';
  const RowVectors<NarrowVectors> constants(constants_);
  const RowParts<NarrowVectors> row(text.data(), length, constants);
  shape.row = row.first.bytes();
  shape.mixed = row.mixed(constants);

  if (rests_.size() == k_most_shapes) forget_shapes();
  const Slots slots(slots_);
  Shape* slot = slots.first(shape.mixed);
  for (; !slot->is_none(); slot = slots.next(slot)) {
    if (row.first == slot->row && row.rest == rests_[slot->rest]) return;  // it came too near to an end of its text
  }
  shape.rest = static_cast<std::uint16_t>(rests_.size());
  rests_.push_back(row.rest.bytes());
  *slot = shape;
  if (rests_.size() > slots_.size() / k_slots_per_shape) spread_shapes();
}

// In the order of learning, so that those that are met more often are found at once.
void RowShapes::spread_shapes() {
  const std::vector<Shape> shapes = std::exchange(slots_, std::vector<Shape>(2 * slots_.size()));
  std::vector<const Shape*> learnt(rests_.size());
  for (const Shape& shape : shapes) {
    if (!shape.is_none()) learnt[shape.rest] = &shape;
  }
  const Slots slots(slots_);
  for (const Shape* const shape : learnt) {
    Shape* slot = slots.first(shape->mixed);
    while (!slot->is_none()) slot = slots.next(slot);
    *slot = *shape;
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
  static_assert(power_of_ten(k_word) - 1 == k_most_in_column);
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
}

void RowShapes::forget() {
  forget_shapes();
  for (Kind& kind : kinds_) kind.next = kind.begin();
}

}  // namespace sievecloth
