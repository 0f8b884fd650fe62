#include "verbs.hpp"

#include <cerrno>
#include <cstring>
#include <string>

#include <fmt/format.h>
#include <unistd.h>

#include "output.hpp"
#include "sievecloth/report.hpp"

namespace sievecloth::tool {
int exit_code(const Error& error) {
  switch (error.code) {
    case ErrorCode::file_missing:
    case ErrorCode::file_unreadable:
    case ErrorCode::file_is_directory: return k_no_input;
    case ErrorCode::cannot_create: return k_cannot_create;
    case ErrorCode::read_failed:
    case ErrorCode::write_failed: return k_io_failed;
    case ErrorCode::internal:
    case ErrorCode::out_of_memory: return k_internal;
    default: break;
  }
  const bool asked = static_cast<int>(error.code) < 200;
  return asked && error.where.file.empty() ? k_usage : k_bad_data;
}

int exit_code(Verdict verdict) {
  switch (verdict) {
    case Verdict::conforms: return k_conforms;
    case Verdict::does_not_conform: return k_does_not_conform;
    case Verdict::undecided: break;
  }
  return k_undecided;
}

int answer(std::string_view text) {
  const int error = write_all(STDOUT_FILENO, text);
  if (error == 0) return 0;
  write_all(STDERR_FILENO, fmt::format("sievecloth: writing the answer failed: {}\n", std::strerror(error)));
  return k_io_failed;
}

void say(std::string_view line) { write_all(STDERR_FILENO, fmt::format("sievecloth: {}\n", line)); }

int complain(const Errors& errors, bool json, const Verb* verb) {
  const ErrorCode code = errors.front().code;
  std::string text;
  if (json) {
    text = to_json(errors);
  } else {
    for (const Error& error : errors) text += fmt::format("{}{}\n", error.where.file.empty() ? "sievecloth: " : "", to_text(error));
    const bool usage = (code == ErrorCode::option_missing || code == ErrorCode::option_value) && errors.front().where.file.empty();
    if (usage && verb != nullptr)
      text += fmt::format("\nExample:\n{}\n\nsievecloth {} --help lists all options.\n", verb->example, verb->name);
  }
  write_all(STDERR_FILENO, text);
  return exit_code(errors.front());
}

Result<std::optional<Length>> length_option(std::string_view option, const std::string& text) {
  if (text.empty()) return std::optional<Length>();
  const Result<Length> length = parse_length_with_unit(text);
  if (length.ok()) return std::optional(*length);
  const Error& error = length.error();
  return Error{ErrorCode::option_value, fmt::format("{}: {}", option, error.message), error.found, error.expected, {}};
}

}  // namespace sievecloth::tool
