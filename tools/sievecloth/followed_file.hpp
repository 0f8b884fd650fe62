// A file that grows while it is read, and must stay the file it was.
#pragma once

#include <functional>
#include <string>
#include <string_view>

#include "sievecloth/result.hpp"

namespace sievecloth::tool {

/// Reads `path` as it grows and hands over its bytes in blocks until `take` answers false, or `wait`, asked at the end of what
/// there is, does. Then what was read is read once more: whoever changed a byte of it changed the piece. A pipe is read to its end.
/// Errors: file_missing, file_unreadable, file_is_directory, read_failed; file_changed where the file was removed, replaced, cut or
/// written over.
Result<void> follow_file(const std::string& path, const std::function<bool(std::string_view)>& take,
                         const std::function<bool()>& wait);

}  // namespace sievecloth::tool
