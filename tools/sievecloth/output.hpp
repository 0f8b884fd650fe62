// Files that are whole or absent.
#pragma once

#include <string>
#include <string_view>

#include "sievecloth/result.hpp"

namespace sievecloth::tool {

/// Writes all bytes to an open file. Result: 0, or errno of the write that failed.
int write_all(int file, std::string_view bytes);

/// From now on a signal that ends the program takes away the file that is half written, and then ends it.
void tidy_up_on_signals();

/// For a new process: what is half written is not its own to take away.
void forget_half_written() noexcept;

/// Writes `path` whole: into a new file in the same folder that takes its name once it is on the disk. A file that is there already
/// stays until then, and leaves its mode and group behind; one that appears meanwhile stays. A device or a pipe is written to
/// directly. Nothing is left behind on failure. Errors: cannot_create (no such folder, no right to write there, a file that
/// appeared meanwhile), write_failed (the disk is full). Whether a file may be replaced is asked of Files (files.hpp).
Result<void> write_file(const std::string& path, std::string_view bytes);

}  // namespace sievecloth::tool
