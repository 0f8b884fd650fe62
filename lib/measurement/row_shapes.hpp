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

/// Where the digits of both numbers of a row stand. What each counts in is settled by where its word ends: bytes behind the last
/// digit that are left out count as zeros. Small, because the shapes of a file should all stay in the first level of cache.
struct DigitPlaces {
  std::array<std::uint64_t, 2> after_mark{};   ///< of the word of eight bytes: the digits after the mark
  std::array<std::uint64_t, 2> before_mark{};  ///< of the word one byte earlier: the digits before the mark
  std::array<std::int64_t, 2> word_at{};       ///< where that word begins, from the beginning of the row
};

/// The aperture and the wire of a row in quanta.
using Numbers = std::array<std::int32_t, 2>;

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
  /// The sample must outlive this.
  explicit RowShapes(Sample& sample);
  RowShapes(const RowShapes&) = delete;
  RowShapes& operator=(const RowShapes&) = delete;

  /// Takes rows from `text`, where a line begins at `at`, up to the first that is of no known shape, holds a zero, or stands too
  /// near to either end of the text for reading it in words. Their readings are in the sample after `flush`.
  ShortRows take(std::string_view text, std::size_t at);

  /// Learns the shape of `line` (without its LF, with its CR), which meant `reading`, and whose lengths stand in these cells.
  /// Leaves alone lines longer than 63 bytes, numbers of more than 8 digits, and cells that lie elsewhere.
  void learn(std::string_view line, const Reading& reading, const std::optional<NumberCell>& aperture,
             const std::optional<NumberCell>& wire);

  /// Hands the readings that were taken to the sample.
  void flush();
  /// Forgets every shape, and the readings taken since the last flush.
  void forget();

 private:
  static constexpr std::size_t k_longest = 64;        // the longest row [bytes]
  static constexpr std::size_t k_most_shapes = 1024;  // where there are more, all are forgotten and learnt anew
  static constexpr std::size_t k_slots = 4096;        // a power of two, four times the shapes for short searches
  static constexpr std::size_t k_waiting = 512;       // rows of a kind that are taken into the sample together
  static constexpr std::uint16_t k_no_shape = 0;      // the number of an empty shape, which no row is like: it lacks a line end

  // Rows of one kind on their way into the sample: of one direction and role, with the same lengths.
  struct Kind {
    std::array<Summary*, 2> summaries{};  // null for what these rows lack
    Numbers* next = nullptr;
    Numbers* end = nullptr;  // behind the last of k_waiting
    std::int64_t flushed = 0;

    Numbers* begin() const noexcept { return end - k_waiting; }
    std::size_t room() const noexcept { return static_cast<std::size_t>(end - next); }
    std::int64_t taken() const noexcept { return flushed + (next - begin()); }
  };

  struct alignas(64) Shape {
    std::array<std::uint8_t, k_longest> row{};  // with its LF, without its digits; nothing behind the LF
    DigitPlaces digits;
    Kind* kind = nullptr;
  };

  struct Row {
    const char* text;
    const Shape* shape;
  };
  static constexpr std::size_t k_ahead = 96;    // rows whose shapes are found before their numbers are taken, at most
  using Batch = std::array<Row, k_ahead + 80>;  // 64 bytes of text may end more rows than are asked for

  static std::size_t first_slot(std::uint64_t hash) noexcept;
  template <class Vectors>
  static std::size_t find_rows(const char* text, const char* last, std::size_t ahead, Batch& batch) noexcept;
  template <class Vectors, std::size_t size>
  const Shape* shape_of(const char* text, std::size_t length) const noexcept;
  const Shape* shape_of_long(const char* text, std::size_t length) const noexcept;
  template <class Vectors>
  std::size_t find_shapes(std::span<Row> rows) const noexcept;
  static void take_numbers(const Shape& shape, const Numbers& numbers) noexcept;
  template <class Vectors>
  std::size_t take_rows(std::span<const Row> rows);
  template <class Vectors>
  std::size_t take_run(const char* row, const char* last, const Shape& shape, std::size_t length);
  template <class Vectors>
  ShortRows take_by(std::string_view text, std::size_t at);
  ShortRows take_wide(std::string_view text, std::size_t at);
  bool place(DigitPlaces& places, std::size_t quantity, const NumberCell& cell, std::string_view line);
  Kind& kind_of(Direction direction, Role role, bool has_aperture, bool has_wire) noexcept;
  void refine(std::size_t quantity, std::int64_t quantum_pm);
  void flush(Kind& kind);
  void forget_shapes();

  std::vector<Shape> shapes_;                   // the first is k_no_shape
  std::array<std::uint16_t, k_slots> slots_{};  // numbers of shapes; k_no_shape in a free slot
  std::array<std::int64_t, 2> quantum_pm_{};    // of the finest decimal seen so far in the apertures and in the wires
  std::array<Kind, 12> kinds_;                  // the first takes rows without a length
  // Apart from the kinds, so that a short file touches no more memory than it fills; not quite a page apart, for the cache's sake.
  std::array<std::array<Numbers, k_waiting + 8>, 12> waiting_;
};

}  // namespace sievecloth
