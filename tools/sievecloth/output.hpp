// Writing of files: complete or not at all.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>

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

/// Writes `path` whole: into a new file in the same folder that takes its name once it is on the disk. A file that is there already
/// stays until then, and leaves its mode and group behind; one that appears meanwhile stays. A device or a pipe is written to
/// directly. Nothing is left behind on failure. Errors: cannot_create (no such folder, no right to write there, a file that
/// appeared meanwhile), write_failed (the disk is full). Whether a file may be replaced is asked of Files (files.hpp).
Result<void> write_file(const std::string& path, std::string_view bytes);

}  // namespace sievecloth::tool
