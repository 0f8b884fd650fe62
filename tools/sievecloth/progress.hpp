// A line on a terminal for work that takes long.
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>

namespace sievecloth::tool {

/// Says on standard error how far the reading of one input has come, where that is a terminal and takes longer than a second. The
/// line is gone afterwards. For one thread at a time.
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
