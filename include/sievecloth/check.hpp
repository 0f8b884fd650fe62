// Checks one piece from its job and its readings: the single entry point for the tool and for rigs.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "sievecloth/assessment.hpp"
#include "sievecloth/diagnosis.hpp"
#include "sievecloth/job.hpp"
#include "sievecloth/readings_csv.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// Settings of a check. None of them changes the verdict.
struct CheckSettings {
  bool diagnose = false;          ///< add uncertainty, confidence intervals and signs of weave faults
  std::size_t keep_readings = 0;  ///< maximum number to keep: all, or evenly chosen ones of each direction, in order
  unsigned threads = 1;           ///< number that read the text, as in `read_readings`
};

/// The result of a check.
struct CheckedPiece {
  Assessment assessment;               ///< the verdict, with the columns that were ignored
  Job job;                             ///< as given
  std::optional<Diagnosis> diagnosis;  ///< only if requested
  std::vector<Reading> readings;       ///< those that were kept
  std::int64_t rows = 0;               ///< rows with a reading, of which `readings` are a part
  /// Lines are counted on from file to file: for each file, the number of lines before it.
  std::vector<std::int64_t> lines_before;
};

/// Finds the edition, built-in or an owner's, and the size and grade that the job names.
/// Errors, located in the job: option_missing (no standard, size or grade is named), those of find_edition, find_size and
/// parse_grade, grade_not_in_edition.
Result<Specification> find_specification(const Job& job, std::span<const Edition* const> owners = {});

/// Returns what the job says about the piece and how to judge it. Errors: option_value (an unknown decision rule).
Result<Conditions> conditions_of(const Job& job);

/// Returns how to read the readings of the job. `file`: their name in error messages; inline readings are located in the job file.
CsvOptions csv_options_of(const Job& job, std::string file);

/// One of the files that hold the readings of a piece.
struct ReadingsFile {
  ByteSource bytes;                         ///< a text or binary readings, which are recognised by their first bytes
  std::string name;                         ///< in error messages
  std::optional<Direction> direction = {};  ///< of all its readings, if known beforehand; a reading of another one is an error
};

/// Reads and judges one piece. `readings` supplies the bytes of a text, as for `read_readings`, or of binary readings, which are
/// recognised by their first bytes. `file` is their name in error messages. `owners`: further editions, which must outlive the
/// result.
/// Memory: constant, plus what is kept.
/// Errors: those of find_specification, conditions_of and assess; those of the readings, up to 20 at once; option_value (an
/// impossible uncertainty, guard factor or process); option_conflict (a unit or columns for binary readings, or an agreed count
/// although the edition has its own); null_argument (no source); those of the source, and read_failed if it returns more bytes than
/// requested.
Result<CheckedPiece> check_piece(const Job& job, std::span<const Edition* const> owners, const ByteSource& readings,
                                 const std::string& file, const CheckSettings& settings = {});

/// The same for readings in one or several files, read in this order, as if one continued the other: a position, the name of a
/// field or suspect and the number of a gap mean the same in each. Every file has a reading, a header of its own if it is a text,
/// and its own separator and decimal mark. The errors of all files are returned together, up to 20.
Result<CheckedPiece> check_piece(const Job& job, std::span<const Edition* const> owners, std::span<const ReadingsFile> readings,
                                 const CheckSettings& settings = {});

}  // namespace sievecloth
