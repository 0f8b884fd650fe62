// What the verbs share: registration, output, exit codes.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "command_line.hpp"
#include "sievecloth/assessment.hpp"
#include "sievecloth/length.hpp"

namespace sievecloth::tool {

/// Exit codes; from 64 as in sysexits.h.
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

/// The exit code for an error: a mistake on the command line is a usage error, the same mistake in a file is a data error.
int exit_code(const Error& error);

/// The exit code for a verdict.
int exit_code(Verdict verdict);

/// Writes to standard output, completely or, as far as the system permits, not at all. Returns 0, or k_io_failed after reporting it
/// on standard error.
int answer(std::string_view text);

/// Writes one line to standard error.
void say(std::string_view line);

/// Reports errors on standard error, as lines or as one JSON document; an error in the options is followed by the example of `verb`.
/// Returns the exit code of the first error.
int complain(const Errors& errors, bool json, const Verb* verb = nullptr);

/// Parses the length given to `option`; empty if `text` is. Error: option_value if it is not a length with its unit.
Result<std::optional<Length>> length_option(std::string_view option, const std::string& text);

/// The verbs, each with its own options.
Verb check_verb();
Verb size_verb();
Verb editions_verb();
Verb cloth_verb();
Verb gauge_verb();
Verb match_verb();
Verb plan_verb();
Verb watch_verb();
Verb transcribe_verb();

}  // namespace sievecloth::tool
