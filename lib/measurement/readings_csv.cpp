#include "sievecloth/readings_csv.hpp"

#include <algorithm>

#include "measurement/block_reader.hpp"
#include "measurement/csv_rows.hpp"

namespace sievecloth {

class CsvReader::State : public CsvRows {
 public:
  using CsvRows::CsvRows;
};

CsvReader::CsvReader(CsvOptions options, Sink sink) : state_(std::make_unique<State>(std::move(options), std::move(sink))) {}
CsvReader::~CsvReader() = default;
CsvReader::CsvReader(CsvReader&&) noexcept = default;
CsvReader& CsvReader::operator=(CsvReader&&) noexcept = default;

bool CsvReader::feed(std::string_view bytes) { return state_->feed(bytes); }
bool CsvReader::has_complaints() const noexcept { return state_->has_complaints(); }
const std::vector<std::string>& CsvReader::ignored_columns() const noexcept { return state_->ignored_columns(); }
Result<std::int64_t> CsvReader::finish() { return state_->finish(); }

Result<ReadRows> read_readings(const ByteSource& source, const CsvOptions& options, Sample& sample, unsigned threads) {
  constexpr std::size_t k_block_bytes = std::size_t{256} * 1024;  // stays in the second level of cache between reading and parsing
  constexpr std::size_t k_all_blocks_bytes = 8 * k_block_bytes;   // of many threads, which would take much memory otherwise
  constexpr unsigned k_most_threads = 32;  // one at a time reads; more would wait for it, even where all rows go the long way
  const unsigned useful = std::clamp(threads, 1u, k_most_threads);
  return BlockReader(source, options, sample, std::min(k_block_bytes, k_all_blocks_bytes / useful)).read(useful);
}

}  // namespace sievecloth
