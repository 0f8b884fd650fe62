// A progress line on the terminal for long-running work.
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>

namespace sievecloth::tool {

/// Reports the reading progress of one input on standard error, if that is a terminal and reading takes longer than a second. The
/// line is removed afterwards. Not thread-safe.
class Progress {
 public:
  explicit Progress(std::optional<std::int64_t> total_bytes);
  ~Progress();
  Progress(const Progress&) = delete;
  Progress& operator=(const Progress&) = delete;

  void add(std::int64_t bytes);

 private:
  std::optional<std::int64_t> total_;
  std::int64_t done_ = 0;
  std::int64_t next_look_;
  bool shown_ = false;
  std::chrono::steady_clock::time_point next_;
};

}  // namespace sievecloth::tool
