// Readings as text: blocks, pieces, threads and the fast path give the same result as reading line by line.
#include <algorithm>

#include "fuzz.hpp"
#include "measurement/csv/block_reader.hpp"
#include "measurement/csv/utf8_text.hpp"
#include "measurement/suspect_names.hpp"

using namespace sievecloth;
using namespace sievecloth::fuzz;

namespace {

const Sample k_blank(Thresholds{Length::of(75, Unit::micrometre), Length::of(78, Unit::micrometre),
                                Length::of(91, Unit::micrometre)},
                     Length::of(50, Unit::micrometre));

struct Outcome {
  Sample sample = k_blank;
  Result<std::int64_t> rows = 0;
};

// Line by line, without any fast path.
Outcome read_exactly(std::string_view text, const CsvOptions& options) {
  Outcome outcome;
  SuspectNames suspects;
  Positions positions;
  Rows rows(
      options,
      [&](const ReadingColumns& columns) {
        outcome.sample.add(columns.reading(0)).value();
        suspects.add(columns);
      },
      positions);
  for (std::size_t end; (end = text.find('\n')) != std::string_view::npos && !rows.full(); text.remove_prefix(end + 1))
    rows.take_line(text.substr(0, end));
  if (!text.empty() && !rows.full()) rows.take_last_line(text);
  outcome.rows = rows.finish();
  if (outcome.rows.ok()) outcome.sample.set_named_suspects(suspects.count());
  return outcome;
}

Outcome read_by_pieces(std::string_view text, const CsvOptions& options, std::size_t piece) {
  Outcome outcome;
  SuspectNames suspects;
  CsvReader reader(options, [&](const Reading& reading) {
    outcome.sample.add(reading).value();
    suspects.add(reading);
  });
  while (!text.empty() && reader.feed(text.substr(0, piece))) text.remove_prefix(std::min(piece, text.size()));
  outcome.rows = reader.finish();
  if (outcome.rows.ok()) outcome.sample.set_named_suspects(suspects.count());
  return outcome;
}

Outcome read_by_blocks(std::string_view text, const CsvOptions& options, std::size_t piece, std::size_t block, unsigned threads) {
  Outcome outcome;
  SuspectNames suspects;
  const ColumnSink take = [&](const ReadingColumns& rows) {
    outcome.sample.add(rows).value();
    suspects.add(rows);
  };
  const ByteSource source = source_of(text, piece);
  Positions positions;
  const Result<ReadRows> read = BlockReader(source, options, take, positions, block).read(threads);
  outcome.rows = read.ok() ? Result<std::int64_t>(read->rows) : Result<std::int64_t>(read.errors());
  if (outcome.rows.ok()) outcome.sample.set_named_suspects(suspects.count());
  return outcome;
}

void demand_same(const Outcome& exact, const Outcome& other) {
  demand(exact.rows.ok() == other.rows.ok(), "both refuse or both read");
  if (exact.rows.ok()) return demand(*exact.rows == *other.rows && exact.sample == other.sample, "the same readings");
  demand(same(exact.rows.errors(), other.rows.errors()), "the same complaints");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  Bytes bytes(data, size);
  const std::uint8_t choice = bytes.take<std::uint8_t>();
  const std::size_t block = 1 + std::size_t{3} * bytes.take<std::uint8_t>();
  const std::size_t piece = 1 + std::size_t{bytes.take<std::uint8_t>()};
  CsvOptions options;
  if ((choice & 3) != 0) options.unit = static_cast<Unit>((choice & 3) - 1);
  options.ignore_columns = (choice & 4) != 0;
  if ((choice & 16) != 0) options.direction = Direction::weft;
  if ((choice & 32) != 0) options.columns = {{"a", "aperture", Direction::warp}, {"b", "aperture", Direction::weft}};
  const std::string_view text = bytes.text();

  Utf8Text utf8;
  std::string converted(utf8.take(text));
  converted += utf8.finish();
  const Outcome exact = read_exactly(converted, options);
  if (exact.rows.ok()) {
    demand(*exact.rows >= 1 && exact.sample.count() >= *exact.rows, "a row that counts holds a reading");
  } else {
    demand_complaints(exact.rows.errors());
  }
  demand_same(exact, read_by_pieces(text, options, piece));
  demand_same(exact, read_by_pieces(text, options, SIZE_MAX));
  demand_same(exact, read_by_blocks(text, options, piece, block, 1));
  demand_same(exact, read_by_blocks(text, options, SIZE_MAX, 1 << 16, 1));
  if ((choice & 8) != 0) demand_same(exact, read_by_blocks(text, options, SIZE_MAX, block, 2));
  return 0;
}
