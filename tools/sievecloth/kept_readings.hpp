// Readings kept in memory, for verbs that need them more than once.
#pragma once

#include <string>
#include <vector>

#include "sievecloth/readings_csv.hpp"

namespace sievecloth::tool {

/// Maximum number of readings kept; bounds the memory of a verb to some 50 MB.
inline constexpr std::size_t k_most_kept = 200'000;

/// The readings of a file.
struct KeptReadings {
  std::vector<Reading> readings;
  std::vector<std::string> ignored_columns;  ///< as the header names them
};

/// Reads a whole file of readings; `-` is standard input.
/// Errors: those of the reader; too_many_readings; files that are missing or cannot be read.
Result<KeptReadings> keep_readings(const std::string& file, CsvOptions options);

/// `Columns ignored: a, b`.
std::string ignored_columns_note(const std::vector<std::string>& columns);

}  // namespace sievecloth::tool
