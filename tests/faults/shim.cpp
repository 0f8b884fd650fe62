// Preloaded before the C library: makes one call of the tool fail, as SIEVECLOTH_TEST_FAULT specifies.
//   write N     written files: N bytes reach them, then the disk is full
//   answer N    the same for standard output
//   signal N S  signal S arrives once N bytes have been written to files
//   sync 0      fsync fails
//   rename 0    rename fails
//   lost 0      a file takes its name, but the call fails: a share on the network repeats calls whose answer was lost
//   close 0     closing a written file fails, as on a share that was full
//   read N      N bytes are read, then reading fails
//   short N     each read gives at most N bytes, and every second one is interrupted
//   shrink N P  once N bytes were read, the file P is cut to half of that; `grow N P` adds a row to it
//   crash 0     the library that reads fonts crashes
//   malloc N    the N-th allocation fails; the file P of SIEVECLOTH_TEST_FIRED is then created
#include <atomic>
#include <cerrno>
#include <csignal>
#include <cstdarg>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <string_view>

#include <dlfcn.h>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

extern "C" void* __libc_malloc(std::size_t size);

namespace {

struct Fault {
  char kind[16] = "";
  long at = -1;
  char last[4096] = "";
};

const Fault& fault() {
  static const Fault made = [] {
    Fault f;
    if (const char* text = std::getenv("SIEVECLOTH_TEST_FAULT")) std::sscanf(text, "%15s %ld %4095s", f.kind, &f.at, f.last);
    return f;
  }();
  return made;
}

bool is(std::string_view kind) { return kind == fault().kind; }

std::atomic<long> written = 0, received = 0, allocations = 0;
std::atomic<bool> fired = false, interrupted = false;

template <class Function>
Function* real(const char* name) {
  return reinterpret_cast<Function*>(::dlsym(RTLD_NEXT, name));
}

void change_the_file_read() {
  if (fired.exchange(true)) return;
  if (is("shrink")) {
    if (::truncate(fault().last, fault().at / 2) != 0) std::_Exit(99);
    return;
  }
  const int file = ::open(fault().last, O_WRONLY | O_APPEND);
  constexpr std::string_view row = "warp,75.5,50.1\n";
  static auto* const write_on = real<ssize_t(int, const void*, size_t)>("write");
  if (file < 0 || write_on(file, row.data(), row.size()) < 0) std::_Exit(99);
  ::close(file);
}

}  // namespace

extern "C" {

ssize_t write(int file, const void* bytes, size_t size) {
  static auto* const write_on = real<ssize_t(int, const void*, size_t)>("write");
  const bool counts = is("answer") ? file == STDOUT_FILENO : file > STDERR_FILENO && (is("write") || is("signal"));
  if (!counts) return write_on(file, bytes, size);
  const long room = fault().at - written;
  if (room <= 0 && is("signal") && !fired.exchange(true)) ::raise(std::atoi(fault().last));
  if (room <= 0 && !is("signal")) {
    errno = ENOSPC;
    return -1;
  }
  const ssize_t done = write_on(file, bytes, room > 0 && static_cast<long>(size) > room ? static_cast<size_t>(room) : size);
  if (done > 0) written += done;
  return done;
}

ssize_t read(int file, void* bytes, size_t size) {
  static auto* const read_on = real<ssize_t(int, void*, size_t)>("read");
  const bool changes = is("shrink") || is("grow");
  if (is("short")) {
    if (!interrupted.exchange(true)) {
      errno = EINTR;
      return -1;
    }
    interrupted = false;
    size = size < static_cast<size_t>(fault().at) ? size : static_cast<size_t>(fault().at);
  }
  const long room = fault().at - received;
  if (is("read") && room <= 0) {
    errno = EIO;
    return -1;
  }
  if (changes && room <= 0) change_the_file_read();
  const ssize_t done = read_on(
      file, bytes, (is("read") || changes) && room > 0 && static_cast<long>(size) > room ? static_cast<size_t>(room) : size);
  if (done > 0) received += done;
  return done;
}

int fsync(int file) {
  static auto* const sync_on = real<int(int)>("fsync");
  if (!is("sync")) return sync_on(file);
  errno = EIO;
  return -1;
}

// A share knows no files without a name. Under another name here, since the compiler checks calls of the real one.
int opened(const char* path, int flags, ...) __asm__("open");
int opened(const char* path, int flags, ...) {
  static auto* const open_on = real<int(const char*, int, ...)>("open");
  std::va_list arguments;
  va_start(arguments, flags);
  const mode_t mode = (flags & (O_CREAT | O_TMPFILE)) != 0 ? va_arg(arguments, mode_t) : 0;
  va_end(arguments);
  const bool is_share = is("rename") || is("lost") || is("close");
  if (!is_share || (flags & O_TMPFILE) != O_TMPFILE) return open_on(path, flags, mode);
  errno = EOPNOTSUPP;
  return -1;
}

int renameat2(int from_folder, const char* from, int to_folder, const char* to, unsigned flags) noexcept {
  static auto* const rename_on = real<int(int, const char*, int, const char*, unsigned)>("renameat2");
  if (is("rename")) {
    errno = EACCES;
    return -1;
  }
  const int done = rename_on(from_folder, from, to_folder, to, flags);
  if (!is("lost")) return done;
  errno = ENOENT;
  return -1;
}

int close(int file) {
  static auto* const close_on = real<int(int)>("close");
  struct stat status {};
  const bool fails = is("close") && ::fstat(file, &status) == 0 && S_ISREG(status.st_mode) && status.st_size > 0 &&
                     (::fcntl(file, F_GETFL) & O_ACCMODE) == O_WRONLY;
  const int done = close_on(file);
  if (!fails) return done;
  errno = EDQUOT;
  return -1;
}

int FT_Init_FreeType(void* library) {
  if (is("crash")) std::abort();
  void* const fonts = ::dlopen("libfreetype.so.6", RTLD_NOW | RTLD_NOLOAD);
  return reinterpret_cast<int (*)(void*)>(::dlsym(fonts, "FT_Init_FreeType"))(library);
}

void* malloc(size_t size) noexcept {
  if (!is("malloc") || allocations++ != fault().at) return __libc_malloc(size);
  if (const char* path = std::getenv("SIEVECLOTH_TEST_FIRED")) ::close(::open(path, O_CREAT | O_WRONLY, 0644));
  errno = ENOMEM;
  return nullptr;
}
}
