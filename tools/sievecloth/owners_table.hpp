// Owners' editions, from the files given by --tables.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "sievecloth/table_file.hpp"

namespace sievecloth::tool {

/// Tables in the order in which they were given; each must not outlive those before it.
using OwnersTables = std::vector<TableFile>;

/// Reads them. A transcription lies over the edition of its name: over the table of a file before it, otherwise over the one that is
/// built in.
/// Errors: of the files and of the tables; option_conflict for a table that has the name of another one or of a built-in edition and
/// is no transcription; wrong_value for a transcription that was altered.
Result<OwnersTables> read_owners_tables(const std::vector<std::string>& files);

/// The owners' editions; of one that lies over another, before that one.
std::vector<const Edition*> owners_editions(const OwnersTables& owners);

/// Appends the line by which `read_owners_table` knows that nothing was altered.
std::string sealed(std::string yaml);

/// The built-in editions, followed by the owners'; one that lies over another stands in its place.
std::vector<const Edition*> known_editions(const OwnersTables& owners);

}  // namespace sievecloth::tool
