#include "output.hpp"

#include <algorithm>
#include <array>
#include <atomic>
#include <cerrno>
#include <chrono>
#include <climits>
#include <csignal>
#include <cstring>
#include <filesystem>
#include <mutex>
#include <thread>
#include <utility>

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
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

std::int64_t nanoseconds(const timespec& time) { return std::int64_t{time.tv_sec} * 1'000'000'000 + time.tv_nsec; }

FileState state_in(const struct stat& status) {
  return {status.st_dev, status.st_ino, status.st_size, nanoseconds(status.st_mtim), nanoseconds(status.st_ctim)};
}

// The same file with the same content; a new name has changed its inode.
bool is_still(const std::optional<FileState>& now, FileState before) {
  before.changed_ns = now ? now->changed_ns : 0;
  return now == before;
}

// Admits one process at a time to the names of a folder, as far as they ask: an exchange is two steps. It waits for a few seconds
// at most, which no exchange takes, since any program may hold such a lock for as long as it likes.
class FolderLock {
 public:
  explicit FolderLock(const fs::path& folder) : file_(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC)) {
    for (int tries = 0; file_ >= 0 && tries < 500 && ::flock(file_, LOCK_EX | LOCK_NB) != 0; ++tries)
      std::this_thread::sleep_for(std::chrono::milliseconds(10));
  }
  ~FolderLock() {
    if (file_ < 0) return;
    ::fsync(file_);           // of the names
    ::flock(file_, LOCK_UN);  // closed it would still be locked by a process that was started meanwhile and keeps a copy
    ::close(file_);
  }
  FolderLock(const FolderLock&) = delete;
  FolderLock& operator=(const FolderLock&) = delete;

 private:
  int file_;
};

// A new file in `folder`. It has no name until it is on the disk, so that nothing is left of it if the program ends before; where
// the file system cannot do that, it has a name that nobody else uses and is removed by the handler of signals.
class NewFile {
 public:
  // `replaced`: the file whose place it will take, if there is one; its mode and group stay.
  NewFile(const fs::path& folder, const struct stat* replaced) : own_name_((folder / random_name()).string()) {
    const mode_t mode = replaced != nullptr ? 0600 : 0666;
    if (::access("/proc/self/fd", X_OK) == 0) file_ = ::open(folder.c_str(), O_WRONLY | O_TMPFILE | O_CLOEXEC, mode);
    if (file_ < 0) open_named(mode);
    error_ = file_ < 0 ? errno : 0;
    if (file_ >= 0 && replaced != nullptr) adopt(*replaced);
  }
  ~NewFile() {
    if (file_ >= 0) ::close(file_);
    if (is_named_) ::unlink(own_name_.c_str());
    is_half_written = false;
  }
  NewFile(const NewFile&) = delete;
  NewFile& operator=(const NewFile&) = delete;

  // 0, or errno of what failed first.
  int error() const { return error_; }
  // Each returns 0 or errno.
  int write(std::string_view bytes) { return write_all(file_, bytes); }
  int sync() {
    struct stat own {};
    if (::fsync(file_) != 0 || ::fstat(file_, &own) != 0) return errno;
    inode_ = own.st_ino;
    // A share on the network, which knows no files without a name, may say only when it is closed that it is full.
    return !is_named_ || ::close(std::exchange(file_, -1)) == 0 ? 0 : errno;
  }
  // EEXIST if a file has the name by now.
  int take(const std::string& path) {
    int error = is_named_ ? rename_to(path, RENAME_NOREPLACE) : link_to(path);
    if (error == EINVAL) error = ::link(own_name_.c_str(), path.c_str()) == 0 ? 0 : errno;  // not every file system can tell
    return done(path) ? 0 : error;
  }
  // Takes the place of `replaced`; EEXIST if another file is there by now, or that one has changed.
  int replace(const std::string& path, const FileState& replaced) {
    if (state_of(path) != replaced) return EEXIST;
    if (!is_named_) {
      note_half_written(own_name_);
      if (const int error = link_to(own_name_)) return error;
      is_named_ = true;
    }
    is_half_written = false;  // from here on that name may be another file's
    const int error = rename_to(path, RENAME_EXCHANGE);
    if (error == EINVAL && is_still(state_of(path), replaced)) return rename_to(path, 0);
    if (!done(path)) return error == ENOENT ? take(path) : error;
    if (is_still(state_of(own_name_), replaced)) {
      is_named_ = ::unlink(own_name_.c_str()) != 0;
      return 0;
    }
    const int back = rename_to(path, RENAME_EXCHANGE);
    is_named_ = back == 0 && done(own_name_);  // what is not its own stays
    return EEXIST;
  }

 private:
  void open_named(mode_t mode) {
    note_half_written(own_name_);
    file_ = ::open(own_name_.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, mode);
    is_named_ = file_ >= 0;
  }
  // Who could not read the old file cannot read the new one. Where a share allows no change of mode, nobody else can.
  void adopt(const struct stat& replaced) {
    const bool same_group = ::fchown(file_, static_cast<uid_t>(-1), replaced.st_gid) == 0;
    (void)::fchmod(file_, replaced.st_mode & (same_group ? 0777 : 0707));
  }
  int link_to(const std::string& path) const {
    const std::string file = fmt::format("/proc/self/fd/{}", file_);
    return ::linkat(AT_FDCWD, file.c_str(), AT_FDCWD, path.c_str(), AT_SYMLINK_FOLLOW) == 0 ? 0 : errno;
  }
  int rename_to(const std::string& path, unsigned flags) {
    return ::renameat2(AT_FDCWD, own_name_.c_str(), AT_FDCWD, path.c_str(), flags) == 0 ? 0 : errno;
  }
  // Whether it has that name now. A share on the network that lost its answer reports an error for what it did.
  bool done(const std::string& path) const {
    const std::optional<FileState> now = state_of(path);
    return now && now->inode == inode_;
  }

  std::string own_name_;
  int file_ = -1;
  int error_ = 0;
  ino_t inode_ = 0;
  bool is_named_ = false;  // by that name
};

// A pipe that nobody reads is an error, not a reason to wait.
Result<void> write_directly(const std::string& path, std::string_view bytes) {
  const int file = ::open(path.c_str(), O_WRONLY | O_NONBLOCK | O_CLOEXEC);
  if (file < 0) return failure(ErrorCode::cannot_create, path, errno == ENXIO ? "nobody reads it" : "cannot be written", errno);
  ::fcntl(file, F_SETFL, 0);
  int error = write_all(file, bytes);
  if (::close(file) != 0 && error == 0) error = errno;
  if (error != 0) return failure(ErrorCode::write_failed, path, "writing failed", error);
  return {};
}

}  // namespace

void tidy_up_on_signals() {
  for (const int signal :
       {SIGHUP, SIGINT, SIGQUIT, SIGTERM, SIGALRM, SIGUSR1, SIGUSR2, SIGXCPU, SIGVTALRM, SIGPROF, SIGIO, SIGPWR, SIGSYS}) {
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

std::optional<FileState> state_of(const std::string& path) {
  struct stat status {};
  if (::stat(path.c_str(), &status) != 0 || !S_ISREG(status.st_mode)) return std::nullopt;
  return state_in(status);
}

Result<void> write_file(const std::string& path, std::string_view bytes, const std::optional<FileState>& replaced) {
  struct stat status {};
  const bool is_there = ::stat(path.c_str(), &status) == 0;
  if (is_there && S_ISDIR(status.st_mode)) return failure(ErrorCode::cannot_create, path, "cannot be written", EISDIR);
  if (is_there && !S_ISREG(status.st_mode)) return write_directly(path, bytes);

  const fs::path target = link_target(path);
  std::error_code unknown;
  if (fs::is_symlink(target, unknown)) return failure(ErrorCode::cannot_create, path, "cannot be created", ELOOP);
  const fs::path folder = target.has_parent_path() ? target.parent_path() : fs::path(".");
  const std::lock_guard lock(one_at_a_time);
  NewFile file(folder, replaced && is_there ? &status : nullptr);
  if (const int error = file.error()) return failure(ErrorCode::cannot_create, path, "cannot be created", error);
  if (const int error = file.write(bytes)) return failure(ErrorCode::write_failed, path, "writing failed", error);
  if (const int error = file.sync()) return failure(ErrorCode::write_failed, path, "writing failed", error);
  const FolderLock names(folder);
  const int error = replaced ? file.replace(target.string(), *replaced) : file.take(target.string());
  if (error == EEXIST)
    return Error{ErrorCode::cannot_create, "has changed since it was looked at", "", "the same command once more", {path, 0, 0}};
  if (error != 0) return failure(ErrorCode::cannot_create, path, "cannot be created", error);
  return {};
}

}  // namespace sievecloth::tool
