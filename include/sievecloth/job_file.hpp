// A job: one piece, how it was measured, and what it is to be checked against, as YAML.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sievecloth/sample.hpp"

namespace sievecloth {

/// A text that somebody else will interpret, and where it stood.
struct Located {
  std::string text;
  Where where;
};

/// What identifies the piece on paper. Empty where not given; dates here and below are `YYYY-MM-DD`.
struct PieceRecord {
  std::string identification;
  std::string serial;
  std::string material;
  std::string weave;
  std::string frame_depth;
  std::string received;   ///< date
  std::string condition;  ///< on receipt
};

/// Who answers for the report. Empty where not given.
struct LaboratoryRecord {
  std::string name;
  std::string address;
};

/// The certificate of the scale that the instrument was adjusted to.
struct ScaleRecord {
  std::string certificate;
  std::string date;
  std::string due;                         ///< date from which it must be renewed
  std::optional<bool> correction_applied;  ///< empty: not stated
};

/// The budget behind a stated uncertainty. Empty where not given.
struct UncertaintyRecord {
  std::string budget;              ///< document that holds the budget
  std::optional<Length> expanded;  ///< of the mean aperture of a direction
  std::string coverage_factor;     ///< k of the expanded uncertainty
};

/// Who measured, when, where and with what.
struct MeasurementRecord {
  std::string by;
  std::string date;
  std::string place;
  std::string method;
  std::string sampling;  ///< how the places measured were chosen
  std::string instrument;
  std::optional<Length> resolution;
  std::string temperature;
  std::string humidity;
  std::optional<ScaleRecord> scale;
  std::optional<UncertaintyRecord> uncertainty;
};

/// The two viewing tests over all apertures.
struct ViewingRecord {
  bool passed = false;
  std::string by;
  std::string date;
  std::string light;
  std::string magnification;
  std::optional<std::int64_t> suspects;  ///< suspects found
};

/// What makes a paper of it. Empty where not given.
struct PaperRecord {
  std::string number;
  std::string replaces;  ///< number of the report that this one replaces
  std::string issued;    ///< date
  std::string authorised_by;
  std::string customer;
  std::string order;
  std::string recalibration_agreed;     ///< date, only where the customer agreed to one
  std::vector<std::string> deviations;  ///< from the method
};

/// Where the readings are: in a file of their own, or in the job file.
struct ReadingsSource {
  std::string file;              ///< as written, relative to the job file's folder; empty where the readings stand inline
  std::string text;              ///< inline readings
  std::int64_t first_line = 0;   ///< of the inline text in the job file
  std::int64_t indentation = 0;  ///< characters before each line of the inline text
};

/// Everything that a job file says. Empty where it says nothing.
struct Job {
  std::optional<Located> standard;
  std::optional<Located> size;
  std::optional<Located> grade;
  Piece piece;
  PieceRecord piece_record;
  LaboratoryRecord laboratory;
  MeasurementRecord measured;
  std::optional<ViewingRecord> viewing;
  PaperRecord paper;
  UncertaintySources uncertainty;        ///< resolution as in `measured`
  std::optional<Prior> process;          ///< of the mean apertures of pieces
  std::optional<Located> decision_rule;  ///< as to_text(DecisionRule) has it
  std::optional<double> guard_factor;    ///< r: the guard band is r U
  bool contiguous = false;               ///< readings follow each other on the cloth, gap by gap
  bool measured_only = false;
  bool apertures_only = false;
  bool only_seen = false;
  std::optional<Unit> unit;
  bool ignore_columns = false;
  ReadingsSource readings;
};

/// Reads a job strictly: unknown and duplicate keys, missing values, malformed numbers and dates are errors with line and column,
/// up to 20 at once. docs/cli.md lists the keys. `file` is the name in complaints; no file is opened. Errors: the 3xx family.
Result<Job> read_job(std::string_view yaml, const std::string& file);

}  // namespace sievecloth
