#include "own_process.hpp"

#include <array>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <cstring>
#include <mutex>
#include <set>
#include <utility>

#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "output.hpp"

namespace sievecloth::tool {
namespace {

using Clock = std::chrono::steady_clock;

constexpr int k_wrong_value = 3;  // how a child ends whose input is to blame

// Both ends of the pipes of all processes that are being waited for. A child that kept those of another one would keep that one
// from noticing the end of this process.
struct Ends {
  std::mutex mutex;
  std::set<int> open;
};
Ends& ends() {
  static Ends& all = *new Ends;
  return all;
}

// The child: writes what was made, or why not, and never returns.
[[noreturn]] void make_and_leave(const std::function<Result<std::string>()>& make, int pipe, pid_t parent,
                                 unsigned seconds) noexcept {
  // The signal comes when the thread ends that called fork; that thread waits for this process, so it is the end of the parent.
  ::prctl(PR_SET_PDEATHSIG, SIGKILL);
  if (::getppid() != parent) ::_exit(2);
  for (const int end : ends().open) {  // as they were when fork was called, under the mutex
    if (end != pipe) ::close(end);
  }
  forget_half_written();
  // What libraries say there is no message of this tool.
  if (const int nowhere = ::open("/dev/null", O_WRONLY); nowhere >= 0) ::dup2(nowhere, STDERR_FILENO);
  const rlimit no_core{}, time{seconds, seconds + 1};
  ::setrlimit(RLIMIT_CORE, &no_core);
  ::setrlimit(RLIMIT_CPU, &time);
  const Result<std::string> made = make();
  const bool written = write_all(pipe, made.ok() ? *made : made.errors().front().message) == 0;
  ::_exit(!written ? 2 : made.ok() ? 0 : made.error().code == ErrorCode::wrong_value ? k_wrong_value : 1);
}

// A child process, which does not outlive this.
class Child {
 public:
  explicit Child(pid_t id) : id_(id) {}
  ~Child() {
    if (id_ <= 0) return;
    ::kill(id_, SIGKILL);
    wait();
  }
  Child(const Child&) = delete;
  Child& operator=(const Child&) = delete;

  // Returns how it ended, as waitpid gives it.
  int wait() {
    int status = 0;
    while (::waitpid(id_, &status, 0) < 0 && errno == EINTR) {
    }
    id_ = 0;
    return status;
  }

  // Resident bytes; 0 where the system does not say.
  std::size_t memory() const {
    std::FILE* const file = std::fopen(fmt::format("/proc/{}/statm", id_).c_str(), "re");
    if (file == nullptr) return 0;
    unsigned long all = 0, resident = 0;
    const bool read = std::fscanf(file, "%lu %lu", &all, &resident) == 2;
    std::fclose(file);
    return read ? resident * static_cast<std::size_t>(::sysconf(_SC_PAGESIZE)) : 0;
  }

 private:
  pid_t id_;
};

// A pipe whose ends are known to every child.
class Pipe {
 public:
  // Returns 0 or errno. REQUIRES: the mutex of the ends.
  int open() {
    std::array<int, 2> both{};
    if (::pipe2(both.data(), O_CLOEXEC) != 0) return errno;
    ends().open.insert(both.begin(), both.end());
    read_ = both[0];
    write_ = both[1];
    return 0;
  }
  ~Pipe() {
    const std::lock_guard lock(ends().mutex);
    close(read_);
    close(write_);
  }
  int read() const { return read_; }
  int write() const { return write_; }
  void close_write() { close(write_); }

 private:
  static void close(int& end) {
    if (end < 0) return;
    ends().open.erase(end);
    ::close(std::exchange(end, -1));
  }

  int read_ = -1, write_ = -1;
};

// Reads what the child writes. Returns an empty text, or the limit that it reached.
std::string read_within(const ProcessLimits& limits, const Child& child, int pipe, std::string& text) {
  constexpr int k_look_every_ms = 20;
  const Clock::time_point end = Clock::now() + std::chrono::seconds(4 * limits.seconds);
  std::array<char, 65536> buffer;
  while (true) {
    pollfd wanted{pipe, POLLIN, 0};
    const int ready = ::poll(&wanted, 1, k_look_every_ms);
    if (ready < 0 && errno != EINTR) return std::strerror(errno);
    if (child.memory() > limits.memory) return fmt::format("it takes more than {} MiB of memory", limits.memory >> 20);
    if (Clock::now() > end) return fmt::format("it takes more than {} s", 4 * limits.seconds);
    if (ready <= 0) continue;
    const ssize_t size = ::read(pipe, buffer.data(), buffer.size());
    if (size == 0) return "";
    if (size > 0) text.append(buffer.data(), static_cast<std::size_t>(size));
    if (size < 0 && errno != EINTR) return std::strerror(errno);
    if (text.size() > limits.result) return fmt::format("it becomes longer than {} MiB", limits.result >> 20);
  }
}

std::string end_of(int status, const ProcessLimits& limits) {
  if (WIFSIGNALED(status) && WTERMSIG(status) == SIGXCPU)
    return fmt::format("it takes more than {} s of processor time", limits.seconds);
  return "what makes it broke down; is there enough memory?";
}

}  // namespace

Result<std::string> in_own_process(const std::string& file, const ProcessLimits& limits,
                                   const std::function<Result<std::string>()>& make) {
  const auto failure = [&](std::string message, ErrorCode code = ErrorCode::cannot_create) {
    return Error{code, std::move(message), "", "", {file, 0, 0}};
  };
  Pipe pipe;
  std::unique_lock starting(ends().mutex);
  if (const int error = pipe.open()) return failure(fmt::format("no process can be started: {}", std::strerror(error)));
  const pid_t parent = ::getpid(), id = ::fork();
  if (id == 0) make_and_leave(make, pipe.write(), parent, limits.seconds);
  const int error = errno;
  pipe.close_write();
  starting.unlock();
  if (id < 0) return failure(fmt::format("no process can be started: {}", std::strerror(error)));
  Child child(id);
  std::string text;
  if (std::string reached = read_within(limits, child, pipe.read(), text); !reached.empty()) return failure(std::move(reached));
  const int status = child.wait();
  if (WIFEXITED(status) && WEXITSTATUS(status) == 0) return text;
  if (WIFEXITED(status) && WEXITSTATUS(status) == 1) return failure(std::move(text));
  if (WIFEXITED(status) && WEXITSTATUS(status) == k_wrong_value) return failure(std::move(text), ErrorCode::wrong_value);
  return failure(end_of(status, limits));
}

}  // namespace sievecloth::tool
