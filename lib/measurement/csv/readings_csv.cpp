#include "sievecloth/readings_csv.hpp"

#include <algorithm>
#include <utility>

#include "measurement/csv/block_reader.hpp"
#include "measurement/csv/positions.hpp"
#include "measurement/csv/utf8_text.hpp"
#include "measurement/suspect_names.hpp"

namespace sievecloth {
namespace {

Sample without_readings(const Sample& sample) {
  const DirectionSample& side = sample[Direction::warp];
  return Sample(side.aperture.thresholds(), side.wire.thresholds().nominal);
}

// Passes on each row that holds a reading, one at a time.
ColumnSink one_by_one(CsvReader::Sink sink) {
  return [sink = std::move(sink)](const ReadingColumns& rows) {
    for (std::size_t row = 0; row < rows.size(); ++row) {
      if (rows.has_reading(row)) sink(rows.reading(row));
    }
  };
}

}  // namespace

// Keeps the beginning of a line until its end arrives.
class CsvReader::State {
  Positions positions_;

 public:
  State(CsvOptions options, Sink sink) : rows(std::move(options), one_by_one(std::move(sink)), positions_) {}

  void feed(std::string_view bytes) { feed_utf8(text_.take(bytes)); }
  void take_last_line() {
    feed_utf8(text_.finish());
    if (size_ > 0 && !rows.full()) rows.take_last_line({bytes_.get(), std::exchange(size_, 0)});
  }

  Rows rows;

 private:
  static constexpr std::size_t k_most_bytes = 2 * k_longest_line;

  void feed_utf8(std::string_view bytes) {
    while (!bytes.empty() && !rows.full()) {
      const std::string_view piece = bytes.substr(0, k_most_bytes - size_);
      bytes.remove_prefix(piece.size());
      std::copy(piece.begin(), piece.end(), bytes_.get() + size_);
      const std::size_t last = piece.rfind('\n');
      const std::size_t end = last == std::string_view::npos ? 0 : size_ + last + 1;
      size_ += piece.size();
      take(end);
      if (size_ > k_longest_line && !rows.full()) rows.take_line({bytes_.get(), size_});
    }
  }

  // Reads the lines that end at `end`.
  void take(std::size_t end) {
    if (end == 0) return;
    std::fill_n(bytes_.get() + size_, PlainRows::k_padding, '\0');
    block_.parse({bytes_.get(), end}, rows.layout());
    block_.hand_on(rows);
    size_ = static_cast<std::size_t>(std::copy(bytes_.get() + end, bytes_.get() + size_, bytes_.get()) - bytes_.get());
  }

  std::unique_ptr<char[]> bytes_ = std::make_unique_for_overwrite<char[]>(k_most_bytes + PlainRows::k_padding);
  std::size_t size_ = 0;
  Block block_;
  Utf8Text text_;
};

CsvReader::CsvReader(CsvOptions options, Sink sink) : state_(std::make_unique<State>(std::move(options), std::move(sink))) {}
CsvReader::~CsvReader() = default;
CsvReader::CsvReader(CsvReader&&) noexcept = default;
CsvReader& CsvReader::operator=(CsvReader&&) noexcept = default;

bool CsvReader::feed(std::string_view bytes) {
  state_->feed(bytes);
  return !state_->rows.full();
}
bool CsvReader::has_complaints() const noexcept { return state_->rows.has_complaints(); }
bool CsvReader::compares_positions() const noexcept { return state_->rows.compares_positions(); }
const std::vector<std::string>& CsvReader::ignored_columns() const noexcept { return state_->rows.ignored_columns(); }
Result<std::int64_t> CsvReader::finish() {
  state_->take_last_line();
  return state_->rows.finish();
}

Result<ReadRows> read_readings(const ByteSource& source, const CsvOptions& options, const ColumnSink& sink, unsigned threads) {
  Positions positions;
  return read_readings(source, options, sink, threads, positions);
}

Result<ReadRows> read_readings(const ByteSource& source, const CsvOptions& options, const ColumnSink& sink, unsigned threads,
                               Positions& positions) {
  constexpr std::size_t k_block_bytes = std::size_t{128} * 1024;  // fits into the second-level cache with its columns
  constexpr std::size_t k_all_blocks_bytes = 16 * k_block_bytes;  // for all threads together, to save memory
  constexpr unsigned k_most_threads = 32;                         // one at a time reads and one hands on; more would wait
  const unsigned useful = std::clamp(threads, 1u, k_most_threads);
  return BlockReader(source, options, sink, positions, std::min(k_block_bytes, k_all_blocks_bytes / useful)).read(useful);
}

Result<ReadRows> read_readings(const ByteSource& source, const CsvOptions& options, Sample& sample, unsigned threads) {
  Sample total = without_readings(sample);
  SuspectNames suspects;
  const ColumnSink take = [&](const ReadingColumns& rows) {
    (void)total.add(rows);  // every length has been checked
    suspects.add(rows);
  };
  Result<ReadRows> read = read_readings(source, options, take, threads);
  if (!read.ok()) return read;
  total.set_named_suspects(suspects.count());
  if (const Result<void> merged = sample.merge(total); !merged.ok()) return merged.errors();
  return read;
}

}  // namespace sievecloth
