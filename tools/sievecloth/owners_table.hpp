// An owner's edition, from the file given by --tables.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "sievecloth/table_file.hpp"

namespace sievecloth::tool {

/// Returns nothing if `file` is empty.
/// Errors: of the file and of the table; option_conflict if it has the name of a built-in edition and is no transcription;
/// wrong_value for a transcription that was altered.
Result<std::optional<TableFile>> read_owners_table(const std::string& file);

/// The owner's edition, if any.
std::vector<const Edition*> owners_editions(const std::optional<TableFile>& owners);

/// Appends the line by which `read_owners_table` knows that nothing was altered.
std::string sealed(std::string yaml);

/// The built-in editions, followed by the owner's, which stands in the place of the one that it lies over.
std::vector<const Edition*> known_editions(const std::optional<TableFile>& owners);

}  // namespace sievecloth::tool
