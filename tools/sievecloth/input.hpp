// Files and standard input, read in blocks.
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

/// Who named a file. What a file names must be a regular file: it can neither block nor go on for ever.
enum class NamedBy { user, file };

/// A file open for reading; standard input where the user names `-`.
class Input {
 public:
  /// Errors: file_missing, file_unreadable, file_is_directory.
  static Result<Input> open(const std::string& path, NamedBy by = NamedBy::user);
  ~Input();
  Input(Input&& other) noexcept;
  Input& operator=(Input&&) = delete;

  /// Fills the span with the next bytes. Result: how many, 0 at the end and once interrupted. Error: read_failed, also where a
  /// regular file that was named ends before the size it had when it was opened.
  Result<std::size_t> read(std::span<char> bytes);
  /// Size of a regular file [bytes].
  std::optional<std::int64_t> size() const;
  /// Whether it is a regular file that was named.
  bool is_regular() const;
  /// What the system says of the open file.
  struct stat status() const;
  /// Bytes at an offset of a regular file, as many as there are. Result: how many; 0 where reading failed.
  std::size_t read_at(std::int64_t offset, std::span<char> bytes) const;

 private:
  Input(std::string path, int file) : path_(std::move(path)), file_(file) {}

  std::string path_;
  int file_;
  std::int64_t left_ = 0;  // of the bytes that the file had when it was opened; 0 or less where that is not known
};

/// From now on Ctrl-C ends what is being read, as if there were no more; a second Ctrl-C ends the program.
void end_input_on_interrupt();
/// Ctrl-C came.
bool interrupted();

/// Reads `path`, or standard input where it is `-`, and hands over its bytes in blocks until `take` answers false.
/// Errors: file_missing, file_unreadable, file_is_directory, read_failed.
Result<void> read_blocks(const std::string& path, const std::function<bool(std::string_view)>& take);

/// The whole file, up to `limit` bytes. Errors: as above; read_failed where it is longer.
Result<std::string> read_whole(const std::string& path, std::size_t limit, NamedBy by = NamedBy::user);

}  // namespace sievecloth::tool
