#include "measurement/csv/block_reader.hpp"

#include <algorithm>
#include <system_error>
#include <thread>
#include <utility>

namespace sievecloth {
namespace {

// A short text is read by one thread: starting others would take as long.
constexpr std::size_t k_first_bytes = std::size_t{64} * 1024;
constexpr std::int64_t k_first_blocks = 8;

}  // namespace

BlockReader::BlockReader(const ByteSource& source, CsvOptions options, ColumnSink sink, Positions& positions,
                         std::size_t block_bytes)
    : source_(source), block_bytes_(block_bytes), rows_(std::move(options), std::move(sink), positions) {}

Result<ReadRows> BlockReader::read(unsigned threads) {
  read_beginning();
  if (!ended_ && !stopped_) read_rest(threads);
  if (exception_) std::rethrow_exception(exception_);
  if (!rows_.full() && !source_errors_.empty()) return std::move(source_errors_);
  const Result<std::int64_t> rows = rows_.finish();
  if (!rows.ok()) return rows.errors();
  return ReadRows{*rows, rows_.line_number() - 1, rows_.ignored_columns(), rows_.compares_positions()};
}

// On the calling thread alone; covers all of a short text.
void BlockReader::read_beginning() {
  ReadBlock block;
  block.bytes.resize(std::min(block_bytes_, k_first_bytes) + PlainRows::k_padding);
  for (; handed_on_ < k_first_blocks && fill(block); ++handed_on_) {
    block.parsed.parse(block.lines, rows_.layout());
    hand_on(block);
  }
  layout_ = rows_.layout();
}

void BlockReader::read_rest(unsigned threads) {
  constexpr unsigned k_more_blocks = 3;  // beyond the threads, so that none waits as soon as another is held up
  for (unsigned i = 0; i < threads + k_more_blocks; ++i) unused_.push_back(std::make_unique<ReadBlock>());
  std::vector<std::jthread> others;
  try {
    while (others.size() + 1 < threads) others.emplace_back([this] { work(); });
  } catch (const std::system_error&) {
    // continue with fewer threads
  }
  work();
}

void BlockReader::work() {
  try {
    while (BlockPointer block = unused_block()) {
      block->bytes.resize(std::max(block->bytes.size(), block_bytes_ + PlainRows::k_padding));
      if (!fill(*block)) return;
      block->parsed.parse(block->lines, layout());
      hand_on_in_order(std::move(block));
    }
  } catch (...) {
    const std::lock_guard lock(mutex_);
    if (!exception_) exception_ = std::current_exception();
    stop();
  }
}

// Returns null if there is nothing more to do.
BlockReader::BlockPointer BlockReader::unused_block() {
  std::unique_lock lock(mutex_);
  unused_or_stopped_.wait(lock, [&] { return !unused_.empty() || stopped_; });
  if (stopped_) return nullptr;
  BlockPointer block = std::move(unused_.back());
  unused_.pop_back();
  return block;
}

RowLayout BlockReader::layout() {
  const std::lock_guard lock(mutex_);
  return layout_;
}

// Reads until the block is full and ends with a complete line.
bool BlockReader::fill(ReadBlock& block) {
  const std::lock_guard lock(source_mutex_);
  if (ended_ || stopped_) return false;
  block.number = next_++;
  std::size_t size = carried_.size(), end = 0;
  block.bytes.resize(std::max(block.bytes.size(), size + 1 + PlainRows::k_padding));
  std::copy(carried_.begin(), carried_.end(), block.bytes.begin());
  while (end == 0 && !ended_) {
    const std::span<char> room(block.bytes.data() + size, block.bytes.size() - PlainRows::k_padding - size);
    const Result<std::size_t> read = source_(room);
    if (!read.ok()) source_errors_ = read.errors();
    if (!read.ok() || *read == 0) ended_ = true;
    size += read.ok() ? *read : 0;
    if (!ended_ && *read < room.size()) continue;
    end = std::string_view(block.bytes.data(), size).rfind('\n') + 1;  // 0 if there is no line end
    if (end == 0 && size > k_longest_line) ended_ = true;              // nothing is read after a line that is too long
    if (end == 0) block.bytes.resize(2 * block.bytes.size());
  }
  std::fill_n(block.bytes.begin() + static_cast<std::ptrdiff_t>(size), PlainRows::k_padding, '\0');
  block.lines = {block.bytes.data(), end};
  const std::string_view rest(block.bytes.data() + end, size - end);
  block.cut_line = ended_ ? rest : std::string_view();
  carried_.assign(ended_ ? std::string_view() : rest);
  return source_errors_.empty();
}

void BlockReader::hand_on(ReadBlock& block) {
  block.parsed.hand_on(rows_);
  if (!block.cut_line.empty() && !rows_.full()) rows_.take_last_line(block.cut_line);
  if (rows_.full()) stopped_ = true;
}

// Hands on this block and the parsed blocks after it, unless an earlier one is outstanding or another thread is doing so.
void BlockReader::hand_on_in_order(BlockPointer block) {
  std::unique_lock lock(mutex_);
  parsed_.emplace(block->number, std::move(block));
  if (hands_on_) return;
  hands_on_ = true;
  for (auto next = parsed_.begin(); next != parsed_.end() && next->first == handed_on_ && !stopped_; next = parsed_.begin()) {
    block = std::move(next->second);
    parsed_.erase(next);
    lock.unlock();
    hand_on(*block);
    lock.lock();
    ++handed_on_;
    if (layout_.version != rows_.layout().version) layout_ = rows_.layout();
    unused_.push_back(std::move(block));
    unused_or_stopped_.notify_all();
  }
  hands_on_ = false;
}

void BlockReader::stop() {
  stopped_ = true;
  unused_or_stopped_.notify_all();
}

}  // namespace sievecloth
