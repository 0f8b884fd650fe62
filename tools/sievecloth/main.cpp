// sievecloth: woven wire sieve cloth against the sieve standards.
#include <algorithm>
#include <array>
#include <csignal>
#include <cstdlib>
#include <exception>
#include <new>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <unistd.h>

#include "output.hpp"
#include "sievecloth/version.hpp"
#include "verbs.hpp"

namespace sievecloth::tool {
namespace {

constexpr std::string_view k_example =
    "  sievecloth check readings.csv --standard astm-e11-17 --size \"No. 200\" --grade inspection --viewing passed\n"
    "  sievecloth size \"No. 200\"";

struct Verb {
  std::string_view name;
  void (*add)(CLI::App& app, int& exit);
};

constexpr std::array k_verbs{Verb{"check", add_check}, Verb{"size", add_size},   Verb{"editions", add_editions},
                             Verb{"plan", add_plan},   Verb{"cloth", add_cloth}, Verb{"match", add_match},
                             Verb{"gauge", add_gauge}, Verb{"watch", add_watch}};

// The verb that comes first, where one does; all of them otherwise: making their options takes longer than reading a small file.
std::span<const Verb> verbs_for(std::span<char*> arguments) {
  const std::string_view first = arguments.size() > 1 ? arguments[1] : "";
  const auto asked = std::find_if(k_verbs.begin(), k_verbs.end(), [&](const Verb& verb) { return verb.name == first; });
  return asked == k_verbs.end() ? std::span<const Verb>(k_verbs) : std::span<const Verb>(asked, 1);
}

// The words that no verb took are what was meant to be one.
Error no_verb(const CLI::App& app) {
  const std::vector<std::string> words = app.remaining();
  if (words.empty()) return {ErrorCode::option_missing, "no verb", "", "", {}};
  return {ErrorCode::option_value, "neither a verb nor an option", printable(words.front()), "one of the verbs below", {}};
}

Error out_of_memory() { return {ErrorCode::out_of_memory, "out of memory", "", "", {}}; }

int run(int count, char** arguments, bool json) {
  int exit = k_internal;
  CLI::App app("Checks measured apertures and wires of woven wire sieve cloth against the tables of a sieve standard.",
               "sievecloth");
  make_page(app, std::string(k_example));
  app.set_version_flag("--version", "sievecloth " + std::string(k_version));
  app.require_subcommand(1);
  app.get_formatter()->label("SUBCOMMAND", "VERB");
  for (const Verb& verb : verbs_for({arguments, static_cast<std::size_t>(count)})) verb.add(app, exit);
  try {
    app.parse(count, arguments);
    return exit;
  } catch (const CLI::CallForHelp&) {
    return answer(deepest(app).help());
  } catch (const CLI::CallForVersion&) {
    return answer(app.version() + "\n");
  } catch (const CLI::ParseError& error) {
    if (app.get_subcommands().empty()) return complain({no_verb(app)}, json, &app);
    return complain({{ErrorCode::option_value, printable(error.what(), 4096), "", "", {}}}, json, &deepest(app));
  } catch (const std::bad_alloc&) {
    return complain({out_of_memory()}, json);
  } catch (const std::exception& error) {
    return complain({{ErrorCode::internal, printable(error.what(), 4096), "", "", {}}}, json);
  }
}

// Memory can fail where nothing may be thrown, and before main has begun: in a library that this program is made with.
void end_without_memory() {
  try {
    if (const std::exception_ptr exception = std::current_exception()) std::rethrow_exception(exception);
  } catch (const std::bad_alloc&) {
    write_all(STDERR_FILENO, "sievecloth: out of memory\n");
    ::_exit(k_internal);
  } catch (...) {  // a defect, and shown as one
  }
  std::abort();
}

[[gnu::constructor(101)]] void before_all_else() { std::set_terminate(end_without_memory); }

}  // namespace
}  // namespace sievecloth::tool

int main(int count, char** arguments) {
  using namespace sievecloth::tool;
  std::signal(SIGPIPE, SIG_IGN);  // a closed pipe is an error of the write, not the end of the program
  std::signal(SIGXFSZ, SIG_IGN);  // and so is a file that may not grow
  tidy_up_on_signals();
  const bool json =
      std::any_of(arguments, arguments + count, [](const char* argument) { return std::string_view(argument) == "--json"; });
  try {
    return run(count, arguments, json);
  } catch (const std::bad_alloc&) {  // before the first verb was there
    return complain({out_of_memory()}, json);
  }
}
