#include "input.hpp"

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <cstring>
#include <utility>
#include <vector>

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

namespace sievecloth::tool {
namespace {

volatile std::sig_atomic_t interrupts = 0;

Error file_error(ErrorCode code, const std::string& path, std::string message) {
  return {code, std::move(message), "", "", {path, 0, 0}};
}

Error open_error(const std::string& path) {
  const ErrorCode code = errno == ENOENT || errno == ENOTDIR ? ErrorCode::file_missing : ErrorCode::file_unreadable;
  return file_error(code, path, fmt::format("cannot be opened: {}", std::strerror(errno)));
}

}  // namespace

Result<Input> Input::open(const std::string& path, NamedBy by) {
  const int waiting = by == NamedBy::file ? O_NONBLOCK : 0;  // opening a pipe without a writer would block
  const bool standard_input = by == NamedBy::user && path == "-";
  Input input(path, standard_input ? STDIN_FILENO : ::open(path.c_str(), O_RDONLY | O_CLOEXEC | waiting));
  if (input.file_ < 0) return open_error(path);
  struct stat status {};
  if (::fstat(input.file_, &status) == 0 && S_ISDIR(status.st_mode))
    return file_error(ErrorCode::file_is_directory, path, "is a directory; name a file of readings or a job file");
  if (by == NamedBy::file && !S_ISREG(status.st_mode))
    return file_error(ErrorCode::file_unreadable, path, "is no regular file; what a file names must be one");
  if (!standard_input && S_ISREG(status.st_mode)) input.left_ = status.st_size;
  return input;
}

Input::~Input() {
  if (file_ > STDERR_FILENO) ::close(file_);
}

Input::Input(Input&& other) noexcept : path_(std::move(other.path_)), file_(std::exchange(other.file_, -1)), left_(other.left_) {}

Result<std::size_t> Input::read(std::span<char> bytes) {
  while (true) {
    const ssize_t size = ::read(file_, bytes.data(), bytes.size());
    if (size == 0 && left_ > 0) return file_error(ErrorCode::read_failed, path_, "became shorter while it was read");
    left_ -= std::max<ssize_t>(size, 0);
    if (size >= 0) return static_cast<std::size_t>(size);
    if (errno != EINTR) return file_error(ErrorCode::read_failed, path_, fmt::format("reading failed: {}", std::strerror(errno)));
    if (interrupted()) return std::size_t{0};
  }
}

bool Input::is_regular() const { return file_ != STDIN_FILENO && S_ISREG(status().st_mode); }

struct stat Input::status() const {
  struct stat status {};
  (void)::fstat(file_, &status);
  return status;
}

std::size_t Input::read_at(std::int64_t offset, std::span<char> bytes) const {
  const ssize_t size = ::pread(file_, bytes.data(), bytes.size(), offset);
  return static_cast<std::size_t>(std::max<ssize_t>(size, 0));
}

std::optional<std::int64_t> Input::size() const {
  const struct stat now = status();
  return S_ISREG(now.st_mode) ? std::optional<std::int64_t>(now.st_size) : std::nullopt;
}

void end_input_on_interrupt() {
  struct sigaction action {};
  action.sa_handler = [](int) { interrupts = 1; };
  action.sa_flags = static_cast<int>(SA_RESETHAND);  // without SA_RESTART: a blocked read returns
  ::sigaction(SIGINT, &action, nullptr);
}

bool interrupted() { return interrupts != 0; }

Result<void> read_blocks(const std::string& path, const std::function<bool(std::string_view)>& take) {
  Result<Input> input = Input::open(path);
  if (!input.ok()) return input.errors();
  std::vector<char> block(std::size_t{256} * 1024);
  while (true) {
    const Result<std::size_t> read = input->read(block);
    if (!read.ok()) return read.errors();
    if (*read == 0 || !take({block.data(), *read}) || interrupted()) return {};
  }
}

Result<std::string> read_whole(const std::string& path, std::size_t limit, NamedBy by) {
  constexpr std::size_t k_step = std::size_t{64} * 1024;
  Result<Input> input = Input::open(path, by);
  if (!input.ok()) return input.errors();
  std::string text;
  for (std::size_t size = 0;; text.resize(size)) {
    text.resize(size + k_step);
    const Result<std::size_t> read = input->read(std::span(text).subspan(size));
    if (!read.ok()) return read.errors();
    size += *read;
    if (size > limit)
      return file_error(ErrorCode::read_failed, path, fmt::format("longer than {} bytes, which no such file needs", limit));
    if (*read == 0) {
      text.resize(size);
      return text;
    }
  }
}

}  // namespace sievecloth::tool
