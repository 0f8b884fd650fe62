// Block-wise reading of files and standard input.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include <sys/stat.h>

#include "sievecloth/result.hpp"

namespace sievecloth::tool {

/// Who named a file. A file named in another file must be a regular file, which can neither block nor be endless.
enum class NamedBy { user, file };

/// A file open for reading, or standard input if the user names `-`.
class Input {
 public:
  /// Errors: file_missing, file_unreadable, file_is_directory.
  static Result<Input> open(const std::string& path, NamedBy by = NamedBy::user);
  ~Input();
  Input(Input&& other) noexcept;
  Input& operator=(Input&&) = delete;

  /// Fills the span with the next bytes. Returns their number, 0 at the end and after an interrupt. Error: read_failed, also if a
  /// regular file named by path ends before the size it had when opened.
  Result<std::size_t> read(std::span<char> bytes);
  /// Size of a regular file [bytes].
  std::optional<std::int64_t> size() const;
  /// True for a regular file named by path.
  bool is_regular() const;
  /// Status of the open file, as from fstat.
  struct stat status() const;
  /// Reads bytes at an offset of a regular file, as many as there are. Returns their number; 0 on failure.
  std::size_t read_at(std::int64_t offset, std::span<char> bytes) const;

 private:
  Input(std::string path, int file) : path_(std::move(path)), file_(file) {}

  std::string path_;
  int file_;
  std::int64_t left_ = 0;  // remaining bytes of the size at opening; 0 or less if unknown
};

/// From now on Ctrl-C ends the input, as if at its end; a second Ctrl-C ends the program.
void end_input_on_interrupt();
/// True once Ctrl-C was pressed.
bool interrupted();

/// Reads `path`, or standard input for `-`, and passes its bytes on in blocks until `take` returns false.
/// Errors: file_missing, file_unreadable, file_is_directory, read_failed.
Result<void> read_blocks(const std::string& path, const std::function<bool(std::string_view)>& take);

/// Reads a whole file of up to `limit` bytes. Errors: as above; read_failed if it is longer.
Result<std::string> read_whole(const std::string& path, std::size_t limit, NamedBy by = NamedBy::user);

}  // namespace sievecloth::tool
