// Files and standard input, read in blocks.
#pragma once

#include <functional>
#include <string>
#include <string_view>

#include "sievecloth/result.hpp"

namespace sievecloth::tool {

/// Reads `path`, or standard input where it is `-`, and hands over its bytes in blocks until `take` answers false.
/// Result: true once the end was reached, false where `take` stopped.
/// At the end of a file that may grow, `wait` is asked whether to try again.
/// Errors: file_missing, file_unreadable, file_is_directory, read_failed.
Result<bool> read_blocks(
    const std::string& path, const std::function<bool(std::string_view)>& take,
    const std::function<bool()>& wait = [] { return false; });

/// The whole file, up to `limit` bytes. Errors: as above; read_failed where it is longer.
Result<std::string> read_whole(const std::string& path, std::size_t limit);

}  // namespace sievecloth::tool
