#include "progress.hpp"

#include <cstdint>
#include <limits>

#include <fmt/format.h>
#include <unistd.h>

#include "output.hpp"

namespace sievecloth::tool {
namespace {

using std::chrono::steady_clock;

constexpr std::int64_t k_between_looks = 4 << 20;  // with a pipe as slow as 4 MB/s the line still appears in the second second
constexpr std::int64_t k_megabyte = 1'000'000;

}  // namespace

Progress::Progress(std::optional<std::int64_t> total_bytes)
    : total_(total_bytes), next_look_(::isatty(STDERR_FILENO) ? k_between_looks : std::numeric_limits<std::int64_t>::max()) {
  if (next_look_ == k_between_looks) next_ = steady_clock::now() + std::chrono::seconds(1);
}

Progress::~Progress() {
  if (shown_) write_all(STDERR_FILENO, "\r\x1b[K");
}

void Progress::add(std::int64_t bytes) {
  done_ += bytes;
  if (done_ < next_look_) return;
  next_look_ = done_ + k_between_looks;
  const steady_clock::time_point now = steady_clock::now();
  if (now < next_) return;
  next_ = now + std::chrono::milliseconds(200);
  shown_ = true;
  const std::int64_t megabytes = done_ / k_megabyte;
  const std::string line = total_ && *total_ >= done_ && *total_ > 0 ? fmt::format("\r{} of {} MB read, {} %\x1b[K", megabytes,
                                                                                   *total_ / k_megabyte, done_ * 100 / *total_)
                                                                     : fmt::format("\r{} MB read\x1b[K", megabytes);
  write_all(STDERR_FILENO, line);
}

}  // namespace sievecloth::tool
