// Writing of files: complete or not at all.
#pragma once

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

/// Writes `path` atomically: to a new file beside it, which is renamed once it is on disk. The previous content remains until then.
/// Devices and pipes are written to directly. Nothing is left behind on failure.
/// Errors: cannot_create (no such folder, no right to write there), write_failed (the disk is full).
Result<void> write_file(const std::string& path, std::string_view bytes);

}  // namespace sievecloth::tool
