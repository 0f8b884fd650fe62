// Checks a piece, given one input file and the options.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "command_line.hpp"
#include "owners_table.hpp"
#include "piece_options.hpp"
#include "sievecloth/check.hpp"
#include "sievecloth/report.hpp"

namespace sievecloth::tool {

/// Values from the command line; empty if left to the job file.
struct CheckOptions {
  std::string standard, size, grade, viewing, unit;
  PieceOptions piece;
  bool measured_only = false;
  bool apertures_only = false;
  bool only_seen = false;
  std::int64_t agreed_count = 0;  ///< 0: none
  bool ignore_columns = false;
  bool last_line = false;
  bool for_report = false;        ///< hash the bytes of the readings
  std::size_t keep_readings = 0;  ///< as in CheckSettings
  unsigned threads = 1;           ///< threads that read one piece
  std::string decision;           ///< decision rule
  LaboratoryRecord laboratory;    ///< capability and scope
  StatedUncertainties budget;     ///< of the laboratory, where a job states none
  bool how_sure = false;          ///< diagnose
  bool contiguous = false;
};

/// Maximum number of readings kept for a report; the verdict rests on all of them.
inline constexpr std::size_t k_most_in_annex = 1'000'000;
/// Readings kept for charts.
inline constexpr std::size_t k_most_in_charts = 65'536;

/// A checked piece, and the files of its readings.
struct CheckedFile {
  CheckedPiece piece;
  std::vector<DigestedFile> files;   ///< digested only for a report
  bool from_standard_input = false;  ///< the job, or the readings without one
};

/// Returns the job, overridden by the command line. Errors: option_conflict (a viewing or agreed count other than the job's);
/// option_value (a frame or roll without a unit).
Result<Job> job_with(Job job, const CheckOptions& options);

/// Reads `file` (readings or a job file; `-` is standard input) and judges it. `table`: owners' editions, which must
/// outlive the result. `named`: receives the files that a job names, before they are read. Errors: any caused by options, files and
/// their contents.
/// Thread-safe.
Result<CheckedFile> check_file(const std::string& file, const CheckOptions& options, const OwnersTables& table,
                               std::vector<std::string>& named);

/// The job in `file`, where it can be read as one, before anything is checked. None for standard input, which can be read only
/// once.
std::optional<Job> job_in(const std::string& file);

/// Where the files are that a job names; a name in a job file is meant from where that file is.
std::vector<std::string> readings_paths(const std::string& job_file, const Job& job);

/// The options that say what a piece is checked against and how, and an owner's own table.
std::vector<Option> check_options(CheckOptions& options, std::vector<std::string>& tables);

}  // namespace sievecloth::tool
