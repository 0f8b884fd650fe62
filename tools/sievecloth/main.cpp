// sievecloth: checks woven wire sieve cloth against the sieve standards.
#include <algorithm>
#include <array>
#include <csignal>
#include <cstdlib>
#include <exception>
#include <new>
#include <span>
#include <string_view>
#include <vector>

#include <fcntl.h>
#include <unistd.h>

#include "output.hpp"
#include "verbs.hpp"

namespace sievecloth::tool {
namespace {

struct Entry {
  std::string_view name;
  Verb (*make)();
};

constexpr std::array k_verbs{Entry{"check", check_verb}, Entry{"size", size_verb},   Entry{"editions", editions_verb},
                             Entry{"plan", plan_verb},   Entry{"cloth", cloth_verb}, Entry{"match", match_verb},
                             Entry{"gauge", gauge_verb}, Entry{"watch", watch_verb},
                             Entry{"transcribe", transcribe_verb}};

// The verb named first, if any; otherwise all of them.
std::vector<Verb> verbs_for(std::span<char*> arguments) {
  const std::string_view first = arguments.size() > 1 ? arguments[1] : "";
  const auto named = std::find_if(k_verbs.begin(), k_verbs.end(), [&](const Entry& entry) { return entry.name == first; });
  if (named != k_verbs.end()) return {named->make()};
  std::vector<Verb> verbs;
  verbs.reserve(k_verbs.size());
  for (const Entry& entry : k_verbs) verbs.push_back(entry.make());
  return verbs;
}

Error out_of_memory() { return {ErrorCode::out_of_memory, "out of memory", "", "", {}}; }

int run(int count, char** arguments, bool json) {
  try {
    return run_command_line(verbs_for({arguments, static_cast<std::size_t>(count)}), count, arguments, json);
  } catch (const std::bad_alloc&) {
    return complain({out_of_memory()}, json);
  } catch (const std::exception& error) {
    return complain({{ErrorCode::internal, printable(error.what(), 4096), "", "", {}}}, json);
  }
}

// Memory can run out where nothing may be thrown, or before main, in a library that the program is linked with.
void end_without_memory() {
  try {
    if (const std::exception_ptr exception = std::current_exception()) std::rethrow_exception(exception);
  } catch (const std::bad_alloc&) {
    write_all(STDERR_FILENO, "sievecloth: out of memory\n");
    ::_exit(k_internal);
  } catch (...) {  // a defect, reported as such by abort
  }
  std::abort();
}

// A file that is opened would become standard input or output where those are closed, and be read or written to by mistake.
void keep_standard_streams_apart() {
  for (const int stream : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO}) {
    if (::fcntl(stream, F_GETFD) < 0) (void)::open("/dev/null", stream == STDIN_FILENO ? O_WRONLY : O_RDONLY);  // still fails
  }
}

[[gnu::constructor(101)]] void before_all_else() { std::set_terminate(end_without_memory); }

}  // namespace
}  // namespace sievecloth::tool

int main(int count, char** arguments) {
  using namespace sievecloth::tool;
  keep_standard_streams_apart();
  std::signal(SIGPIPE, SIG_IGN);  // a closed pipe is a write error and does not end the program
  std::signal(SIGXFSZ, SIG_IGN);  // nor does a file size limit
  tidy_up_on_signals();
  const bool json =
      std::any_of(arguments, arguments + count, [](const char* argument) { return std::string_view(argument) == "--json"; });
  return run(count, arguments, json);
}
