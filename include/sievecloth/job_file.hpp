// A job as YAML.
#pragma once

#include <string>
#include <string_view>

#include "sievecloth/job.hpp"
#include "sievecloth/result.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// Reads a job strictly: unknown and duplicate keys, missing values, malformed numbers and dates are errors with line and column,
/// up to 20 at once. docs/cli.md lists the keys. `file` is the name in error messages; no file is opened. Errors: the 3xx family.
Result<Job> read_job(std::string_view yaml, const std::string& file);

}  // namespace sievecloth
