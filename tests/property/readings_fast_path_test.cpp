// The fast path through rows, blocks, pieces and threads against the exact path: the same rows in every column, the same errors.
#include <gtest/gtest.h>

#include <initializer_list>

#include <algorithm>
#include <array>
#include <random>
#include <stdexcept>
#include <string>
#include <vector>

#include "base/text.hpp"
#include "measurement/csv/block_reader.hpp"
#include "measurement/suspect_names.hpp"
#include "sievecloth/readings_csv.hpp"

namespace sievecloth {
namespace {

using Random = std::mt19937_64;

constexpr Length um(std::int64_t count) { return Length::of(count, Unit::micrometre); }
const Sample k_blank(Thresholds{um(75), um(78), um(81)}, um(50));

// Every member of a row.
std::string all_of(const Reading& reading) {
  std::string text = std::to_string(reading.line) + " " + std::string(to_text(reading.direction));
  if (reading.role == Role::suspect) text += " suspect";
  for (const std::optional<Length>& length : {reading.aperture, reading.wire, reading.x, reading.y})
    text += length ? " " + std::to_string(length->pm()) : " -";
  if (reading.gap) text += " gap " + std::to_string(*reading.gap);
  return text + " " + reading.field + " " + reading.operator_name;
}

struct Outcome {
  std::vector<std::string> readings;
  Sample sample = k_blank;
  std::int64_t rows = 0;
  std::vector<std::string> complaints;
  bool operator==(const Outcome&) const = default;

  void conclude(const Result<std::int64_t>& result, const SuspectNames& suspects) {
    sample.set_named_suspects(suspects.count());
    if (result.ok()) rows = *result;
    if (result.ok()) return;
    for (const Error& error : result.errors())
      complaints.push_back(std::to_string(static_cast<int>(error.code)) + " " + to_text(error));
  }
};

// Line by line, without any fast path.
Outcome read_exactly(std::string_view text, const CsvOptions& options) {
  Outcome outcome;
  SuspectNames suspects;
  Positions positions;
  Rows rows(
      options,
      [&](const ReadingColumns& columns) {
        ASSERT_EQ(columns.size(), 1u);
        const Reading reading = columns.reading(0);
        outcome.readings.push_back(all_of(reading));
        outcome.sample.add(reading).value();
        suspects.add(reading);
      },
      positions);
  while (!text.empty() && !rows.full()) {
    const std::size_t end = text.find('\n');
    if (end == std::string_view::npos) rows.take_last_line(text);
    if (end == std::string_view::npos) break;
    rows.take_line(text.substr(0, end));
    text.remove_prefix(end + 1);
  }
  outcome.conclude(rows.finish(), suspects);
  return outcome;
}

// `piece`: maximum number of bytes delivered at once, as from a pipe.
ByteSource source_of(std::string_view text, std::size_t piece = SIZE_MAX) {
  return [text, piece](std::span<char> to) mutable -> Result<std::size_t> {
    const std::size_t size = std::min({to.size(), text.size(), piece});
    std::copy_n(text.begin(), size, to.begin());
    text.remove_prefix(size);
    return size;
  };
}

Outcome read_in_blocks(const std::string& text, const CsvOptions& options, std::size_t block_bytes, unsigned threads,
                       std::size_t piece = SIZE_MAX) {
  Outcome outcome;
  SuspectNames suspects;
  const ColumnSink take = [&](const ReadingColumns& rows) {
    outcome.sample.add(rows).value();
    suspects.add(rows);
    for (std::size_t row = 0; row < rows.size(); ++row) {
      if (rows.has_reading(row)) outcome.readings.push_back(all_of(rows.reading(row)));
    }
  };
  const ByteSource source = source_of(text, piece);
  Positions positions;
  const Result<ReadRows> read = BlockReader(source, options, take, positions, block_bytes).read(threads);
  outcome.conclude(read.ok() ? Result<std::int64_t>(read->rows) : Result<std::int64_t>(read.errors()), suspects);
  return outcome;
}

Outcome read_in_pieces(std::string_view text, const CsvOptions& options, std::size_t piece) {
  Outcome outcome;
  SuspectNames suspects;
  CsvReader reader(options, [&](const Reading& reading) {
    outcome.readings.push_back(all_of(reading));
    outcome.sample.add(reading).value();
    suspects.add(reading);
  });
  while (!text.empty() && reader.feed(text.substr(0, piece))) text.remove_prefix(std::min(piece, text.size()));
  outcome.conclude(reader.finish(), suspects);
  return outcome;
}

// One style of file: separators, line ends, quotes, and which columns there are.
struct Style {
  char separator = ',';
  char mark = '.';
  std::string line_end = "\n";
  int quotes = 0;  // one cell in this many; 0: none
  int blanks = 0;
  bool direction = true, wire = true, role = false, field = false, gap = false, position = false, person = false, note = false;
  std::size_t decimals = 2;  // at most
  bool same_decimals = true;
  int odd_numbers = 200;  // one number in this many is zero, too long or has leading zeros
};

std::size_t below(Random& random, std::size_t limit) { return static_cast<std::size_t>(random() % limit); }
bool one_in(Random& random, int times) { return times > 0 && random() % static_cast<unsigned>(times) == 0; }

Style any_style(Random& random) {
  Style style;
  style.separator = std::array{',', ';', '\t'}[below(random, 3)];
  if (style.separator != ',' && one_in(random, 2)) style.mark = ',';
  if (one_in(random, 3)) style.line_end = "\r\n";
  style.quotes = static_cast<int>(std::array{0, 0, 1, 7}[below(random, 4)]);
  style.blanks = static_cast<int>(std::array{0, 0, 0, 5}[below(random, 4)]);
  style.direction = !one_in(random, 4);
  style.wire = !one_in(random, 3);
  style.person = one_in(random, 6);
  style.role = one_in(random, 4);
  style.field = one_in(random, 4);
  style.gap = one_in(random, 4);
  style.position = one_in(random, 4);
  style.note = one_in(random, 6);
  style.decimals = std::array<std::size_t, 5>{0, 1, 2, 3, 6}[below(random, 5)];
  style.same_decimals = one_in(random, 2);
  return style;
}

std::string number(Random& random, const Style& style, double centre) {
  const std::size_t decimals = style.same_decimals ? style.decimals : below(random, style.decimals + 1);
  std::string digits = std::to_string(static_cast<int>(centre * (0.9 + 0.2 * static_cast<double>(below(random, 1000)) / 1000)));
  if (one_in(random, style.odd_numbers)) digits = std::array<std::string, 4>{"0", "100000000", "007", "12345678"}[below(random, 4)];
  if (decimals > 0 && one_in(random, 2 * style.odd_numbers)) digits.clear();
  if (decimals > 0) digits += style.mark;
  for (std::size_t i = 0; i < decimals; ++i) digits += static_cast<char>('0' + below(random, 10));
  return digits;
}

std::string cell(Random& random, const Style& style, std::string text) {
  if (one_in(random, style.quotes)) text = '"' + text + '"';
  if (one_in(random, style.blanks)) text = " " + text;
  if (one_in(random, style.blanks)) text += ' ';
  return text;
}

std::string row(Random& random, const Style& style, std::size_t number_of_row) {
  const bool warp = number_of_row / 40 % 2 == 0 ? true : one_in(random, 2);
  const bool suspect = style.role && one_in(random, 30);
  std::vector<std::string> cells{warp ? "warp" : one_in(random, 9) ? "shute" : "weft"};
  cells.push_back(!suspect && one_in(random, 20) ? "" : number(random, style, 75));
  if (style.wire) cells.push_back(suspect || one_in(random, 10) ? "" : number(random, style, 50));
  if (style.role) cells.push_back(suspect ? "suspect" : one_in(random, 2) ? "" : "sample");
  if (style.field) cells.push_back(std::array<std::string, 4>{"F1", "F27", "", "Gr\u00fcn 3"}[below(random, 4)]);
  if (style.gap) cells.push_back(std::array<std::string, 5>{"", "0", "17", "007", "999999999"}[below(random, 5)]);
  if (style.position) {
    cells.push_back(std::to_string(number_of_row) + style.mark + std::to_string(below(random, 100)));
    cells.push_back((one_in(random, 2) ? "-" : "") + std::to_string(below(random, 100)));
    if (one_in(random, 4)) cells.rbegin()[0].clear(), cells.rbegin()[1].clear();
  }
  if (style.person) cells.push_back(std::array<std::string, 3>{"Anna", "", "B\u00f6rge"}[below(random, 3)]);
  if (!style.direction) cells.erase(cells.begin());
  if (style.note) cells.push_back(std::array<std::string, 4>{"ok", "at 07:43:14", "\u00b5", "2"}[below(random, 4)]);
  std::string text;
  for (std::string& each : cells)
    text += (text.empty() ? "" : std::string(1, style.separator)) + cell(random, style, std::move(each));
  return text + style.line_end;
}

std::string header(const Style& style) {
  std::string text = style.direction ? "direction,aperture_um" : "aperture_um";
  if (style.wire) text += ",wire_um";
  if (style.role) text += ",role";
  if (style.field) text += ",field";
  if (style.gap) text += ",gap";
  if (style.position) text += ",x_mm,y_mm";
  if (style.person) text += ",operator";
  if (style.note) text += ",note";
  std::replace(text.begin(), text.end(), ',', style.separator);
  return text + style.line_end;
}

std::string file(Random& random, const Style& style, std::size_t rows) {
  std::string text = one_in(random, 4) ? "\xEF\xBB\xBF" : "";
  if (one_in(random, 4)) text += "# measured by hand\n";
  text += header(style);
  for (std::size_t i = 0; i < rows; ++i) {
    text += row(random, style, i);
    if (one_in(random, 60)) text += "# 75.31\n";
  }
  if (one_in(random, 3)) text += "\n\n";
  if (one_in(random, 9)) text.resize(text.size() - 1);
  return text;
}

// Every kind of damage that a file can have, in one place.
void damage(Random& random, std::string& text) {
  constexpr std::array<std::string_view, 24> k_damage{
      "\"",       "\"\"", "\r", "\n",   "\n\n",     "\r\n",         ",",  ";",    "\t", ".",     "-",    "0", "9",
      "99999999", " ",    "#",  "\xC3", "\xC3\xBC", "\xEF\xBB\xBF", "e5", "warp", "x",  "\n#\n", "\n \n"};
  const std::size_t at = below(random, text.size());
  switch (random() % 4) {
    case 0: text.insert(at, k_damage[below(random, k_damage.size())]); break;
    case 1: text.replace(at, 1, k_damage[below(random, k_damage.size())]); break;
    case 2: text.erase(at, 1 + below(random, 6)); break;
    default: text[at] = static_cast<char>(random()); break;
  }
}

TEST(FastPath, IsTheExactPath) {
  // property: files of every style, sound and damaged, in blocks and pieces of any size on any number of threads, give the rows,
  // the sample and the errors of the exact path, bit for bit and word for word
  Random random(20261125);
  int sound = 0;
  for (int round = 0; round < 1'500; ++round) {
    const Style style = any_style(random);
    std::string text = file(random, style, below(random, 400));
    if (one_in(random, 2)) {
      for (std::size_t i = 1 + below(random, 3); i > 0; --i) damage(random, text);
    }
    CsvOptions options;
    options.ignore_columns = style.note;
    options.last_line = one_in(random, 2);
    if (!style.direction || one_in(random, 9)) options.direction = Direction::warp;
    const Outcome exact = read_exactly(text, options);
    sound += exact.complaints.empty() ? 1 : 0;
    const std::size_t block_bytes = std::array<std::size_t, 4>{1 + below(random, 70), 300, 4096, 1 << 18}[below(random, 4)];
    const unsigned threads = 1 + static_cast<unsigned>(below(random, 4));
    const Outcome blocks =
        read_in_blocks(text, options, block_bytes, threads, one_in(random, 3) ? 1 + below(random, 90) : SIZE_MAX);
    ASSERT_EQ(blocks.complaints, exact.complaints) << text;
    ASSERT_EQ(blocks.readings, exact.readings) << text;
    ASSERT_EQ(blocks, exact) << text;
    ASSERT_EQ(read_in_pieces(text, options, 1 + below(random, one_in(random, 2) ? 90 : text.size())), exact) << text;
  }
  EXPECT_GT(sound, 400);
}

// `text` in UTF-16 with its byte order mark; an invalid byte becomes half a character.
std::string utf16(std::string_view text, bool big) {
  std::string units;
  const auto add = [&](std::uint32_t unit) {
    const char high = static_cast<char>(unit >> 8), low = static_cast<char>(unit & 0xFF);
    units += big ? high : low;
    units += big ? low : high;
  };
  add(0xFEFF);
  while (!text.empty()) {
    const std::size_t length = utf8_length(text);
    const std::uint32_t point = length == 0 ? 0xDC00 : std::uint32_t{code_point(text.substr(0, length))};
    if (point >= 0x10000) add(0xD800 + ((point - 0x10000) >> 10));
    add(point >= 0x10000 ? 0xDC00 + ((point - 0x10000) & 0x3FF) : point);
    text.remove_prefix(std::max<std::size_t>(length, 1));
  }
  return units;
}

TEST(FastPath, Utf16IsReadLikeUtf8) {
  // identity: the same text in UTF-16, delivered in pieces of every size, gives the readings and errors of UTF-8
  Random random(20261130);
  for (int round = 0; round < 400; ++round) {
    const Style style = any_style(random);
    std::string text = file(random, style, 1 + below(random, 60));
    if (text.starts_with("\xEF\xBB\xBF")) text.erase(0, 3);
    text += one_in(random, 2) ? "# \U0001d5aa\u20ac\n" : "";
    if (one_in(random, 3)) damage(random, text);
    if (text.find('\0') != std::string::npos) continue;
    CsvOptions options{.ignore_columns = style.note, .last_line = one_in(random, 2)};
    if (!style.direction) options.direction = Direction::weft;
    const std::string units = utf16(text, one_in(random, 2));
    const Outcome exact = read_exactly(text, options);
    ASSERT_EQ(read_in_blocks(units, options, 1 + below(random, 300), 2, 1 + below(random, 40)), exact) << text;
    ASSERT_EQ(read_in_pieces(units, options, 1 + below(random, 40)), exact) << text;
  }
}

// A layout as built from a header and its rows.
RowLayout layout_of(const std::string& header, std::optional<DecimalMark> mark) {
  Positions positions;
  Rows rows(
      {.ignore_columns = true}, [](const ReadingColumns&) {}, positions);
  rows.take_line(header);
  RowLayout layout = rows.layout();
  layout.mark = mark;
  return layout;
}

// Number of leading bytes of `lines` that are plain rows.
std::size_t plain_bytes(const std::string& header, std::optional<DecimalMark> mark, std::string lines) {
  const std::size_t size = lines.size();
  lines.append(PlainRows::k_padding, '7');
  PlainRows rows;
  rows.set_layout(layout_of(header, mark));
  rows.begin(size);
  return rows.read(std::string_view(lines).substr(0, size));
}

// Half a pair, or half a unit, at the end of a text.
TEST(FastPath, Utf16ThatIsCutIsAnError) {
  // boundary: every length of a file in UTF-16; only a whole one is read
  for (const bool big : {false, true}) {
    const std::string units = utf16("direction,aperture_um,field\nwarp,75,\U0001d5aa\n", big);
    for (std::size_t size = 0; size <= units.size(); ++size)
      EXPECT_EQ(read_in_pieces(units.substr(0, size), {}, 3).complaints.empty(), size == units.size()) << size;
  }
}

const std::string k_all_columns = "direction,aperture_um,wire_um,role,field,x_mm,y_mm,note";

TEST(FastPath, IsTaken) {
  // identity: rows as instruments write them are plain, whatever their separator, decimal mark, line end, unit and length
  for (const std::string line : {"warp,75.31,50.12,,,,,\n", "WEFT,75,,sample,F 17,-1.5,2,at 07:43\n", "shute,,,,,,,\n",
                                 "Shoot,1234567.1,0.000001,,\u00b5,,,\n", "warp,12.345678,50,,,123.456789,-0.000000001,\u20ac\n",
                                 "warp,75.3,,suspect, A ,1,2,x\r\n", "weft,00075.31,50.0,,,,,\r\n"}) {
    EXPECT_EQ(plain_bytes(k_all_columns, DecimalMark::point, line), line.size()) << line;
  }
  EXPECT_EQ(plain_bytes("direction;aperture_mm", DecimalMark::comma, "warp;0,07531\nweft;0,0752\n"), 25u);
  EXPECT_EQ(plain_bytes("wire_in\tdirection", DecimalMark::point, "0.0029652\twarp\n"), 15u);
  EXPECT_EQ(plain_bytes("wire_in\tdirection", DecimalMark::point, ".0029652\twarp\n.003\twarp\n.0\twarp\n"), 24u);
  EXPECT_EQ(plain_bytes("direction,aperture_um", std::nullopt, "warp,75\nwarp,76.5\n"), 8u);  // the exact path determines the mark
  EXPECT_EQ(plain_bytes("direction,aperture_um", std::nullopt, "warp,12345678\n"), 14u);
}

TEST(FastPath, OneOtherByteAnywhere) {
  // boundary: plain rows of every column with each byte replaced by every other: the result is that of the exact path
  for (const std::string row :
       {"warp,75.31,50.12,sample,F 17,-1.5,2,at 7\n", "shoot,1234567.1,,suspect,\u00b5,12.345678,-4,\r\n", "weft,,50,,,,,\n"}) {
    const std::string before = k_all_columns + "\nwarp,75.3,50.1,,,0,0,\n";
    for (std::size_t at = 0; at < row.size(); ++at) {
      for (int byte = 0; byte < 256; ++byte) {
        std::string text = before + row + "weft,75.4,50.2,,,7,7,\n";
        text[before.size() + at] = static_cast<char>(byte);
        const CsvOptions options{.ignore_columns = true};
        ASSERT_EQ(read_in_blocks(text, options, 1 << 16, 1), read_exactly(text, options)) << at << " " << byte << "\n" << text;
      }
    }
  }
}

TEST(FastPath, NumbersOfEveryLength) {
  // boundary: numbers of up to 20 digits with the decimal mark in every position, before and after other cells, in every unit:
  // words of eight bytes and longer numbers
  for (const std::string unit : {"um", "mm", "in"}) {
    for (std::size_t size = 1; size <= 20; ++size) {
      for (std::size_t mark = 0; mark <= size; ++mark) {
        for (const char first : {'0', '1', '9'}) {
          std::string number = std::string(1, first) + std::string("9081726354908172635").substr(0, size - 1);
          if (mark < size) number.insert(mark, ".");
          const std::string text = "direction,aperture_" + unit + ",wire_" + unit + ",x_mm,y_mm\nwarp,1.5,1,0,0\nwarp," + number +
                                   ",,-" + number + ",1\nweft,," + number + ",1," + number + "\n";
          ASSERT_EQ(read_in_blocks(text, {}, 1 << 16, 1), read_exactly(text, {})) << text;
        }
      }
    }
  }
}

TEST(FastPath, RowsWithoutALengthCountForNothing) {
  // identity: two of every three rows have no length
  std::string text = "direction,aperture_um\n";
  for (int i = 0; i < 12'000; ++i) text += "warp,75.2" + std::to_string(1 + i % 9) + "\nwarp,\nweft,\n";
  const Outcome outcome = read_in_blocks(text, {}, 1 << 16, 2);
  EXPECT_EQ(outcome.rows, 12'000);
  EXPECT_EQ(outcome.sample[Direction::warp].aperture.count(), 12'000);
  EXPECT_EQ(outcome, read_exactly(text, {}));
}

TEST(FastPath, EveryConsumerGetsTheSame) {
  // identity: a sample, columns and single readings from the same text
  Random random(20261129);
  for (int round = 0; round < 60; ++round) {
    const Style style = any_style(random);
    const std::string text = file(random, style, 900);
    const CsvOptions options{.ignore_columns = style.note, .last_line = true};
    const Outcome exact = read_exactly(text, options);
    Sample sample = k_blank;
    const Result<ReadRows> read = read_readings(source_of(text), options, sample, 2);
    ASSERT_EQ(read.ok(), exact.complaints.empty());
    ASSERT_EQ(sample, read.ok() ? exact.sample : k_blank);
    ASSERT_EQ(read_in_blocks(text, options, 4096, 2), exact);
    ASSERT_EQ(read_in_pieces(text, options, SIZE_MAX), exact);
  }
}

TEST(FastPath, TheMarkOfTheFileIsFoundLate) {
  // boundary: blocks parsed before the file's first decimal mark is known that use the other mark: one error each
  std::string text = "direction;aperture_um\n";
  for (int i = 0; i < 30'000; ++i) text += "warp;75\n";
  text += "warp;75.3\n";
  for (int i = 0; i < 5; ++i) text += "warp;75\nwarp;75,3\nweft;75.3\n";
  const Outcome exact = read_exactly(text, {});
  EXPECT_EQ(exact.complaints.size(), 5u);
  for (const unsigned threads : {1u, 4u}) EXPECT_EQ(read_in_blocks(text, {}, 1'000, threads), exact) << threads;
}

TEST(FastPath, BlockBoundaryAtEveryByte) {
  // boundary: blocks of every size, so that one ends at every byte of a field, a quote, a CRLF, a two-byte character, an empty line
  // and a comment
  const std::array<std::string, 4> texts{
      "direction;aperture_um;field\r\n"
      "warp;75,31;Gr\u00fcn 1\r\nwarp;75,32;Gr\u00fcn 2\r\n# "
      "\u00b5\r\nweft;\"76,00\";\"a\"\"b\"\r\nweft;\"76,01\";\"a\"\"b\"\r\nweft;77,1;\r\n",
      "direction,aperture_um\nwarp,75.31\nwarp,75.32\n\nwarp,75.33\nwarp,0.00\nwarp,75.34\nwarp,\"75.35\nwarp,75.36\n\n\n",
      "direction;aperture_um\nwarp;75\nwarp;75,31\nwarp;75.32\nwarp;75,33\nweft;75.34\n",
      "direction,aperture_um,x_mm,y_mm\nwarp,75.31,1,2\nwarp,75.32,1,3\nwarp,75.33,1,2\nweft,75.34,1,2\nweft,75.35,,\nweft,75.36,,"
      "\n"};
  for (const std::string& text : texts) {
    const Outcome exact = read_exactly(text, {});
    for (std::size_t block_bytes = 1; block_bytes <= text.size() + 1; ++block_bytes) {
      for (const unsigned threads : {1u, 3u})
        ASSERT_EQ(read_in_blocks(text, {}, block_bytes, threads), exact) << block_bytes << "\n" << text;
    }
  }
}

TEST(FastPath, AnEmptyLineBetweenBlocksIsNoticed) {
  // boundary: an empty line that ends a block, with rows at the start of the next one; in a single block, at the end, it is allowed
  std::string rows;
  for (int i = 0; i < 40; ++i) rows += i % 2 == 0 ? "warp,75.31\n" : "weft,75.32\n";
  const std::string header = "direction,aperture_um\n";
  for (const std::string& text :
       {header + rows + "\n" + rows, header + rows + "\n\n" + rows + rows, header + rows + "\n# note\n" + rows}) {
    const Outcome exact = read_exactly(text, {});
    ASSERT_EQ(exact.complaints.size(), 1u);
    for (std::size_t block_bytes = 20; block_bytes <= text.size(); ++block_bytes) {
      for (const unsigned threads : {1u, 2u}) ASSERT_EQ(read_in_blocks(text, {}, block_bytes, threads), exact) << block_bytes;
    }
  }
}

TEST(FastPath, ThreadsLeaveNoTrace) {
  // property: one to eight threads give the same bits and the same errors for a file of many blocks
  Random random(7);
  for (const bool damaged : {false, true}) {
    Style style;
    style.same_decimals = false;
    style.odd_numbers = 0;
    std::string text = file(random, style, 60'000);
    if (damaged) {
      for (int i = 0; i < 30; ++i) damage(random, text);
    }
    const CsvOptions options{.last_line = true};
    const Outcome exact = read_exactly(text, options);
    EXPECT_EQ(exact.complaints.empty(), !damaged);
    for (unsigned threads = 1; threads <= 8; ++threads) ASSERT_EQ(read_in_blocks(text, options, 10'000, threads), exact) << threads;
  }
}

TEST(FastPath, PositionsAreComparedAcrossBlocks) {
  // boundary: a repeated position is found among the first 100,000 and not beyond, whatever the blocks
  std::string text = "direction,aperture_um,x_mm,y_mm\n";
  for (std::size_t i = 0; i < k_most_positions + 5'000; ++i)
    text += "warp,75.31," + std::to_string(i % (k_most_positions + 1'000)) + ",5\n";
  EXPECT_EQ(read_in_blocks(text, {}, 50'000, 3).complaints, std::vector<std::string>());
  EXPECT_EQ(read_in_blocks(text, {}, 50'000, 3), read_exactly(text, {}));
  const std::size_t late = text.find("99998,5");
  text.replace(late, 7, "00003,5");
  const Outcome exact = read_exactly(text, {});
  EXPECT_EQ(exact.complaints.size(), 1u);
  EXPECT_EQ(read_in_blocks(text, {}, 50'000, 3), exact);
}

TEST(FastPath, DigitsAtTheirLimits) {
  // boundary: numbers of eight and nine digits, with more and more decimals, lengths up to 100 m and beyond, each after rows of the
  // same layout
  for (const auto& [unit, numbers] : std::vector<std::pair<std::string, std::vector<std::string>>>{
           {"um",
            {"99999999", "100000000", "99999999.9", "9999999.9", "1.0000001", "1.000001", "12.000001", "75.3100000", "100000001",
             "00000075", "0.000001", "123456789.5"}},
           {"mm", {"63", "00000063", "100000", "100001", "99999.999", "1.0000000", "0.000001"}},
           {"in", {"5", "00000005", "3.5", "0.0001", "3937", "3938", "99999999"}}}) {
    for (const std::string& number : numbers) {
      std::string text = "direction,aperture_" + unit + "\n";
      for (int i = 0; i < 20; ++i) text += "warp," + number + "\nweft,75.31\n";
      EXPECT_EQ(read_in_blocks(text, {}, 1 << 18, 1), read_exactly(text, {})) << number << " " << unit;
      for (std::size_t at = text.size() - 60; at < text.size(); ++at) {
        if (text[at] >= '1' && text[at] <= '9') text[at] = '0';
      }
      EXPECT_EQ(read_in_blocks(text, {}, 1 << 18, 1), read_exactly(text, {})) << number << " " << unit;
      std::string alone = "direction,aperture_" + unit + "\n";  // the column's only decimals
      for (int i = 0; i < 20; ++i) alone += "warp," + number + "\n";
      EXPECT_EQ(read_in_blocks(alone, {}, 1 << 18, 1), read_exactly(alone, {})) << number << " " << unit;
    }
  }
}

TEST(FastPath, LongLinesAndMissingEnds) {
  // boundary: lines around the maximum length, in blocks smaller and larger than it
  for (const std::size_t length :
       std::initializer_list<std::size_t>{k_longest_line - 1, k_longest_line, k_longest_line + 1, 3 * k_longest_line}) {
    const std::string text = "direction,aperture_um\nwarp,75.31\n#" + std::string(length - 1, 'x') + "\nwarp,75.32\nwarp,0\n";
    const Outcome exact = read_exactly(text, {});
    for (const std::size_t block_bytes : std::initializer_list<std::size_t>{1'000, 65'536, 65'537, 1 << 18}) {
      for (const unsigned threads : {1u, 2u})
        EXPECT_EQ(read_in_blocks(text, {}, block_bytes, threads), exact) << length << " " << block_bytes;
    }
  }
}

TEST(FastPath, SourceOrSinkThatFails) {
  // boundary: an error from the source, and an exception in it or in the sink, reach the caller on any number of threads; the
  // sample is unchanged
  std::string text = "direction,aperture_um\n";
  for (int i = 0; i < 2'000; ++i) text += "warp,75.31\n";
  const ColumnSink nothing = [](const ReadingColumns&) {};
  for (const unsigned threads : {1u, 3u}) {
    for (const int good : {0, 1, 5, 100, 1'000}) {
      const auto source_that = [&](const std::function<Result<std::size_t>()>& fails) -> ByteSource {
        return [&, fails, calls = 0, whole = source_of(text, 20)](std::span<char> to) mutable {
          return calls++ == good ? fails() : whole(to);
        };
      };
      Positions positions;
      const ByteSource gone = source_that([] { return Error{ErrorCode::read_failed, "gone", "", "", {}}; });
      const Result<ReadRows> result = BlockReader(gone, {}, nothing, positions, 30).read(threads);
      ASSERT_FALSE(result.ok());
      EXPECT_EQ(result.error().code, ErrorCode::read_failed);
      const ByteSource throws = source_that([]() -> Result<std::size_t> { throw std::runtime_error("gone"); });
      EXPECT_THROW((void)BlockReader(throws, {}, nothing, positions, 30).read(threads), std::runtime_error);
      Sample sample = k_blank;
      EXPECT_FALSE(read_readings(source_that([] {
                                   return Error{ErrorCode::read_failed, "gone", "", "", {}};
                                 }),
                                 {}, sample, threads));
      EXPECT_EQ(sample, k_blank);
      const ColumnSink full = [left = good](const ReadingColumns&) mutable {
        if (left-- == 0) throw std::runtime_error("full");
      };
      const ByteSource source = source_of(text);
      EXPECT_THROW((void)BlockReader(source, {}, full, positions, 11).read(threads), std::runtime_error);
    }
  }
}

}  // namespace
}  // namespace sievecloth
