// A job: one piece, how it was measured, and what it is to be checked against.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "sievecloth/readings_csv.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// A text that is interpreted later, and its location.
struct Located {
  std::string text;  ///< as written
  Where where;       ///< where it begins
};

/// Identification of the piece in reports. Empty if not given; dates here and below are `YYYY-MM-DD`.
struct PieceRecord {
  std::string identification;  ///< name of the piece
  std::string serial;          ///< of a mounted sieve
  std::string material;        ///< of the wires
  std::string weave;           ///< such as `plain`
  std::string frame_depth;     ///< with its unit
  std::string received;        ///< date
  std::string condition;       ///< on receipt
};

/// The laboratory responsible for the report. Empty if not given.
struct LaboratoryRecord {
  std::string name;     ///< of the laboratory
  std::string address;  ///< in one line
};

/// Certificate of the length standard (stage micrometer) that the instrument was adjusted to.
struct ScaleRecord {
  std::string certificate;                 ///< its number
  std::string date;                        ///< of the certificate
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
  std::string by;                                ///< who measured
  std::string date;                              ///< when
  std::string place;                             ///< where
  std::string method;                            ///< measurement method
  std::string sampling;                          ///< how the measurement positions were chosen
  std::string instrument;                        ///< instrument used
  std::optional<Length> resolution;              ///< of the instrument
  std::string temperature;                       ///< as written
  std::string humidity;                          ///< as written
  std::optional<ScaleRecord> scale;              ///< length standard that the instrument was adjusted to
  std::optional<UncertaintyRecord> uncertainty;  ///< as stated
};

/// The visual examination of all apertures, which consists of two tests.
struct ViewingRecord {
  bool passed = false;                   ///< both tests
  std::string by;                        ///< examiner
  std::string date;                      ///< when
  std::string light;                     ///< kind of light
  std::string magnification;             ///< of the view
  std::optional<std::int64_t> suspects;  ///< suspect apertures found
  Where where;                           ///< location of the result
};

/// A number of apertures agreed with the customer because the edition's count is unknown.
struct AgreedCount {
  std::int64_t value = 0;  ///< in each direction
  std::string with;        ///< other party; empty if not given
  std::string date;        ///< when; empty if not given
  Where where;             ///< its location
};

/// Administrative data of the report. Empty if not given.
struct ReportRecord {
  std::string number;                   ///< of the report
  std::string replaces;                 ///< number of the report that this one replaces
  std::string issued;                   ///< date
  std::string authorised_by;            ///< who authorised its release
  std::string customer;                 ///< for whom
  std::string order;                    ///< the customer's
  std::string recalibration_agreed;     ///< date, only where the customer agreed to one
  std::vector<std::string> deviations;  ///< from the method
};

/// A file of readings that a job names.
struct NamedFile {
  std::string name;                    ///< as written, relative to the job file's folder
  std::optional<Direction> direction;  ///< of all its readings; empty if a column holds it
};

/// Where the readings are: in files of their own, or in the job file.
struct ReadingsSource {
  std::vector<NamedFile> files;  ///< in the order in which they are read; none for inline readings
  std::string text;              ///< inline readings
  std::int64_t first_line = 0;   ///< of the inline text in the job file
  std::int64_t indentation = 0;  ///< characters before each line of the inline text
};

/// Largest factor of a guard band. ILAC-G8:09/2019 has examples up to 3 standard uncertainties, 1.5 U.
inline constexpr double k_most_guard_factor = 3;

/// The contents of a job file. Empty where it says nothing.
struct Job {
  std::optional<Located> standard;          ///< name of the edition
  std::optional<Located> size;              ///< as people write it
  std::optional<Located> grade;             ///< its name
  Piece piece;                              ///< what the verdict needs to know about it
  PieceRecord piece_record;                 ///< its identification in reports
  LaboratoryRecord laboratory;              ///< responsible laboratory
  MeasurementRecord measured;               ///< how it was measured
  std::optional<ViewingRecord> viewing;     ///< empty: not recorded
  ReportRecord paper;                       ///< administrative data of the report
  UncertaintySources uncertainty;           ///< resolution as in `measured`
  std::optional<Prior> process;             ///< distribution of the mean apertures of pieces
  std::optional<Located> decision_rule;     ///< as returned by to_text(DecisionRule)
  std::optional<double> guard_factor;       ///< r: the guard band is r U; 0 to k_most_guard_factor, 1 if empty
  bool contiguous = false;                  ///< readings are consecutive on the cloth, gap by gap
  bool measured_only = false;               ///< exclude the visual examination
  bool apertures_only = false;              ///< exclude the wires
  bool only_seen = false;                   ///< a provisional verdict becomes undecided
  std::optional<AgreedCount> agreed_count;  ///< empty: none was agreed
  bool last_line = false;                   ///< the instrument never terminates the last line of a file
  std::optional<Unit> unit;                 ///< of columns that name none
  std::vector<NamedColumn> columns;         ///< columns with names of their own
  bool ignore_columns = false;              ///< ignore unknown columns
  ReadingsSource readings;                  ///< where they are
};

}  // namespace sievecloth
