#include "own_process.hpp"

#include <array>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <cstring>
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

// The child: writes what was made, or why not, and never returns.
[[noreturn]] void make_and_leave(const std::function<Result<std::string>()>& make, int pipe, pid_t parent,
                                 unsigned seconds) noexcept {
  // The signal comes when the thread ends that called fork; that thread waits for this process, so it is the end of the parent.
  ::prctl(PR_SET_PDEATHSIG, SIGKILL);
  if (::getppid() != parent) ::_exit(2);
  // Pipes of processes that other threads have started would keep those from noticing the end of the parent.
  ::close_range(STDERR_FILENO + 1, static_cast<unsigned>(pipe) - 1, 0);
  ::close_range(static_cast<unsigned>(pipe) + 1, ~0U, 0);
  forget_half_written();
  const rlimit no_core{}, time{seconds, seconds + 1};
  ::setrlimit(RLIMIT_CORE, &no_core);
  ::setrlimit(RLIMIT_CPU, &time);
  const Result<std::string> made = make();
  const bool written = write_all(pipe, made.ok() ? *made : made.errors().front().message) == 0;
  ::_exit(!written ? 2 : made.ok() ? 0 : 1);
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

struct Pipe {
  int read = -1, write = -1;

  ~Pipe() {
    close(read);
    close(write);
  }
  static void close(int& end) {
    if (end >= 0) ::close(std::exchange(end, -1));
  }
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
  if (WIFSIGNALED(status) && (WTERMSIG(status) == SIGXCPU || WTERMSIG(status) == SIGKILL))
    return fmt::format("it takes more than {} s of processor time", limits.seconds);
  return "what makes it broke down; is there enough memory?";
}

}  // namespace

Result<std::string> in_own_process(const std::string& file, const ProcessLimits& limits,
                                   const std::function<Result<std::string>()>& make) {
  const auto failure = [&](std::string message) {
    return Error{ErrorCode::cannot_create, std::move(message), "", "", {file, 0, 0}};
  };
  Pipe pipe;
  std::array<int, 2> ends{};
  if (::pipe2(ends.data(), O_CLOEXEC) != 0) return failure(fmt::format("no process can be started: {}", std::strerror(errno)));
  pipe.read = ends[0];
  pipe.write = ends[1];
  const pid_t parent = ::getpid(), id = ::fork();
  if (id == 0) make_and_leave(make, pipe.write, parent, limits.seconds);
  if (id < 0) return failure(fmt::format("no process can be started: {}", std::strerror(errno)));
  Child child(id);
  Pipe::close(pipe.write);
  std::string text;
  if (std::string reached = read_within(limits, child, pipe.read, text); !reached.empty()) return failure(std::move(reached));
  const int status = child.wait();
  if (WIFEXITED(status) && WEXITSTATUS(status) == 0) return text;
  if (WIFEXITED(status) && WEXITSTATUS(status) == 1) return failure(std::move(text));
  return failure(end_of(status, limits));
}

}  // namespace sievecloth::tool
