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
#include <utility>

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

// Nobody else's: process numbers repeat, in containers that share a folder say.
fs::path random_name() {
  std::array<std::uint64_t, 2> bits{};
  if (::getentropy(bits.data(), sizeof(bits)) != 0)
    bits[0] = static_cast<std::uint64_t>(::getpid());  // made exclusively all the same
  return fmt::format(".sievecloth-{:016x}{:016x}.new", bits[0], bits[1]);
}

// A new file in `folder` that takes a name once it is on the disk, and goes again where it does not get that far.
class NewFile {
 public:
  // `replaced`: the file whose name it will take, if there is one; its mode and group stay.
  NewFile(const fs::path& folder, const struct stat* replaced) : path_((folder / random_name()).string()) {
    note_half_written(path_);
    file_ = ::open(path_.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, replaced != nullptr ? 0600 : 0666);
    error_ = file_ < 0 ? errno : 0;
    is_there_ = file_ >= 0;
    if (is_there_ && replaced != nullptr) adopt(*replaced);
  }
  ~NewFile() {
    if (file_ >= 0) ::close(file_);
    if (is_there_) ::unlink(path_.c_str());
    is_half_written = false;
  }
  NewFile(const NewFile&) = delete;
  NewFile& operator=(const NewFile&) = delete;

  // 0, or errno of what failed first.
  int error() const { return error_; }
  // Each returns 0 or errno.
  int write(std::string_view bytes) { return write_all(file_, bytes); }
  int close() {
    if (::fsync(file_) != 0) return errno;
    return ::close(std::exchange(file_, -1)) == 0 ? 0 : errno;  // a share on the network may say only now that it is full
  }
  // `replace`: what has the name gives way; otherwise a file that has it by now is EEXIST.
  int take_name(const std::string& path, bool replace) {
    struct stat own {};
    const bool known = ::stat(path_.c_str(), &own) == 0;
    int error = ::renameat2(AT_FDCWD, path_.c_str(), AT_FDCWD, path.c_str(), replace ? 0 : RENAME_NOREPLACE) == 0 ? 0 : errno;
    if (error == EINVAL && !replace) error = link_as(path);  // a file system that cannot tell
    // A share that lost the answer to what it did says that there was nothing to rename.
    struct stat now {};
    if (error != 0 && known && ::stat(path.c_str(), &now) == 0 && now.st_dev == own.st_dev && now.st_ino == own.st_ino) error = 0;
    if (error == 0) is_there_ = ::access(path_.c_str(), F_OK) == 0;
    return error;
  }

 private:
  // Who could not read the old file cannot read the new one.
  void adopt(const struct stat& replaced) {
    const bool same_group = ::fchown(file_, static_cast<uid_t>(-1), replaced.st_gid) == 0;
    const mode_t mode = replaced.st_mode & (same_group ? 0777 : 0707);
    if (::fchmod(file_, mode) != 0) error_ = errno;
  }
  int link_as(const std::string& path) { return ::link(path_.c_str(), path.c_str()) == 0 ? 0 : errno; }

  std::string path_;
  int file_ = -1;
  int error_ = 0;
  bool is_there_ = false;  // under its first name
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

fs::path link_target(fs::path path) {
  constexpr int k_most_links = 40;  // as Linux follows
  std::error_code error;
  for (int links = 0; links < k_most_links && fs::is_symlink(path, error); ++links) {
    const fs::path next = fs::read_symlink(path, error);
    if (error) break;
    path = path.parent_path() / next;  // an absolute one stands for itself
  }
  return path;
}

Result<void> write_file(const std::string& path, std::string_view bytes) {
  const fs::path target = link_target(path);
  struct stat replaced {};
  const bool replaces = ::stat(target.c_str(), &replaced) == 0;
  if (replaces && S_ISDIR(replaced.st_mode)) return failure(ErrorCode::cannot_create, path, "cannot be written", EISDIR);
  if (replaces && !S_ISREG(replaced.st_mode)) return write_directly(path, bytes);

  const fs::path folder = target.has_parent_path() ? target.parent_path() : fs::path(".");
  const std::lock_guard lock(one_at_a_time);
  NewFile file(folder, replaces ? &replaced : nullptr);
  if (const int error = file.error()) return failure(ErrorCode::cannot_create, path, "cannot be created", error);
  if (const int error = file.write(bytes)) return failure(ErrorCode::write_failed, path, "writing failed", error);
  if (const int error = file.close()) return failure(ErrorCode::write_failed, path, "writing failed", error);
  if (const int error = file.take_name(target.string(), replaces))
    return failure(ErrorCode::cannot_create, path, "cannot be created", error);
  sync_folder(folder);
  return {};
}

}  // namespace sievecloth::tool
