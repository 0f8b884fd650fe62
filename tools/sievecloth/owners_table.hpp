// An owner's own edition, from the file that --tables names.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "sievecloth/table_file.hpp"

namespace sievecloth::tool {

/// Nothing where `file` is empty.
/// Errors: of the file and of the table; option_conflict where it has the name of an edition that is built in.
Result<std::optional<TableFile>> read_owners_table(const std::string& file);

/// The owner's edition, where there is one.
std::vector<const Edition*> owners_editions(const std::optional<TableFile>& owners);

/// The editions built in, and then the owner's.
std::vector<const Edition*> known_editions(const std::optional<TableFile>& owners);

}  // namespace sievecloth::tool
