// sievecloth: woven wire sieve cloth against the sieve standards.
#include <algorithm>
#include <csignal>
#include <exception>
#include <string>
#include <string_view>
#include <vector>

#include "sievecloth/version.hpp"
#include "verbs.hpp"

namespace sievecloth::tool {
namespace {

constexpr std::string_view k_example =
    "  sievecloth check readings.csv --standard astm-e11-17 --size \"No. 200\" --grade inspection --viewing passed\n"
    "  sievecloth size \"No. 200\"";

// The words that no verb took are what was meant to be one.
Error no_verb(const CLI::App& app) {
  const std::vector<std::string> words = app.remaining();
  if (words.empty()) return {ErrorCode::option_missing, "no verb", "", "", {}};
  return {ErrorCode::option_value, "neither a verb nor an option", printable(words.front()), "one of the verbs below", {}};
}

int run(int count, char** arguments) {
  const bool json =
      std::any_of(arguments, arguments + count, [](const char* argument) { return std::string_view(argument) == "--json"; });
  int exit = k_internal;
  CLI::App app("Checks measured apertures and wires of woven wire sieve cloth against the tables of a sieve standard.",
               "sievecloth");
  make_page(app, std::string(k_example));
  app.set_version_flag("--version", "sievecloth " + std::string(k_version));
  app.require_subcommand(1);
  app.get_formatter()->label("SUBCOMMAND", "VERB");
  add_check(app, exit);
  add_size(app, exit);
  add_editions(app, exit);
  add_plan(app, exit);
  add_cloth(app, exit);
  add_match(app, exit);
  add_gauge(app, exit);
  add_watch(app, exit);
  try {
    app.parse(count, arguments);
    return exit;
  } catch (const CLI::CallForHelp&) {
    return answer(deepest(app).help());
  } catch (const CLI::CallForVersion&) {
    return answer(app.version() + "\n");
  } catch (const CLI::ParseError& error) {
    if (app.get_subcommands().empty()) return complain({no_verb(app)}, json, &app);
    return complain({{ErrorCode::option_value, error.what(), "", "", {}}}, json, &deepest(app));
  } catch (const std::exception& error) {
    return complain({{ErrorCode::internal, error.what(), "", "", {}}}, json);
  }
}

}  // namespace
}  // namespace sievecloth::tool

int main(int count, char** arguments) {
  std::signal(SIGPIPE, SIG_IGN);  // a closed pipe is an error of the write, not the end of the program
  return sievecloth::tool::run(count, arguments);
}
