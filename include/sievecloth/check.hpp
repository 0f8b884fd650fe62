// One piece, from its job and its readings to all that is known of it: the one way in for the tool and for rigs.
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

/// So many readings are kept for a diagnosis, which needs all of them: a camera takes 2 million of one sieve. 112 bytes each.
inline constexpr std::size_t k_most_diagnosed_readings = 4'000'000;

/// What is wanted besides the verdict. None of it changes the verdict.
struct CheckSettings {
  bool diagnose = false;          ///< add uncertainty and confidence intervals, and what the readings say about the loom
  std::size_t keep_readings = 0;  ///< so many at most, in the order in which they came
  unsigned threads = 1;           ///< that read the text, as in `read_readings`
};

/// All that is known of a piece.
struct CheckedPiece {
  Assessment assessment;               ///< the verdict, with the columns that were ignored
  Job job;                             ///< as given
  std::optional<Diagnosis> diagnosis;  ///< only where it was asked for
  std::vector<Reading> readings;       ///< as many as were kept
};

/// What the job names: an edition, an owner's or one that is built in, and a size and grade of it. Errors, at the place in the job:
/// option_missing (no standard, size or grade is named), those of find_edition, find_size and parse_grade, grade_not_in_edition.
Result<Specification> find_specification(const Job& job, std::span<const Edition* const> owners = {});

/// What the job says of the piece and of how it is to be judged. Errors: option_value (a decision rule that there is not).
Result<Conditions> conditions_of(const Job& job);

/// How the readings of the job are to be read. `file`: their name in complaints; readings within the job have their place in it.
CsvOptions csv_options_of(const Job& job, std::string file);

/// Reads and judges. `readings` gives the bytes of a text as `read_readings` takes it, or of binary readings, which tell themselves
/// apart by their first bytes. `file` is their name in complaints. `owners`: further editions, which must outlive the result.
/// Memory: constant, and what is kept. Errors: those of find_specification, conditions_of and assess; those of the readings, of
/// which up to 20 come at once; option_value (an uncertainty, guard factor or process that cannot be); option_conflict (a unit for
/// binary readings, or a count that was agreed though the edition has its own); null_argument (no source); those of the source, and
/// read_failed where it gives more than it was asked for.
Result<CheckedPiece> check_piece(const Job& job, std::span<const Edition* const> owners, const ByteSource& readings,
                                 const std::string& file, const CheckSettings& settings = {});

}  // namespace sievecloth
