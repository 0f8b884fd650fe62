// Follows a file that grows while it is read but must not change otherwise.
#pragma once

#include <functional>
#include <string>
#include <string_view>

#include "sievecloth/result.hpp"

namespace sievecloth::tool {

/// Reads `path` as it grows and passes its bytes on in blocks until `take` returns false, or `wait`, called at the current end,
/// does. Then everything is read again: a changed byte would mean a changed piece. A pipe is read to its end.
/// Errors: file_missing, file_unreadable, file_is_directory, read_failed; file_changed if the file was removed, replaced, truncated
/// or overwritten.
Result<void> follow_file(const std::string& path, const std::function<bool(std::string_view)>& take,
                         const std::function<bool()>& wait);

}  // namespace sievecloth::tool
