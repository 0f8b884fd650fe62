// Reads one text in blocks of whole lines with several threads.
#pragma once

#include <atomic>
#include <condition_variable>
#include <cstddef>
#include <exception>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <vector>

#include "measurement/csv/block.hpp"
#include "measurement/csv/utf8_text.hpp"

namespace sievecloth {

/// Blocks are read from the source one at a time, parsed in parallel, and handed on in order by whichever thread has parsed the
/// next one.
class BlockReader {
 public:
  /// As read_readings, with blocks of `block_bytes`, 1 or more; a longer line enlarges its block.
  BlockReader(const ByteSource& source, CsvOptions options, ColumnSink sink, Positions& positions, std::size_t block_bytes);

  Result<ReadRows> read(unsigned threads);

 private:
  struct ReadBlock {
    std::int64_t number = 0;
    std::vector<char> bytes;
    std::string_view lines;     // each of which ends with LF
    std::string_view cut_line;  // what follows them if there will be no LF
    Block parsed;
  };
  using BlockPointer = std::unique_ptr<ReadBlock>;

  void read_beginning();
  void read_rest(unsigned threads);
  void work();
  bool fill(ReadBlock& block);
  void hand_on(ReadBlock& block);
  BlockPointer unused_block();
  RowLayout layout();
  void hand_on_in_order(BlockPointer block);
  void stop();

  Utf8Source source_;
  const std::size_t block_bytes_;

  std::mutex source_mutex_;  // guards the reading state
  std::string carried_;      // beginning of a line, read with the previous block
  bool ended_ = false;       // nothing more to read
  std::int64_t next_ = 0;
  Errors source_errors_;

  std::mutex mutex_;  // guards everything below except `rows_`, which belongs to the thread that hands on
  std::condition_variable unused_or_stopped_;
  std::vector<BlockPointer> unused_;
  std::map<std::int64_t, BlockPointer> parsed_;  // waiting for earlier ones
  std::int64_t handed_on_ = 0;
  bool hands_on_ = false;  // a thread is handing on
  std::atomic<bool> stopped_ = false;
  RowLayout layout_;  // that of `rows_` when a block was last handed on
  std::exception_ptr exception_;
  Rows rows_;
};

}  // namespace sievecloth
