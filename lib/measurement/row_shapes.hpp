// The short way through rows that differ from one read before in nothing but digits.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "measurement/block_sums.hpp"
#include "sievecloth/sample.hpp"

namespace sievecloth {

/// A cell that holds a length: its text, and the unit of its column.
struct NumberCell {
  std::string_view text;
  Unit unit = Unit::micrometre;
};

/// Where the digits of both numbers of a row stand: in two words of eight bytes, each of which ends where its number ends.
struct DigitPlaces {
  static constexpr std::uint8_t k_none = 0x80;
  /// For each of both numbers' eight digits, counted in the finest decimal of its column: the byte of the words, k_none for a zero.
  std::array<std::uint8_t, 16> from{};
  std::array<std::int16_t, 2> word_at{};  ///< where the words begin, from the beginning of the row
};

/// The first bytes of a row with its LF, or what follows them, without its digits; zeros behind the LF.
using ShapeBytes = std::array<std::uint8_t, 32>;

/// What every byte of a row is held against. In memory, because the compiler would make vectors of constants anew for each row.
struct RowConstants {
  static constexpr std::size_t k_most_ones = 96;
  ShapeBytes zeros, nines;                                                                   ///< '0' and 9
  std::array<std::uint32_t, std::tuple_size_v<ShapeBytes> / sizeof(std::uint32_t)> factors;  ///< what bytes are mixed with
  const std::uint8_t* end_of_ones;  ///< behind k_most_ones bytes of ones, where zeros begin
};

/// Rows that the short way took.
struct ShortRows {
  std::size_t bytes = 0;
  std::int64_t rows = 0;
  std::int64_t with_reading = 0;
};

/// Knows the shapes of rows - a shape is every byte but the digits - and takes further rows of these shapes into a sample.
///
/// Every shape comes from a row that the exact reader took without a complaint, so there is no second grammar: quotes, blanks,
/// CRLF, a decimal comma and foreign columns are bytes of a shape like any other. What other digits could change is settled when a
/// shape is learnt (none of its numbers can be too long or too fine), but for zero, which is left to the exact reader and its
/// complaint. A number that a row lacks is read from its line end, which is never zero, and is left out.
class RowShapes {
 public:
  static constexpr std::size_t k_short = std::tuple_size_v<ShapeBytes>;  ///< longer rows take more time [bytes]

  /// The sample must outlive this.
  explicit RowShapes(Sample& sample);
  RowShapes(const RowShapes&) = delete;
  RowShapes& operator=(const RowShapes&) = delete;

  /// Takes rows from `text`, where a line begins at `at`, up to the first that is of no known shape, holds a zero, or stands too
  /// near to the beginning of the text for reading it in words. Their readings are in the sample after `flush`.
  ShortRows take(std::string_view text, std::size_t at);

  /// Learns the shape of `line` (without its LF, with its CR), which meant `reading`, and whose lengths stand in these cells.
  /// Leaves alone lines longer than 56 bytes, numbers of more than 8 characters or, in the finest decimal of their column, of more
  /// than 8 digits, and cells that lie elsewhere.
  void learn(std::string_view line, const Reading& reading, const std::optional<NumberCell>& aperture,
             const std::optional<NumberCell>& wire);

  /// Hands the readings that were taken to the sample.
  void flush();
  /// Forgets every shape, and the readings taken since the last flush.
  void forget();

 private:
  static constexpr std::size_t k_longest = 57;         // the longest row [bytes]: 64 bits less those before it in its byte
  static constexpr std::size_t k_before = 8;           // bytes before a row that a word of its digits may begin with
  static constexpr std::size_t k_behind = 64;          // a row is read as if it were so long
  static constexpr std::size_t k_tail = 256;           // what is left of a text that must be copied to be read so
  static constexpr std::size_t k_most_shapes = 1024;   // where there are more, all are forgotten and learnt anew
  static constexpr std::size_t k_slots_per_shape = 8;  // at least, for short searches
  static constexpr std::size_t k_fewest_slots = 128;   // a power of two
  static constexpr std::size_t k_waiting = 512;        // rows of a kind that are taken into the sample together
  static constexpr std::size_t k_together = 256;       // rows that are looked for together, at most
  static constexpr std::size_t k_most_ahead = 2048;    // bytes that are looked at together, at most
  static constexpr std::size_t k_blank = 10;           // the last kind: rows without a length
  static constexpr std::size_t k_kinds = k_blank + 1;

  // Rows of one kind on their way into the sample: of one direction and role, with the same lengths.
  struct Kind {
    std::array<Summary*, 2> summaries{};  // null for what these rows lack
    Numbers* next = nullptr;
    Numbers* end = nullptr;  // behind the last of k_waiting

    Numbers* begin() const noexcept { return end - k_waiting; }
    std::size_t room() const noexcept { return static_cast<std::size_t>(end - next); }
  };

  // What is read of it for a row lies in one line of the cache, because those of all shapes should stay in its first level.
  struct alignas(64) Shape {
    ShapeBytes row{};
    DigitPlaces digits;
    std::uint32_t mixed = 0;  // where it is looked for
    std::uint16_t rest = 0;   // the number of the bytes that follow `row`
    std::uint8_t kind = 0;

    bool is_none() const noexcept { return row.front() == 0; }  // which no row begins with
  };
  static_assert(sizeof(Shape) == 64);

  class Slots;
  template <class Vectors>
  class LineEnds;
  template <class Vectors>
  class ShortRowShapes;
  using Places = std::array<Numbers*, k_kinds>;  // where the next row of each kind goes

  // Two rows on end. No shape where the row has none that is known.
  struct TwoRows {
    const char* first = nullptr;
    const char* second = nullptr;
    const char* end = nullptr;
    const Shape* first_shape = nullptr;
    const Shape* second_shape = nullptr;
  };

  struct TakenRows {
    const char* end = nullptr;
    const Shape* run = nullptr;  // the shape of the last row, where the one before it is not of another
    std::size_t length = 0;      // of that row
  };

  template <class Vectors>
  const Shape* shape_of_long(const char* text, std::size_t length);
  Places make_room();
  template <class Vectors>
  TakenRows take_pairs(const char* text, const LineEnds<Vectors>& ends, Places& places);
  template <class Vectors>
  TakenRows take_singly(const char* text, const LineEnds<Vectors>& ends, Places& places);
  template <class Vectors>
  TakenRows take_rows(std::string_view text, ShortRows& taken);
  template <class Vectors>
  std::size_t count_alike(const char* row, const Shape& shape, std::size_t length, std::size_t most) const noexcept;
  template <class Vectors>
  std::size_t take_run(const char* row, const char* last, const Shape& shape, std::size_t length);
  template <class Vectors>
  ShortRows take_by(std::string_view text, std::size_t at);
  ShortRows take_wide(std::string_view text, std::size_t at);
  ShortRows take_inside(std::string_view text, std::size_t at);
  bool place(DigitPlaces& places, std::size_t quantity, const NumberCell& cell, std::string_view line);
  static std::size_t kind_of(Direction direction, Role role, bool has_aperture, bool has_wire) noexcept;
  void refine(std::size_t quantity, std::int64_t quantum_pm);
  void flush(Kind& kind);
  void flush_columns(const Kind& kind, std::span<const Numbers> rows);
  void spread_shapes();
  void forget_shapes();

  RowConstants constants_;
  std::vector<Shape> slots_;                  // a power of two of them
  std::vector<ShapeBytes> rests_;             // of each shape, in the order of learning
  std::array<std::int64_t, 2> quantum_pm_{};  // of the finest decimal seen so far in the apertures and in the wires
  std::array<Kind, k_kinds> kinds_;           // the last takes rows without a length
  // Apart from the kinds, so that a short file touches no more memory than it fills; not quite a page apart, for the cache's sake.
  std::array<std::array<Numbers, k_waiting + 8>, k_kinds> waiting_;
  static_assert(k_together <= k_waiting && k_waiting <= k_block_readings && k_rows_at_once <= 8);
};

}  // namespace sievecloth
