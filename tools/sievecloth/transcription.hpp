// From two copies of an edition to an owner's table: what differs, what looks wrong, and the table itself.
#pragma once

#include <string>
#include <vector>

#include "transcription_sheet.hpp"

namespace sievecloth::tool {

/// Who copied what, and when.
struct Transcription {
  std::string standard;         ///< name of the edition
  std::string copy;             ///< the controlled copy
  std::vector<std::string> by;  ///< two people
  std::string date;             ///< YYYY-MM-DD
};

/// A finding that the standard itself bears out.
struct Accepted {
  Length size;  ///< 0 for a rule
  std::string value, printed, reason;
  Where where;
};

/// The built-in edition that an edition is compared with: that of its name, otherwise the latest of its standard, otherwise null.
const Edition* nearest_edition(std::string_view standard);

/// Reads the file of --accept. Errors: the 3xx family.
Result<std::vector<Accepted>> read_accepted(std::string_view yaml, const std::string& file);

/// The cells of both copies. Errors: wrong_value for each cell that differs, with both places.
Result<void> compare_copies(const CopiedRows& first, const CopiedRows& second);

/// The table, sealed. Errors: wrong_value for every value that contradicts another or looks wrong and is not accepted, and for
/// whatever is accepted without need.
Result<std::string> make_table(const Transcription& transcription, const CopiedRows& rows, const std::vector<Accepted>& accepted);

}  // namespace sievecloth::tool
