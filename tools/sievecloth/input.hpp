// Files and standard input, read in blocks.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>

#include "sievecloth/result.hpp"

namespace sievecloth::tool {

/// A file, or standard input where the path is `-`, open for reading.
class Input {
 public:
  /// Errors: file_missing, file_unreadable, file_is_directory.
  static Result<Input> open(const std::string& path);
  ~Input();
  Input(Input&& other) noexcept;
  Input& operator=(Input&&) = delete;

  /// Fills the span with the next bytes. Result: how many, 0 at the end. Error: read_failed.
  Result<std::size_t> read(std::span<char> bytes);
  /// Size of a regular file [bytes].
  std::optional<std::int64_t> size() const;

 private:
  Input(std::string path, int file) : path_(std::move(path)), file_(file) {}

  std::string path_;
  int file_;
};

/// The whole file, up to `limit` bytes. Errors: as above; read_failed where it is longer.
Result<std::string> read_whole(const std::string& path, std::size_t limit);

}  // namespace sievecloth::tool
