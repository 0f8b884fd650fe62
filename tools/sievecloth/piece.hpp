// From one input file and the options to an assessment.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "sievecloth/assessment.hpp"
#include "sievecloth/job_file.hpp"
#include "sievecloth/table_file.hpp"

namespace sievecloth::tool {

/// What the command line says; empty where it leaves it to the job file.
struct CheckOptions {
  std::string standard, size, grade, viewing, unit;
  bool measured_only = false;
  bool apertures_only = false;
  bool only_seen = false;
  bool ignore_columns = false;
  bool for_report = false;  ///< keep the readings and digest their bytes
  unsigned threads = 1;     ///< that read one piece
};

/// So many readings are kept for a report; the verdict rests on all of them.
inline constexpr std::size_t k_most_kept_readings = 1'000'000;

/// An assessment, and what it came from.
struct CheckedPiece {
  Assessment assessment;
  std::optional<Job> job;

  // Only for a report.
  std::vector<Reading> readings;  ///< at most k_most_kept_readings, in the order of the file
  std::string readings_file;      ///< name of the file whose bytes were digested
  std::string readings_sha256;
};

/// Reads `file` (readings or a job file; `-` is standard input) and judges it. `table`: an owner's edition, or none; it must
/// outlive the result. Options win over the job file. Errors: everything that options, files and their contents can cause.
/// May be called by several threads at a time.
Result<CheckedPiece> check_piece(const std::string& file, const CheckOptions& options, const std::optional<TableFile>& table);

}  // namespace sievecloth::tool
