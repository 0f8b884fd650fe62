// Work that is left to libraries which end the process where they cannot go on.
#pragma once

#include <functional>
#include <string>

#include "sievecloth/result.hpp"

namespace sievecloth::tool {

/// What is to stand in `file`: the result of `make`, made in a process of its own, so that a crash costs no more than this file.
/// Errors: cannot_create with the message of `make`, or where the process crashed or could not be started.
Result<std::string> in_own_process(const std::string& file, const std::function<Result<std::string>()>& make);

}  // namespace sievecloth::tool
