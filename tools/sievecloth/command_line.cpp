#include "command_line.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <iterator>
#include <limits>
#include <memory>
#include <system_error>
#include <type_traits>

#include <fmt/format.h>
#include <unistd.h>
#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>

#include "output.hpp"
#include "sievecloth/version.hpp"
#include "verbs.hpp"

namespace sievecloth::tool {
namespace {

constexpr std::string_view k_example =
    "  sievecloth check readings.csv --standard astm-e11-17 --size \"No. 200\" --grade inspection --viewing passed\n"
    "  sievecloth size \"No. 200\"";

/// Help that begins with an example.
class Page : public CLI::Formatter {
 public:
  std::string make_help(const CLI::App* app, std::string name, CLI::AppFormatMode mode) const override {
    if (mode == CLI::AppFormatMode::Sub) return make_expanded(app);
    return fmt::format("Example:\n{}\n\n{}{}{}{}{}", app->get_footer(), make_description(app), make_usage(app, name),
                       make_positionals(app), make_groups(app, mode), make_subcommands(app, mode));
  }
};

void make_page(CLI::App& app, std::string_view example) {
  app.formatter(std::make_shared<Page>());
  app.footer(std::string(example));
}

// ---- options

bool has_name(const Option& option) { return option.name.starts_with("--"); }

// A range lets NaN pass.
std::string is_finite(const std::string& text) {
  double number = 0;
  return CLI::detail::lexical_cast(text, number) && std::isfinite(number) ? "" : "not a number: " + text;
}

// The package reads 010 as 8 and takes what is too large for the largest number that fits.
std::string is_plain(const std::string& text) {
  std::int64_t number = 0;
  const char* const end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, number);
  const bool octal = text.size() > 1 && text.front() == '0';
  return error == std::errc() && stop == end && !octal
             ? ""
             : fmt::format("found '{}', expected a whole number in plain digits, at most {}", text,
                           std::numeric_limits<std::int64_t>::max());
}

template <typename Value>
CLI::Option* make_value(CLI::App& app, const Option& option, Value& value) {
  CLI::Option* made = app.add_option(std::string(option.name), value, std::string(option.help));
  if constexpr (std::is_arithmetic_v<Value>) {
    made->check(std::is_floating_point_v<Value> ? is_finite : is_plain);
    const std::optional<Range>& within = option.demands.within;
    if (within) made->check(CLI::Range(static_cast<Value>(within->least), static_cast<Value>(within->most)));
  } else if constexpr (!std::is_same_v<Value, std::string>) {
    if (has_name(option)) made->expected(1)->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
  }
  return made;
}

void make_option(CLI::App& app, const Option& option) {
  if (bool* const* flag = std::get_if<bool*>(&option.target)) {
    app.add_flag(std::string(option.name), **flag, std::string(option.help));
    return;
  }
  CLI::Option* made = std::visit([&](auto* value) { return make_value(app, option, *value); }, option.target);
  const Demands& demands = option.demands;
  if (demands.required) made->required();
  if (!demands.one_of.empty()) made->check(CLI::IsMember(std::vector<std::string>(demands.one_of.begin(), demands.one_of.end())));
  if (!demands.otherwise.empty()) made->default_str(std::string(demands.otherwise));
}

// Throws CLI::OptionNotFound if a required option was not created.
void tie_to_others(CLI::App& app, const Option& option) {
  CLI::Option* made = app.get_option(std::string(option.name));
  for (const std::string_view other : option.demands.needs) made->needs(app.get_option(std::string(other)));
  for (const std::string_view other : option.demands.excludes) {
    if (CLI::Option* excluded = app.get_option_no_throw(std::string(other))) made->excludes(excluded);
  }
}

// Selects the options to create: all, or only those named in the arguments or required.
class Choice {
 public:
  static Choice all() { return Choice({}, true); }
  static Choice named_in(std::span<char* const> arguments) { return Choice(arguments, false); }

  bool takes(const Option& option) const {
    return all_ || !has_name(option) || option.demands.required ||
           std::any_of(arguments_.begin(), arguments_.end(),
                       [&](const char* argument) { return std::string_view(argument).starts_with(option.name); });
  }

 private:
  Choice(std::span<char* const> arguments, bool all) : arguments_(arguments), all_(all) {}

  std::span<char* const> arguments_;
  bool all_;
};

// ---- verbs

CLI::App* make_verb(CLI::App& app, const Verb& verb, const Choice& choice) {
  CLI::App* made = app.add_subcommand(std::string(verb.name), std::string(verb.purpose))->group("Verbs");
  make_page(*made, verb.example);
  for (const Option& option : verb.options) {
    if (choice.takes(option)) make_option(*made, option);
  }
  for (const Option& option : verb.options) {
    if (choice.takes(option)) tie_to_others(*made, option);
  }
  return made;
}

std::unique_ptr<CLI::App> make_app(std::span<const Verb> verbs, const Choice& choice) {
  auto app = std::make_unique<CLI::App>(
      "Checks measured apertures and wires of woven wire sieve cloth against the tables of a sieve standard.", "sievecloth");
  make_page(*app, k_example);
  app->set_version_flag("--version", "sievecloth " + std::string(k_version));
  app->require_subcommand(1);
  app->get_formatter()->label("SUBCOMMAND", "VERB");
  for (const Verb& verb : verbs) make_verb(*app, verb, choice);
  return app;
}

// The verb that was named; the app if none was.
const CLI::App& deepest(const CLI::App& app) {
  const auto chosen = app.get_subcommands();
  return chosen.empty() ? app : *chosen.front();
}

const Verb& chosen(const CLI::App& app, std::span<const Verb> verbs) {
  const std::string name = deepest(app).get_name();
  return *std::find_if(verbs.begin(), verbs.end(), [&](const Verb& verb) { return verb.name == name; });
}

// The words that no verb accepted must be a mistyped verb.
Error no_verb(const CLI::App& app) {
  const std::vector<std::string> words = app.remaining();
  if (words.empty()) return {ErrorCode::option_missing, "no verb", "", "", {}};
  return {ErrorCode::option_value, "neither a verb nor an option", printable(words.front()), "one of the verbs below", {}};
}

int complain_without_verb(const CLI::App& app, bool json) {
  const int code = complain({no_verb(app)}, json);
  if (!json) write_all(STDERR_FILENO, "\n" + app.help());
  return code;
}

// Fills the options of the only verb if the arguments are valid. Creating all options takes longer than reading a small file, so
// only those named in the arguments are created here: no other can change their meaning.
bool parse_quickly(std::span<const Verb> verbs, int count, char** arguments) {
  if (verbs.size() != 1) return false;
  try {
    make_app(verbs, Choice::named_in({arguments, static_cast<std::size_t>(count)}))->parse(count, arguments);
    return true;
  } catch (const CLI::Error&) {
    return false;
  }
}

}  // namespace

void append(std::vector<Option>& options, std::vector<Option> more) {
  options.insert(options.end(), std::make_move_iterator(more.begin()), std::make_move_iterator(more.end()));
}

int run_command_line(std::span<const Verb> verbs, int count, char** arguments, bool json) {
  if (parse_quickly(verbs, count, arguments)) return verbs.front().run(verbs.front());
  const std::unique_ptr<CLI::App> app = make_app(verbs, Choice::all());
  try {
    app->parse(count, arguments);
  } catch (const CLI::CallForHelp&) {
    return answer(deepest(*app).help());
  } catch (const CLI::CallForVersion&) {
    return answer(app->version() + "\n");
  } catch (const CLI::ParseError& error) {
    if (app->get_subcommands().empty()) return complain_without_verb(*app, json);
    return complain({{ErrorCode::option_value, printable(error.what(), 4096), "", "", {}}}, json, &chosen(*app, verbs));
  }
  const Verb& verb = chosen(*app, verbs);
  return verb.run(verb);
}

}  // namespace sievecloth::tool
