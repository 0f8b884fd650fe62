// The command line: verbs and their options. Only command_line.cpp knows the parser.
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

/// What an option sets: a switch, a text, a list of texts, or a number.
using Target = std::variant<bool*, std::string*, std::vector<std::string>*, unsigned*, std::int64_t*, double*>;

/// Bounds of a whole number, both allowed.
struct Range {
  std::int64_t least, most;
};

/// Constraints on an option.
struct Demands {
  bool required = false;                   ///< must be given
  std::vector<std::string_view> one_of;    ///< allowed values; any if empty
  std::optional<Range> within;             ///< for a number
  std::vector<std::string_view> needs;     ///< options that must be given with it
  std::vector<std::string_view> excludes;  ///< options that must not be given with it
  std::string_view otherwise;              ///< its default, as shown in the help
};

/// An option or a positional argument: the name begins with `--`, or is the word for it in the help.
struct Option {
  std::string_view name;
  Target target;
  std::string_view help;
  Demands demands = {};
};

/// One verb. `run` receives the verb itself, whose example an error may show, and returns the exit code.
struct Verb {
  std::string_view name;
  std::string_view purpose;  ///< one sentence
  std::string_view example;  ///< command lines to type, each indented by two blanks
  std::vector<Option> options;
  std::function<int(const Verb& verb)> run;
};

/// Appends `more` to the options.
void append(std::vector<Option>& options, std::vector<Option> more);

/// Runs the verb named in the arguments with its options, or reports what is wrong with them. `verbs`: all, or the one named.
/// Returns the exit code. Throws what the verb throws.
int run_command_line(std::span<const Verb> verbs, int count, char** arguments, bool json);

}  // namespace sievecloth::tool
