// Runs work in a separate process, for libraries that end the process when they cannot continue.
#pragma once

#include <functional>
#include <string>

#include "sievecloth/result.hpp"

namespace sievecloth::tool {

/// Returns the result of `make`, the content of `file`, made in a separate process so that a crash costs no more than this file.
/// Errors: cannot_create with the message of `make`, or if the process crashed or could not be started.
Result<std::string> in_own_process(const std::string& file, const std::function<Result<std::string>()>& make);

}  // namespace sievecloth::tool
