// What the verbs share: how they are added, how they answer, what they exit with.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "command_line.hpp"
#include "sievecloth/assessment.hpp"
#include "sievecloth/length.hpp"

namespace sievecloth::tool {

/// Exit codes; from 64 on as in sysexits.h.
enum Exit : int {
  k_conforms = 0,
  k_does_not_conform = 1,
  k_undecided = 2,
  k_usage = 64,
  k_bad_data = 65,
  k_no_input = 66,
  k_internal = 70,
  k_cannot_create = 73,
  k_io_failed = 74,
};

/// The code for an error: what was asked on the command line is usage, the same mistake in a file is bad data.
int exit_code(const Error& error);

/// The code of a verdict.
int exit_code(Verdict verdict);

/// Writes to standard output, whole or not at all as far as the system lets it. Result: 0 or k_io_failed, said on standard error.
int answer(std::string_view text);

/// One line on standard error.
void say(std::string_view line);

/// Says what is wrong on standard error, as lines or as one JSON document; a mistake in the options is followed by the help of
/// `verb`. Result: the exit code of the first error.
int complain(const Errors& errors, bool json, const Verb* verb = nullptr);

/// The length given to `option`, none where `text` is empty. Error: option_value where it is no length with its unit.
Result<std::optional<Length>> length_option(std::string_view option, const std::string& text);

/// The verbs, each with options of its own.
Verb check_verb();
Verb size_verb();
Verb editions_verb();
Verb cloth_verb();
Verb gauge_verb();
Verb match_verb();
Verb plan_verb();
Verb watch_verb();

}  // namespace sievecloth::tool
