// One text read in blocks of whole lines by several threads.
#pragma once

#include <condition_variable>
#include <cstddef>
#include <exception>
#include <map>
#include <memory>
#include <mutex>
#include <string_view>
#include <thread>
#include <vector>

#include "measurement/csv_rows.hpp"

namespace sievecloth {

/// As read_readings, with blocks of `block_bytes`, 1 or more. Tests cut texts at every byte with it.
class BlockReader {
 public:
  BlockReader(const ByteSource& source, const CsvOptions& options, Sample& sample, std::size_t block_bytes);

  Result<ReadRows> read(unsigned threads);

 private:
  struct Block {
    std::int64_t number = 0;
    std::string_view text;
    bool is_lines = true;  // begins with a line and ends with one
  };

  void start(std::vector<std::jthread>& others);
  void read_beginning();
  void work();
  void read_blocks();
  bool next(std::span<char> buffer, CsvRows* reader, Block& block);
  bool fill(std::span<char> buffer, Block& block);
  void skip(const Block& block, BlockCounts counts);
  void feed(const Block& block);
  void settle();

  const ByteSource& source_;
  Sample& sample_;
  const Sample blank_;
  const std::size_t block_bytes_;

  std::mutex mutex_;  // guards all below
  std::condition_variable settled_block_;
  Sample total_;
  CsvRows file_;
  std::unique_ptr<char[]> carried_;  // the beginning of a line, read with the block before
  std::size_t carried_size_ = 0;
  bool at_line_ = true;  // the next block begins with a line
  bool ended_ = false;   // nothing more to read, or no reason to
  std::int64_t next_ = 0;
  std::int64_t settled_ = 0;                   // blocks that the reader of the file has fed or skipped
  std::map<std::int64_t, BlockCounts> plain_;  // blocks found plain before their turn
  Errors source_errors_;
  std::exception_ptr exception_;
};

}  // namespace sievecloth
