#include "input.hpp"

#include <cerrno>
#include <cstring>
#include <vector>

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

namespace sievecloth::tool {
namespace {

constexpr std::size_t k_block = 256 * 1024;

class Descriptor {
 public:
  explicit Descriptor(const std::string& path) : file_(path == "-" ? STDIN_FILENO : ::open(path.c_str(), O_RDONLY | O_CLOEXEC)) {}
  ~Descriptor() {
    if (file_ > STDERR_FILENO) ::close(file_);
  }
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  int get() const { return file_; }

 private:
  int file_;
};

Error file_error(ErrorCode code, const std::string& path, std::string message) {
  return {code, std::move(message), "", "", {path, 0, 0}};
}

Error open_error(const std::string& path) {
  const ErrorCode code = errno == ENOENT || errno == ENOTDIR ? ErrorCode::file_missing : ErrorCode::file_unreadable;
  return file_error(code, path, fmt::format("cannot be opened: {}", std::strerror(errno)));
}

}  // namespace

Result<bool> read_blocks(const std::string& path, const std::function<bool(std::string_view)>& take,
                         const std::function<bool()>& wait) {
  const Descriptor file(path);
  if (file.get() < 0) return open_error(path);
  struct stat status {};
  if (::fstat(file.get(), &status) == 0 && S_ISDIR(status.st_mode)) {
    return file_error(ErrorCode::file_is_directory, path, "is a directory; name a file of readings or a job file");
  }
  std::vector<char> block(k_block);
  while (true) {
    const ssize_t size = ::read(file.get(), block.data(), block.size());
    if (size < 0 && errno == EINTR) continue;
    if (size < 0) return file_error(ErrorCode::read_failed, path, fmt::format("reading failed: {}", std::strerror(errno)));
    if (size == 0 && wait()) continue;
    if (size == 0) return true;
    if (!take({block.data(), static_cast<std::size_t>(size)})) return false;
  }
}

Result<std::string> read_whole(const std::string& path, std::size_t limit) {
  std::string text;
  Result<bool> read = read_blocks(path, [&](std::string_view block) {
    text += block;
    return text.size() <= limit;
  });
  if (!read.ok()) return read.errors();
  if (!*read) return file_error(ErrorCode::read_failed, path, fmt::format("longer than {} bytes, which no such file needs", limit));
  return text;
}

}  // namespace sievecloth::tool
