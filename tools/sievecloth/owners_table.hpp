// An owner's edition, from the file given by --tables.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "sievecloth/table_file.hpp"

namespace sievecloth::tool {

/// Returns nothing if `file` is empty.
/// Errors: of the file and of the table; option_conflict if it has the name of a built-in edition.
Result<std::optional<TableFile>> read_owners_table(const std::string& file);

/// The owner's edition, if any.
std::vector<const Edition*> owners_editions(const std::optional<TableFile>& owners);

/// The built-in editions, followed by the owner's.
std::vector<const Edition*> known_editions(const std::optional<TableFile>& owners);

}  // namespace sievecloth::tool
