#include "output.hpp"

#include <algorithm>
#include <array>
#include <atomic>
#include <cerrno>
#include <climits>
#include <csignal>
#include <cstring>
#include <filesystem>
#include <mutex>

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

namespace sievecloth::tool {
namespace {

namespace fs = std::filesystem;

Error failure(ErrorCode code, const std::string& path, std::string_view what, int error) {
  return {code, fmt::format("{}: {}", what, std::strerror(error)), "", "", {path, 0, 0}};
}

// Name of the unfinished file, for the signal handler.
std::mutex one_at_a_time;
std::array<char, PATH_MAX> half_written{};
std::atomic<bool> is_half_written = false;
static_assert(std::atomic<bool>::is_always_lock_free);

void note_half_written(const std::string& path) {
  if (path.size() >= half_written.size()) return;  // such a file cannot be created
  std::copy_n(path.c_str(), path.size() + 1, half_written.begin());
  is_half_written = true;
}

void tidy_up(int signal) {
  if (is_half_written) ::unlink(half_written.data());
  std::signal(signal, SIG_DFL);
  ::raise(signal);
}

// A file that is closed and, unless kept, removed.
class NewFile {
 public:
  explicit NewFile(std::string path) : path_(std::move(path)) {
    note_half_written(path_);
    file_ = ::open(path_.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
  }
  ~NewFile() {
    if (file_ >= 0) ::close(file_);
    if (file_ >= 0 && !kept_) ::unlink(path_.c_str());
    is_half_written = false;
  }
  NewFile(const NewFile&) = delete;
  NewFile& operator=(const NewFile&) = delete;

  int get() const { return file_; }
  bool rename_to(const std::string& path) { return kept_ = ::rename(path_.c_str(), path.c_str()) == 0; }

 private:
  std::string path_;
  int file_ = -1;
  bool kept_ = false;
};

Result<void> write_directly(const std::string& path, std::string_view bytes) {
  const int file = ::open(path.c_str(), O_WRONLY | O_CLOEXEC);
  if (file < 0) return failure(ErrorCode::cannot_create, path, "cannot be written", errno);
  int error = write_all(file, bytes);
  if (::close(file) != 0 && error == 0) error = errno;
  if (error != 0) return failure(ErrorCode::write_failed, path, "writing failed", error);
  return {};
}

void sync_folder(const fs::path& folder) {
  const int file = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (file < 0) return;
  ::fsync(file);
  ::close(file);
}

}  // namespace

void tidy_up_on_signals() {
  for (const int signal : {SIGHUP, SIGINT, SIGTERM}) {
    if (std::signal(signal, tidy_up) == SIG_IGN) std::signal(signal, SIG_IGN);  // ignored on request of the parent process
  }
}

void forget_half_written() noexcept { is_half_written = false; }

int write_all(int file, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t written = ::write(file, bytes.data(), bytes.size());
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) return errno;
    bytes.remove_prefix(static_cast<std::size_t>(written));
  }
  return 0;
}

Result<void> write_file(const std::string& path, std::string_view bytes) {
  std::error_code ignored;
  const fs::path target = fs::is_symlink(path, ignored) ? fs::weakly_canonical(path, ignored) : fs::path(path);
  const fs::file_status status = fs::status(target, ignored);
  if (fs::is_directory(status)) return failure(ErrorCode::cannot_create, path, "cannot be written", EISDIR);
  if (fs::exists(status) && !fs::is_regular_file(status)) return write_directly(path, bytes);

  const fs::path folder = target.has_parent_path() ? target.parent_path() : fs::path(".");
  const std::string beside = (folder / fmt::format(".{}.{}.new", target.filename().string(), ::getpid())).string();
  const std::lock_guard lock(one_at_a_time);
  ::unlink(beside.c_str());  // left by a killed process with the same id
  NewFile file(beside);
  if (file.get() < 0) return failure(ErrorCode::cannot_create, path, "cannot be created", errno);
  if (const int error = write_all(file.get(), bytes)) return failure(ErrorCode::write_failed, path, "writing failed", error);
  if (::fsync(file.get()) != 0) return failure(ErrorCode::write_failed, path, "writing failed", errno);
  if (!file.rename_to(target.string())) return failure(ErrorCode::cannot_create, path, "cannot be created", errno);
  sync_folder(folder);
  return {};
}

}  // namespace sievecloth::tool
