// Writing of files: complete or not at all.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

#include <sys/types.h>

#include "sievecloth/result.hpp"

namespace sievecloth::tool {

/// Writes all bytes to an open file. Returns 0, or the errno of the failed write.
int write_all(int file, std::string_view bytes);

/// From now on a signal that ends the program first removes the unfinished file.
void tidy_up_on_signals();

/// For a new process: the unfinished file is not its own to remove.
void forget_half_written() noexcept;

/// Returns the file that `path` leads to through links, whether that file is there or not.
std::filesystem::path link_target(std::filesystem::path path);

/// A regular file as it was when it was looked at.
struct FileState {
  dev_t device = 0;
  ino_t inode = 0;
  off_t size = 0;
  std::int64_t modified_ns = 0;
  std::int64_t changed_ns = 0;  ///< its inode, by a new name too

  bool operator==(const FileState&) const = default;
};

/// Returns the state of the regular file that `path` leads to; none if there is no such file.
std::optional<FileState> state_of(const std::string& path);

/// Writes `path` whole: into a file without a name in the same folder, which is named once it is on the disk. `replaced`: the file
/// whose place it takes, none for a new one; it stays until then and leaves its mode and group behind. If another file is there by
/// then, or that one has changed, nothing is replaced. Devices and pipes are written to directly. Nothing is left behind on
/// failure. Errors: cannot_create (no such folder, no right to write there, another file is there), write_failed (the disk is
/// full). Whether a file may be replaced is decided by Files (files.hpp).
Result<void> write_file(const std::string& path, std::string_view bytes, const std::optional<FileState>& replaced);

}  // namespace sievecloth::tool
