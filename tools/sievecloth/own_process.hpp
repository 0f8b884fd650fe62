// Runs work in a separate process: for libraries that end the process when they cannot continue, and for inputs that may ask for
// any amount of time and memory.
#pragma once

#include <cstddef>
#include <functional>
#include <string>

#include "sievecloth/result.hpp"

namespace sievecloth::tool {

/// What a process may use before it is ended.
struct ProcessLimits {
  unsigned seconds = 0;    ///< of processor time; of the clock, four times that
  std::size_t memory = 0;  ///< resident bytes, looked at 50 times a second
  std::size_t result = 0;  ///< bytes
};

/// Returns the result of `make`, for the file `file`, made in a separate process, so that a crash costs no more than this file. The
/// process ends with this one. Errors: wrong_value or cannot_create with the message of `make`, or if the process crashed, reached
/// a limit or could not be started.
Result<std::string> in_own_process(const std::string& file, const ProcessLimits& limits,
                                   const std::function<Result<std::string>()>& make);

}  // namespace sievecloth::tool
