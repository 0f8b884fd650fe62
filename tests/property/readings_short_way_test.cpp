// The short way through rows, blocks and threads against the exact reader: the same readings, the same complaints.
#include <gtest/gtest.h>
#include <malloc.h>

#include <initializer_list>

#include <algorithm>
#include <array>
#include <cstdlib>
#include <random>
#include <string>
#include <vector>

#include "measurement/block_reader.hpp"
#include "measurement/csv_rows.hpp"
#include "measurement/vectorised.hpp"
#include "sievecloth/readings_csv.hpp"

namespace sievecloth {
namespace {

using Random = std::mt19937_64;

constexpr Length um(std::int64_t count) { return Length::of(count, Unit::micrometre); }
const Sample k_blank(Thresholds{um(75), um(78), um(81)}, um(50));

struct Outcome {
  Sample sample = k_blank;
  std::int64_t rows = 0;
  std::vector<std::string> complaints;
  bool operator==(const Outcome&) const = default;
};

Result<std::int64_t> rows_of(const Result<ReadRows>& read) {
  return read.ok() ? Result<std::int64_t>(read->rows) : Result<std::int64_t>(read.errors());
}

void conclude(Outcome& outcome, const Result<std::int64_t>& result) {
  if (result.ok()) {
    outcome.rows = *result;
    return;
  }
  outcome.sample = k_blank;
  for (const Error& error : result.errors())
    outcome.complaints.push_back(std::to_string(static_cast<int>(error.code)) + " " + to_text(error));
}

Outcome read_exactly(const std::string& text, const CsvOptions& options) {
  Outcome outcome;
  SuspectNames suspects;
  CsvReader reader(options, [&](const Reading& reading) {
    outcome.sample.add(reading).value();
    suspects.add(reading);
  });
  reader.feed(text);
  outcome.sample.set_named_suspects(suspects.count());
  conclude(outcome, reader.finish());
  return outcome;
}

// `piece`: so many bytes at most come at once, as from a pipe.
Outcome read_in_blocks(const std::string& text, const CsvOptions& options, std::size_t block_bytes, unsigned threads,
                       std::size_t piece = SIZE_MAX) {
  Outcome outcome;
  std::size_t at = 0;
  const ByteSource source = [&](std::span<char> to) -> Result<std::size_t> {
    const std::size_t size = std::min({to.size(), text.size() - at, piece});
    std::copy_n(text.begin() + static_cast<std::ptrdiff_t>(at), size, to.begin());
    at += size;
    return size;
  };
  conclude(outcome, rows_of(BlockReader(source, options, outcome.sample, block_bytes).read(threads)));
  return outcome;
}

// One way of writing a file: what separates, ends, quotes, which columns there are.
struct Style {
  char separator = ',';
  char mark = '.';
  std::string line_end = "\n";
  int quotes = 0;  // one cell in so many; 0: none
  int blanks = 0;
  bool wire = true, role = false, field = false, position = false, note = false;
  std::size_t decimals = 2;  // at most
  bool same_decimals = true;
  int odd_numbers = 200;  // one number in so many is zero, too long or with leading zeros
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
  style.wire = !one_in(random, 3);
  style.role = one_in(random, 4);
  style.field = one_in(random, 4);
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
  cells.push_back(one_in(random, 20) ? "" : number(random, style, 75));
  if (style.wire) cells.push_back(suspect || one_in(random, 10) ? "" : number(random, style, 50));
  if (style.role) cells.push_back(suspect ? "suspect" : one_in(random, 2) ? "" : "sample");
  if (style.field) cells.push_back(std::array<std::string, 4>{"F1", "F27", "", "Gr\u00fcn 3"}[below(random, 4)]);
  if (style.position) {
    cells.push_back(std::to_string(number_of_row) + style.mark + std::to_string(below(random, 100)));
    cells.push_back((one_in(random, 2) ? "-" : "") + std::to_string(below(random, 100)));
    if (one_in(random, 4)) cells.rbegin()[0].clear(), cells.rbegin()[1].clear();
  }
  if (style.note) cells.push_back(std::array<std::string, 4>{"ok", "at 07:43:14", "\u00b5", "2"}[below(random, 4)]);
  std::string text;
  for (std::string& each : cells)
    text += (text.empty() ? "" : std::string(1, style.separator)) + cell(random, style, std::move(each));
  return text + style.line_end;
}

std::string header(const Style& style) {
  std::string text = "direction,aperture_um";
  if (style.wire) text += ",wire_um";
  if (style.role) text += ",role";
  if (style.field) text += ",field";
  if (style.position) text += ",x_mm,y_mm";
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

// Damage of every kind that a file can have, in one place.
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

TEST(ShortWay, IsTheExactWay) {
  // property: files of every style, sound and damaged, in blocks of any size on any number of threads give the sample and the
  // complaints of the exact reader, bit for bit and word for word
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
    const Outcome exact = read_exactly(text, options);
    sound += exact.complaints.empty() ? 1 : 0;
    const std::size_t block_bytes = std::array<std::size_t, 4>{1 + below(random, 70), 300, 4096, 1 << 18}[below(random, 4)];
    const unsigned threads = 1 + static_cast<unsigned>(below(random, 4));
    const Outcome blocks =
        read_in_blocks(text, options, block_bytes, threads, one_in(random, 3) ? 1 + below(random, 90) : SIZE_MAX);
    ASSERT_EQ(blocks.complaints, exact.complaints) << text;
    ASSERT_EQ(blocks, exact) << text;
  }
  EXPECT_GT(sound, 500);
}

TEST(ShortWay, IsOfTheProcessor) {
  // identity: the compiler's own question about the processor; where the environment tells the C library that there is no AVX2, as
  // one run of these tests does, the other version is taken
#if defined(__x86_64__)
  [[maybe_unused]] const char* const told = std::getenv("GLIBC_TUNABLES");
  const bool has = __builtin_cpu_supports("avx2") && __builtin_cpu_supports("bmi") && __builtin_cpu_supports("bmi2");
#if defined(CPU_FEATURE_ACTIVE)
  EXPECT_EQ(has_wide_vectors(), has && (told == nullptr || std::string_view(told).find("-AVX2") == std::string_view::npos));
#else
  EXPECT_EQ(has_wide_vectors(), has);
#endif
#else
  EXPECT_FALSE(has_wide_vectors());
#endif
}

TEST(ShortWay, IsTaken) {
  // identity: rows that differ in digits alone all take the short way, up to the last one
  std::string text = "direction,aperture_um\nwarp,75.31\n";
  const std::size_t begin = text.size();
  for (int i = 0; i < 3'000; ++i) text += "warp,7" + std::to_string(i % 10) + ".25\n";
  Sample sample = k_blank;
  RowShapes shapes(sample);
  Reading reading;
  reading.aperture = um(75);
  const std::string_view line = std::string_view(text).substr(begin - 11, 10);
  shapes.learn(line, reading, NumberCell{line.substr(5), Unit::micrometre}, std::nullopt);
  const ShortRows taken = shapes.take(text, begin);
  shapes.flush();
  EXPECT_EQ(taken.rows, 3'000);
  EXPECT_EQ(taken.bytes, static_cast<std::size_t>(taken.rows) * 11);
  EXPECT_EQ(taken.with_reading, taken.rows);
  EXPECT_EQ(sample[Direction::warp].aperture.count(), taken.rows);
  EXPECT_EQ(sample[Direction::warp].aperture.maximum(), Length::from_pm(79'250'000));
}

TEST(ShortWay, TellsRowsWithoutALengthFromOthers) {
  // identity: of every three rows two have no length; runs of them, and more than a queue holds
  std::string text = "direction,aperture_um\nwarp,75.31\nwarp,\n";
  const std::size_t begin = text.size();
  for (int i = 0; i < 12'000; ++i) text += "warp,75.2" + std::to_string(1 + i % 9) + "\nwarp,\nwarp,\n";
  Sample sample = k_blank;
  RowShapes shapes(sample);
  Reading reading;
  const std::string_view blank = std::string_view(text).substr(begin - 6, 5), line = std::string_view(text).substr(begin - 17, 10);
  shapes.learn(blank, reading, std::nullopt, std::nullopt);
  reading.aperture = um(75);
  shapes.learn(line, reading, NumberCell{line.substr(5), Unit::micrometre}, std::nullopt);
  shapes.learn(blank, reading, std::nullopt, std::nullopt);  // the decimals of the number made everything before it forgotten
  const ShortRows taken = shapes.take(text, begin);
  shapes.flush();
  EXPECT_EQ(taken.rows, 36'000);
  EXPECT_EQ(taken.with_reading, (taken.rows + 2) / 3);
  EXPECT_EQ(sample[Direction::warp].aperture.count(), taken.with_reading);
}

TEST(ShortWay, ForgetsWhatAnotherMarkTaught) {
  // boundary: a block is read before the first point of its file is, and has commas; a later one with commas must be complained
  // about
  Sample sample = k_blank, of_blocks = k_blank;
  CsvRows file({}, sample);
  file.feed("direction;aperture_um\nwarp;75\n");
  CsvRows blocks = file.reader_of_blocks(of_blocks);
  std::string commas = "warp;75\n";
  for (int i = 0; i < 30; ++i) commas += "warp;75,3\n";
  blocks.begin_block(file);
  EXPECT_FALSE(blocks.read_block(commas));
  file.feed("warp;75.3\n");
  blocks.begin_block(file);
  EXPECT_FALSE(blocks.read_block(commas));
  std::string points = commas;
  std::replace(points.begin(), points.end(), ',', '.');
  blocks.begin_block(file);
  EXPECT_TRUE(blocks.read_block(points));
}

TEST(ShortWay, StopsAtAZeroWhereverItIs) {
  // boundary: a zero in any one of rows of five shapes, short and long, is the one complaint of the file
  const std::array<std::string, 5> shapes{"warp,75.31,50.1\n", "weft,75,\n", "\"weft\",  \"75.312\"  , \"50.21\"  \n",
                                          "warp,,50.2\n", "weft,175.31,50.1\n"};
  std::string text = "direction,aperture_um,wire_um\n";
  std::vector<std::size_t> begins;
  for (std::size_t i = 0; i < 230; ++i) {
    begins.push_back(text.size());
    text += shapes[i < 150 ? i * i % 7 % 5 : i < 200 ? 0 : i % 5];  // mixed, a run, in turn
  }
  ASSERT_EQ(read_in_blocks(text, {}, 1 << 18, 1), read_exactly(text, {}));
  ASSERT_TRUE(read_exactly(text, {}).complaints.empty());
  for (const std::size_t begin : begins) {
    std::string damaged = text;
    const std::size_t digits = text.find_first_of("123456789", begin);
    for (std::size_t at = digits; std::string_view("0123456789.").find(text[at]) != std::string_view::npos; ++at) {
      if (text[at] != '.') damaged[at] = '0';
    }
    const Outcome exact = read_exactly(damaged, {});
    ASSERT_EQ(exact.complaints.size(), 1u) << begin;
    ASSERT_EQ(read_in_blocks(damaged, {}, 1 << 18, 1), exact) << begin;
  }
}

TEST(ShortWay, StopsAtAZeroThatEndsARun) {
  // boundary: runs of every length up to more than one queue holds, whose last row alone is zero
  for (std::size_t run = 1; run < 1'200; run += run < 300 ? 1 : 89) {
    std::string text = "direction,aperture_um\nweft,75.31\n";
    for (std::size_t i = 1; i < run; ++i) text += "warp,75." + std::to_string(10 + i % 90) + "\n";
    text += "warp,00.00\n";
    for (int i = 0; i < 30; ++i) text += i % 2 == 0 ? "weft,75.32\n" : "warp,75\n";
    const Outcome exact = read_exactly(text, {});
    ASSERT_EQ(exact.complaints.size(), 1u) << run;
    ASSERT_EQ(read_in_blocks(text, {}, 1 << 18, 1), exact) << run;
  }
}

TEST(ShortWay, LineEndsCloseTogether) {
  // boundary: line ends among 64 bytes, up to one in every byte
  for (const std::string row : {"warp,7\n", "warp,\n", "\n", "warp,75.31,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,\n"}) {
    for (std::size_t count = 0; count <= 300; count += 1 + count / 8) {
      std::string text = "direction,aperture_um\n";
      for (int i = 0; i < 120; ++i) text += i % 3 == 0 ? "warp,7\n" : i % 3 == 1 ? "weft,75.3\n" : "warp,\n";
      for (std::size_t i = 0; i < count; ++i) text += row;
      for (int i = 0; i < 90; ++i) text += "weft,75.3\n";
      EXPECT_EQ(read_in_blocks(text, {}, 1 << 18, 1), read_exactly(text, {})) << row << count;
    }
  }
}

TEST(ShortWay, RowsOfEveryLength) {
  // boundary: rows of up to 70 bytes that differ in length by one, or in nothing but the direction behind 32 equal bytes
  CsvOptions options;
  options.ignore_columns = true;
  for (std::size_t length = 12; length <= 70; ++length) {
    std::string text = "note,direction,aperture_um\n";
    for (std::size_t i = 0; i < 300; ++i) {
      const std::string end = (i * i % 7 % 3 == 0 ? ",warp,7" : ",weft,7") + std::to_string(i % 10) + ".25\n";
      text += std::string(length + i % 5 / 4 - std::min(length, end.size()), 'x') + end;
    }
    const Outcome exact = read_exactly(text, options);
    ASSERT_TRUE(exact.complaints.empty()) << length;
    for (const std::size_t block_bytes : std::initializer_list<std::size_t>{1'000, 1 << 18})
      EXPECT_EQ(read_in_blocks(text, options, block_bytes, 1), exact) << length;
  }
}

TEST(ShortWay, LongestRow) {
  // boundary: a row of 57 bytes with its line end is taken wherever it begins, one of 58 is not
  for (const std::size_t length : std::initializer_list<std::size_t>{32, 33, 57, 58}) {
    const std::string row = "warp,75.31" + std::string(length - 11, ' ') + "\n";
    for (std::size_t begin = 8; begin < 16; ++begin) {
      std::string text(begin, '\n');
      for (int i = 0; i < 200; ++i) text += row;
      Sample sample = k_blank;
      RowShapes shapes(sample);
      Reading reading;
      reading.aperture = um(75);
      const std::string_view line = std::string_view(text).substr(begin, length - 1);
      shapes.learn(line, reading, NumberCell{line.substr(5, 5), Unit::micrometre}, std::nullopt);
      const ShortRows taken = shapes.take(text, begin);
      if (length <= 57) {
        EXPECT_GE(taken.rows, 197) << length;
      } else {
        EXPECT_EQ(taken.rows, 0) << length;
      }
    }
  }
}

TEST(ShortWay, ManyShapes) {
  // boundary: as many shapes as are looked for in one place, in twice as many, and so on, and more than are known at a time
  CsvOptions options;
  options.ignore_columns = true;
  Random random(20261126);
  for (const std::size_t count : std::initializer_list<std::size_t>{1, 16, 17, 64, 65, 128, 129, 1'023, 1'024, 1'025, 1'400}) {
    std::string text = "note,direction,aperture_um,wire_um\n";
    for (std::size_t i = 0; i < 10 * count; ++i) {
      const std::size_t shape = i < count ? i : below(random, count);
      for (std::size_t rest = shape; rest > 0; rest /= 26) text += static_cast<char>('a' + rest % 26);
      text += shape % 3 == 0 ? ",warp,7" : ",weft,7";
      text += std::to_string(i % 10) + (shape % 5 == 0 ? ".25," : ".3,") + (shape % 7 == 0 ? "\n" : "50.2\n");
    }
    const Outcome exact = read_exactly(text, options);
    ASSERT_TRUE(exact.complaints.empty()) << count;
    EXPECT_EQ(read_in_blocks(text, options, 1 << 18, 1), exact) << count;
  }
}

TEST(ShortWay, ManyShapesTakeLittleMemory) {
  // boundary: rows that are all written differently; what is kept of them stays within 4 MiB
  CsvOptions options;
  options.ignore_columns = true;
  Sample sample = k_blank;
  const std::size_t before = ::mallinfo2().uordblks + ::mallinfo2().hblkhd;
  CsvRows rows(options, sample);
  std::size_t most = 0;
  rows.feed("note,direction,aperture_um\n");
  for (int i = 0; i < 60'000; ++i) {
    std::string row;
    for (int rest = i; rest > 0; rest /= 26) row += static_cast<char>('a' + rest % 26);
    ASSERT_TRUE(rows.feed(row + ",warp,75.31\n"));
    most = std::max(most, ::mallinfo2().uordblks + ::mallinfo2().hblkhd);
  }
  EXPECT_EQ(sample[Direction::warp].aperture.count(), 60'000);
  EXPECT_LT(most - before, std::size_t{4} << 20);
}

TEST(ShortWay, RowsWithoutALengthInTurn) {
  // identity: more rows without a length in turn than are counted, of two shapes, and then every third with one
  for (const bool with_lengths : {false, true}) {
    std::string text = "direction,aperture_um\nwarp,75.31\nwarp,\nweft,\n";
    const std::size_t begin = text.size();
    for (int i = 0; i < 1'000; ++i) text += with_lengths ? "warp,\nweft,\nwarp,75.32\n" : "warp,\nweft,\nwarp,\n";
    Sample sample = k_blank;
    RowShapes shapes(sample);
    const auto line = [&](std::size_t from_end, std::size_t size) { return std::string_view(text).substr(begin - from_end, size); };
    Reading reading;
    reading.aperture = um(75);
    shapes.learn(line(23, 10), reading, NumberCell{line(18, 5), Unit::micrometre}, std::nullopt);
    reading.aperture.reset();
    shapes.learn(line(12, 5), reading, std::nullopt, std::nullopt);
    shapes.learn(line(6, 5), reading, std::nullopt, std::nullopt);
    const ShortRows taken = shapes.take(text, begin);
    shapes.flush();
    EXPECT_GE(taken.rows, 2'980);
    EXPECT_EQ(taken.with_reading, with_lengths ? taken.rows / 3 : 0);
    EXPECT_EQ(sample[Direction::warp].aperture.count(), taken.with_reading);
  }
}

TEST(ShortWay, BlockBoundaryAtEveryByte) {
  // boundary: blocks of every size, so that one ends at every byte of a field, a quote, a CRLF, a character of two bytes, an empty
  // line and a comment
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

TEST(ShortWay, AnEmptyLineBetweenBlocksIsNoticed) {
  // boundary: an empty line that ends a block, and rows that begin the next one; in one block at the end it is in order
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

TEST(ShortWay, ThreadsLeaveNoTrace) {
  // property: one to eight threads give the same bits and the same complaints for a file of many blocks
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

TEST(ShortWay, PositionsAreComparedAcrossBlocks) {
  // boundary: a position that stands twice is found among the first 100,000 and no further, whatever the blocks
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

TEST(ShortWay, DigitsAtTheirLimits) {
  // boundary: numbers of eight and of nine digits, finer and finer decimals, lengths up to 100 m and beyond, each after rows of its
  // shape
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

TEST(ShortWay, LongLinesAndMissingEnds) {
  // boundary: lines around the longest, in blocks smaller and larger than it
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

TEST(ShortWay, SourceThatFails) {
  // boundary: an error of the source, and an exception in it, reach the caller; the sample is as it was
  const std::string text = "direction,aperture_um\nwarp,75.31\nwarp,75.32\nwarp,75.33\nwarp,75.34\n";
  for (const int good : {0, 1, 5}) {
    int calls = 0;
    std::size_t at = 0;
    const ByteSource give = [&](std::span<char> to) -> Result<std::size_t> {
      if (calls++ == good) return Error{ErrorCode::read_failed, "gone", "", "", {}};
      const std::size_t size = std::min({to.size(), text.size() - at, std::size_t{5}});
      std::copy_n(text.begin() + static_cast<std::ptrdiff_t>(at), size, to.begin());
      at += size;
      return size;
    };
    Sample sample = k_blank;
    const Result<ReadRows> result = BlockReader(give, {}, sample, 8).read(3);
    ASSERT_FALSE(result.ok());
    EXPECT_EQ(result.error().code, ErrorCode::read_failed);
    EXPECT_EQ(sample, k_blank);
  }
  Sample sample = k_blank;
  int calls = 0;
  const ByteSource throws = [&](std::span<char> to) -> Result<std::size_t> {
    if (++calls == 2) throw std::runtime_error("gone");
    std::copy_n(text.begin(), 22, to.begin());
    return std::size_t{22};
  };
  EXPECT_THROW((void)BlockReader(throws, {}, sample, 22).read(2), std::runtime_error);
}

}  // namespace
}  // namespace sievecloth
