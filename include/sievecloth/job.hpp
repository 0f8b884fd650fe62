// A job: one piece, how it was measured, and what it is to be checked against.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "sievecloth/sample.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// A text that somebody else will interpret, and where it stood.
struct Located {
  std::string text;  ///< as written
  Where where;       ///< where it began
};

/// What identifies the piece on paper. Empty where not given; dates here and below are `YYYY-MM-DD`.
struct PieceRecord {
  std::string identification;  ///< what the piece is called
  std::string serial;          ///< of a mounted sieve
  std::string material;        ///< of the wires
  std::string weave;           ///< such as `plain`
  std::string frame_depth;     ///< with its unit
  std::string received;        ///< date
  std::string condition;       ///< on receipt
};

/// Who answers for the report. Empty where not given.
struct LaboratoryRecord {
  std::string name;     ///< of the laboratory
  std::string address;  ///< in one line
};

/// The certificate of the scale that the instrument was adjusted to.
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
  std::string method;                            ///< by which method
  std::string sampling;                          ///< how the measurement positions were chosen
  std::string instrument;                        ///< with what
  std::optional<Length> resolution;              ///< of the instrument
  std::string temperature;                       ///< as written
  std::string humidity;                          ///< as written
  std::optional<ScaleRecord> scale;              ///< what the instrument was adjusted to
  std::optional<UncertaintyRecord> uncertainty;  ///< as stated
};

/// The two viewing tests over all apertures.
struct ViewingRecord {
  bool passed = false;                   ///< both tests
  std::string by;                        ///< who looked
  std::string date;                      ///< when
  std::string light;                     ///< of what kind
  std::string magnification;             ///< of the view
  std::optional<std::int64_t> suspects;  ///< suspect apertures found
  Where where;                           ///< where the result stood
};

/// A number of apertures agreed with the customer where the edition's count is not known.
struct AgreedCount {
  std::int64_t value = 0;  ///< in each direction
  std::string with;        ///< whom it was agreed with; empty where not given
  std::string date;        ///< when; empty where not given
  Where where;             ///< where it stood
};

/// What makes a paper of it. Empty where not given.
struct ReportRecord {
  std::string number;                   ///< of the report
  std::string replaces;                 ///< number of the report that this one replaces
  std::string issued;                   ///< date
  std::string authorised_by;            ///< who releases it
  std::string customer;                 ///< for whom
  std::string order;                    ///< the customer's
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
  std::optional<Located> standard;          ///< name of the edition
  std::optional<Located> size;              ///< as people write it
  std::optional<Located> grade;             ///< its name
  Piece piece;                              ///< what the verdict needs of it
  PieceRecord piece_record;                 ///< what identifies it on paper
  LaboratoryRecord laboratory;              ///< who answers for it
  MeasurementRecord measured;               ///< how it was measured
  std::optional<ViewingRecord> viewing;     ///< empty: not recorded
  ReportRecord paper;                       ///< what makes a paper of it
  UncertaintySources uncertainty;           ///< resolution as in `measured`
  std::optional<Prior> process;             ///< of the mean apertures of pieces
  std::optional<Located> decision_rule;     ///< as to_text(DecisionRule) has it
  std::optional<double> guard_factor;       ///< r: the guard band is r U
  bool contiguous = false;                  ///< readings follow each other on the cloth, gap by gap
  bool measured_only = false;               ///< leave the viewing tests out
  bool apertures_only = false;              ///< leave the wires out
  bool only_seen = false;                   ///< a provisional verdict becomes undecided
  std::optional<AgreedCount> agreed_count;  ///< empty: none was agreed
  bool last_line = false;                   ///< the instrument never ends the last line of a file
  std::optional<Unit> unit;                 ///< of columns that name none
  bool ignore_columns = false;              ///< ignore columns that are not known
  ReadingsSource readings;                  ///< where they are
};

}  // namespace sievecloth
