// Errors as values: a code, a message and a location.
#pragma once

#include <cstdint>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

namespace [[gnu::visibility("default")]] sievecloth {

/// Every error that a caller's data can cause, in families of 100; numbers are never reused. docs/errors.md lists them.
enum class ErrorCode : int {
  // 1xx: standard, size, grade and options
  unknown_standard = 101,
  edition_missing = 102,
  unknown_size = 110,
  ambiguous_size = 111,
  malformed_size = 112,
  unknown_grade = 120,
  grade_missing = 121,
  grade_not_in_edition = 122,
  option_conflict = 130,
  option_missing = 131,
  option_value = 132,
  // 2xx: readings
  not_text = 201,
  line_too_long = 202,
  header_missing = 210,
  unknown_column = 211,
  duplicate_column = 212,
  column_missing = 213,
  unit_missing = 214,
  cell_count = 220,
  unterminated_quote = 221,
  malformed_quote = 222,
  malformed_number = 223,
  not_positive = 224,
  too_large = 225,
  too_fine = 226,
  decimal_mark = 227,
  unknown_direction = 230,
  unknown_role = 231,
  incomplete_position = 232,
  repeated_position = 233,
  suspect_wire = 234,
  empty_line = 235,
  line_ending = 236,
  unfinished_line = 237,
  ambiguous_comment = 238,
  no_readings = 240,
  too_many_readings = 241,
  piece_contradicted = 242,
  sample_mismatch = 243,
  malformed_binary = 250,
  checksum = 251,
  study_unbalanced = 260,
  // 3xx: YAML, in job and table files
  yaml_syntax = 301,
  unknown_key = 302,
  duplicate_key = 303,
  key_missing = 304,
  wrong_type = 305,
  wrong_value = 306,
  too_deep = 307,
  too_many_values = 308,
  rows_out_of_order = 310,
  // 4xx: inspectors, and calls of the C interface
  null_argument = 401,
  struct_size = 402,
  wrong_argument = 403,
  not_begun = 404,
  not_finished = 405,
  finished = 406,
  handle_busy = 407,
  buffer_size = 408,
  snapshot_damaged = 410,
  snapshot_version = 411,
  snapshot_mismatch = 412,
  inspectors_differ = 420,
  // 5xx: files
  file_missing = 501,
  file_unreadable = 502,
  file_is_directory = 503,
  read_failed = 510,
  file_changed = 511,
  cannot_create = 520,
  write_failed = 521,
  // 9xx
  internal = 901,
  out_of_memory = 902,
};

/// A location in a file. Lines and columns count from 1, columns in characters; 0 means unknown.
struct Where {
  std::string file;         ///< as named by the caller
  std::int64_t line = 0;    ///< of the file
  std::int64_t column = 0;  ///< of the line
};

/// One error.
struct Error {
  ErrorCode code = ErrorCode::internal;  ///< what a program branches on
  std::string message;                   ///< what is wrong and, where it helps, what to do
  std::string found;                     ///< the offending text, control characters escaped; empty if there was none
  std::string expected;                  ///< what was expected; empty if the message says it
  Where where;                           ///< where the offending text is
};

/// Formats an error as `FILE:LINE:COLUMN: message: found 'x', expected y`, without the unknown parts. One line, no line end.
std::string to_text(const Error& error);

/// Makes untrusted text safe to display: bytes that are not UTF-8 and ASCII controls are escaped as `\xNN`, other characters that
/// show nothing, end a line or change the text direction, and blanks other than the space, as `<U+NNNN>`; the result is cut at
/// about `limit` bytes.
std::string printable(std::string_view text, std::size_t limit = 60);

/// Errors in the order in which they were found.
using Errors = std::vector<Error>;

/// Maximum number of errors reported for one file; further ones would only repeat them.
inline constexpr std::size_t k_most_complaints = 20;

/// Thrown only by `Result::value()`.
class ErrorException : public std::runtime_error {
 public:
  /// `errors` must not be empty; what() describes the first of them.
  explicit ErrorException(Errors errors);
  /// All errors.
  const Errors& errors() const noexcept { return errors_; }

 private:
  Errors errors_;
};

/// A value, or at least one error.
template <class T>
class [[nodiscard]] Result {
 public:
  /// A success.
  Result(T value) : state_(std::in_place_index<0>, std::move(value)) {}
  /// A failure with one error.
  Result(Error error) : state_(std::in_place_index<1>, Errors{std::move(error)}) {}
  /// `errors` must not be empty.
  Result(Errors errors) : state_(std::in_place_index<1>, std::move(errors)) {}

  /// Whether there is a value.
  bool ok() const noexcept { return state_.index() == 0; }
  /// The same as ok().
  explicit operator bool() const noexcept { return ok(); }

  /// Returns the value; an rvalue Result returns it by value, so that no reference outlives it. Throws ErrorException if there is
  /// none.
  T& value() & { return require(), *std::get_if<0>(&state_); }
  /// As above.
  const T& value() const& { return require(), *std::get_if<0>(&state_); }
  /// As above.
  T value() && { return require(), std::move(*std::get_if<0>(&state_)); }

  /// Returns the value, unchecked. Requires ok().
  T& operator*() & noexcept { return *std::get_if<0>(&state_); }
  /// As above.
  const T& operator*() const& noexcept { return *std::get_if<0>(&state_); }
  /// As above.
  T operator*() && noexcept { return std::move(*std::get_if<0>(&state_)); }
  /// As above.
  T* operator->() noexcept { return std::get_if<0>(&state_); }
  /// As above.
  const T* operator->() const noexcept { return std::get_if<0>(&state_); }

  /// Return the first error, or all of them, unchecked. Require !ok().
  const Error& error() const noexcept { return std::get_if<1>(&state_)->front(); }
  /// As above.
  const Errors& errors() const noexcept { return *std::get_if<1>(&state_); }

 private:
  void require() const {
    if (!ok()) throw ErrorException(errors());
  }

  std::variant<T, Errors> state_;
};

/// Success, or at least one error. A single error with short texts allocates nothing.
template <>
class [[nodiscard]] Result<void> {
 public:
  /// A success.
  Result() noexcept = default;
  /// A failure with one error.
  // cppcheck-suppress passedByValue ; moved from
  Result(Error error) noexcept : first_(std::move(error)) {}
  /// `errors` must not be empty.
  // cppcheck-suppress passedByValue ; moved from
  Result(Errors errors) : first_(std::move(errors.front())), rest_(errors.begin() + 1, errors.end()) {}

  /// Whether it succeeded.
  bool ok() const noexcept { return !first_; }
  /// The same as ok().
  explicit operator bool() const noexcept { return ok(); }
  /// Throws ErrorException on failure.
  void value() const {
    if (!ok()) throw ErrorException(errors());
  }

  /// Returns the first error, unchecked. Requires !ok().
  const Error& error() const noexcept { return *first_; }
  /// Returns all errors. Requires !ok().
  Errors errors() const {
    Errors all{*first_};
    all.insert(all.end(), rest_.begin(), rest_.end());
    return all;
  }

 private:
  std::optional<Error> first_;
  Errors rest_;
};

}  // namespace sievecloth
