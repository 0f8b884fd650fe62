#include "own_process.hpp"

#include <array>
#include <cerrno>
#include <cstring>

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "output.hpp"

namespace sievecloth::tool {
namespace {

// In the child: writes the result, or the error, and never returns.
[[noreturn]] void make_and_leave(const std::function<Result<std::string>()>& make, int pipe) noexcept {
  forget_half_written();
  const rlimit no_core{};
  ::setrlimit(RLIMIT_CORE, &no_core);
  const Result<std::string> made = make();
  const bool written = write_all(pipe, made.ok() ? *made : made.errors().front().message) == 0;
  ::_exit(!written ? 2 : made.ok() ? 0 : 1);
}

// Output of the child, and its status as returned by waitpid.
struct Outcome {
  std::string text;
  int status = 0;
};

Outcome outcome_of(pid_t child, int pipe) {
  Outcome outcome;
  std::array<char, 65536> buffer;
  ssize_t size = 1;
  while (size != 0) {
    size = ::read(pipe, buffer.data(), buffer.size());
    if (size > 0) outcome.text.append(buffer.data(), static_cast<std::size_t>(size));
    if (size < 0 && errno != EINTR) break;
  }
  while (::waitpid(child, &outcome.status, 0) < 0 && errno == EINTR) {
  }
  return outcome;
}

}  // namespace

Result<std::string> in_own_process(const std::string& file, const std::function<Result<std::string>()>& make) {
  const auto failure = [&](std::string message) {
    return Error{ErrorCode::cannot_create, std::move(message), "", "", {file, 0, 0}};
  };
  std::array<int, 2> pipe{};
  if (::pipe2(pipe.data(), O_CLOEXEC) != 0) return failure(fmt::format("no process can be started: {}", std::strerror(errno)));
  const pid_t child = ::fork();
  const int error = errno;
  if (child == 0) make_and_leave(make, pipe[1]);
  ::close(pipe[1]);
  Outcome outcome;
  if (child > 0) outcome = outcome_of(child, pipe[0]);
  ::close(pipe[0]);
  if (child < 0) return failure(fmt::format("no process can be started: {}", std::strerror(error)));
  if (WIFEXITED(outcome.status) && WEXITSTATUS(outcome.status) == 0) return std::move(outcome.text);
  if (WIFEXITED(outcome.status) && WEXITSTATUS(outcome.status) == 1) return failure(std::move(outcome.text));
  return failure("what makes it broke down; is there enough memory?");
}

}  // namespace sievecloth::tool
