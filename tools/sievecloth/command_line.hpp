// The command line: verbs and their options. What reads it is known in command_line.cpp alone.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace sievecloth::tool {

/// What an option fills: a switch, a text, each of several texts, or a number.
using Target = std::variant<bool*, std::string*, std::vector<std::string>*, unsigned*, std::int64_t*, double*>;

/// The whole numbers that bound a value, both allowed.
struct Range {
  std::int64_t least, most;
};

/// What is asked of an option.
struct Demands {
  bool required = false;                   ///< must be there
  std::vector<std::string_view> one_of;    ///< the values that are allowed; any where it is empty
  std::optional<Range> within;             ///< of a number
  std::vector<std::string_view> needs;     ///< options that must be there with it
  std::vector<std::string_view> excludes;  ///< options that must not
  std::string_view otherwise;              ///< what it is where it is not given, for the page of help
};

/// One option, or what stands without a name: the name begins with `--`, or is the word for it in the help.
struct Option {
  std::string_view name;
  Target target;
  std::string_view help;
  Demands demands = {};
};

/// One verb. `run` gets the verb itself, whose help a complaint may need, and gives the exit code.
struct Verb {
  std::string_view name;
  std::string_view purpose;  ///< one sentence
  std::string_view example;  ///< lines that can be typed, two blanks before each
  std::vector<Option> options;
  std::function<int(const Verb& verb)> run;
};

/// Adds `more` behind the options.
void append(std::vector<Option>& options, std::vector<Option> more);

/// The page of help of a verb; it begins with the example.
std::string help_of(const Verb& verb);

/// Runs the verb that the arguments name with the options they give, or says what is wrong with them. `verbs`: all, or the one that
/// is named. Result: the exit code. Throws what the verb throws.
int run_command_line(std::span<const Verb> verbs, int count, char** arguments, bool json);

}  // namespace sievecloth::tool
