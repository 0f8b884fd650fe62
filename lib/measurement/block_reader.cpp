#include "measurement/block_reader.hpp"

#include <algorithm>
#include <system_error>
#include <utility>

namespace sievecloth {
namespace {

// A small file is read whole at the beginning; this much comes from the heap without a call of the system.
constexpr std::size_t k_first_bytes = std::size_t{64} * 1024;
// So many of these are read before others are started, which takes as long as reading them.
constexpr std::int64_t k_first_blocks = 8;

// What is locked here is free again within the time that a block takes to be read: sooner than a thread that sleeps would be awake.
std::unique_lock<std::mutex> lock_soon(std::mutex& mutex) {
  constexpr int k_attempts = 1000;
  std::unique_lock lock(mutex, std::try_to_lock);
  for (int i = 0; i < k_attempts && !lock.owns_lock(); ++i) {
    std::this_thread::yield();
    lock.try_lock();
  }
  if (!lock.owns_lock()) lock.lock();
  return lock;
}

Sample without_readings(const Sample& sample) {
  const DirectionSample& side = sample[Direction::warp];
  return Sample(side.aperture.thresholds(), side.wire.thresholds().nominal);
}

}  // namespace

BlockReader::BlockReader(const ByteSource& source, const CsvOptions& options, Sample& sample, std::size_t block_bytes)
    : source_(source),
      sample_(sample),
      blank_(without_readings(sample)),
      block_bytes_(block_bytes),
      total_(blank_),
      file_(options, total_) {}

Result<ReadRows> BlockReader::read(unsigned threads) {
  read_beginning();
  if (!ended_) {
    std::vector<std::jthread> others;
    try {
      for (unsigned i = 1; i < threads; ++i) start(others);
    } catch (const std::system_error&) {
      // fewer threads than asked for do the same
    }
    work();
  }
  if (exception_) std::rethrow_exception(exception_);
  if (!source_errors_.empty()) return std::move(source_errors_);
  const Result<std::int64_t> rows = file_.finish();
  if (!rows.ok()) return rows.errors();
  total_.set_named_suspects(file_.named_suspects());
  if (const Result<void> merged = sample_.merge(total_); !merged.ok()) return merged.errors();
  return ReadRows{*rows, file_.ignored_columns()};
}

// Starts another thread, and sleeps until it runs. It begins on the processor of this one, and would wait there for milliseconds if
// this one went on; who is woken up is given a processor that is free.
void BlockReader::start(std::vector<std::jthread>& others) {
  std::unique_lock lock(mutex_);
  bool runs = false;
  others.emplace_back([this, &runs] {
    {
      const std::lock_guard begin(mutex_);
      runs = true;
      settled_block_.notify_all();
    }
    work();
  });
  settled_block_.wait(lock, [&] { return runs; });
}

// In order: up to the header, and all of a short text.
void BlockReader::read_beginning() {
  const std::size_t size = std::min(block_bytes_, k_first_bytes);
  const auto buffer = std::make_unique_for_overwrite<char[]>(size);
  Block block;
  while ((!file_.has_header() || settled_ < k_first_blocks) && next({buffer.get(), size}, nullptr, block)) feed(block);
}

void BlockReader::work() {
  try {
    read_blocks();
  } catch (...) {
    const std::lock_guard lock(mutex_);
    exception_ = std::current_exception();
    ended_ = true;
    settled_block_.notify_all();
  }
}

void BlockReader::read_blocks() {
  const auto buffer = std::make_unique_for_overwrite<char[]>(block_bytes_);
  Sample plain = blank_;
  Sample of_block = blank_;
  CsvRows reader = file_.reader_of_blocks(of_block);
  Block block;
  while (next({buffer.get(), block_bytes_}, &reader, block)) {
    of_block = blank_;
    std::optional<BlockCounts> counts = block.is_lines ? reader.read_block(block.text) : std::nullopt;
    if (counts) {
      (void)plain.merge(of_block);  // of one file, whose reader counts
      skip(block, *std::move(counts));
    } else {
      feed(block);
    }
  }
  const std::lock_guard lock(mutex_);
  (void)total_.merge(plain);
}

// Result: false where there is no further block.
bool BlockReader::next(std::span<char> buffer, CsvRows* reader, Block& block) {
  constexpr std::int64_t k_farthest_ahead = 64;
  std::unique_lock lock = lock_soon(mutex_);
  settled_block_.wait(lock, [&] { return ended_ || next_ - settled_ < k_farthest_ahead; });
  if (ended_ || !fill(buffer, block)) return false;
  block.number = next_++;
  if (reader != nullptr) reader->begin_block(file_);
  return true;
}

// Reads until the buffer is full, and cuts it behind its last line.
bool BlockReader::fill(std::span<char> buffer, Block& block) {
  std::copy_n(carried_.get(), carried_size_, buffer.begin());
  std::size_t size = carried_size_;
  while (size < buffer.size()) {
    const Result<std::size_t> read = source_(buffer.subspan(size));
    if (!read.ok()) source_errors_ = read.errors();
    ended_ = !read.ok() || *read == 0;
    if (ended_) break;
    size += *read;
  }
  const std::string_view text(buffer.data(), size);
  const std::size_t end = ended_ ? size : text.rfind('\n') + 1;  // 0 where there is no line end
  block.text = text.substr(0, end == 0 ? size : end);
  carried_size_ = size - block.text.size();
  if (carried_size_ > 0 && !carried_) carried_ = std::make_unique_for_overwrite<char[]>(block_bytes_);
  std::copy_n(text.data() + block.text.size(), carried_size_, carried_.get());
  block.is_lines = at_line_ && text.substr(0, block.text.size()).ends_with('\n');
  at_line_ = block.text.ends_with('\n');
  return source_errors_.empty() && !block.text.empty();
}

void BlockReader::skip(const Block& block, BlockCounts counts) {
  const std::unique_lock lock = lock_soon(mutex_);
  plain_.emplace(block.number, std::move(counts));
  settle();
}

// Feeds the block to the reader of the file in its turn.
void BlockReader::feed(const Block& block) {
  std::unique_lock lock = lock_soon(mutex_);
  settled_block_.wait(lock, [&] { return settled_ == block.number || file_.full() || exception_; });
  if (file_.full() || exception_) return;
  file_.feed(block.text);
  ++settled_;
  settle();
}

void BlockReader::settle() {
  for (auto plain = plain_.begin(); plain != plain_.end() && plain->first == settled_; plain = plain_.erase(plain)) {
    if (!file_.full()) file_.skip_block(plain->second);
    ++settled_;
  }
  ended_ = ended_ || file_.full();
  settled_block_.notify_all();
}

}  // namespace sievecloth
