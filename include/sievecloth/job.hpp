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
  std::string frame_size;      ///< as written, with its unit
  std::string frame_depth;     ///< likewise
  std::string received;        ///< date
  std::string condition;       ///< on receipt
  std::string heat;            ///< heat number of the wire
  std::string state;           ///< `as found` or `as left`
};

/// What a laboratory is accredited for. Empty where it does not limit.
struct AccreditedScope {
  std::vector<std::string> standards;    ///< names of editions
  std::optional<Length> smallest;        ///< smallest nominal aperture
  std::optional<Length> largest;         ///< largest nominal aperture
  std::vector<CertifiedFigure> figures;  ///< that it covers
};

/// The laboratory responsible for the report. Empty if not given.
struct LaboratoryRecord {
  std::string name;                      ///< of the laboratory
  std::string address;                   ///< in one line
  StatedUncertainties capability;        ///< smallest uncertainties that it is accredited for (CMC, ILAC-P14)
  std::optional<AccreditedScope> scope;  ///< empty: nothing is marked as outside it
};

/// Certificate of the length standard (stage micrometer) that the instrument was adjusted to.
struct ScaleRecord {
  std::string certificate;                 ///< its number
  std::string issuer;                      ///< who issued it
  std::string traceability;                ///< statement of traceability, in the laboratory's words
  std::string date;                        ///< of the certificate
  std::string due;                         ///< date from which it must be renewed
  std::optional<bool> correction_applied;  ///< empty: not stated
};

/// One line of an uncertainty budget (JCGM 100:2008, 7.2), as the laboratory writes it.
struct BudgetLine {
  std::string source;        ///< of the uncertainty
  std::string value;         ///< standard uncertainty
  std::string distribution;  ///< assumed
  std::string sensitivity;   ///< coefficient
  std::string contribution;  ///< to the combined standard uncertainty
};

/// The budget behind a stated uncertainty. Empty where not given.
struct UncertaintyRecord {
  std::string budget;             ///< document that holds the budget
  std::vector<BudgetLine> lines;  ///< to be printed
  Where where;                    ///< its location
};

/// How the places of the piece were chosen for measurement (ISO/IEC 17025:2017, 7.8.5). Empty where not given.
struct SamplingRecord {
  std::string date;  ///< of sampling
  std::string by;    ///< who took the sample
  std::string plan;  ///< plan and method
  std::string seed;  ///< of a random selection
};

/// Something that was examined besides what the standard requires here, such as the frame or its marking.
struct ExaminedRecord {
  std::string what;    ///< that was examined
  std::string result;  ///< as written
  std::string limit;   ///< it was held to
  bool failed = false;  ///< beyond the limit
};

/// A reading that was corrected: what was original is kept (ISO/IEC 17025:2017, 7.5.2).
struct CorrectionRecord {
  std::string reading;  ///< which one
  std::string was;      ///< original value
  std::string now;      ///< value in the readings
  std::string reason;   ///< for the correction
  std::string by;       ///< who corrected it
  std::string date;     ///< when
  Length value;         ///< `now`; among the readings
  Where where;          ///< its location
};

/// Who measured, when, where and with what.
struct MeasurementRecord {
  std::string by;                                ///< who measured
  std::string date;                              ///< when, or the first day
  std::string until;                             ///< the last day; empty: the same
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

/// What the paper is, and so what it must hold.
enum class DocumentKind : std::uint8_t {
  by_grade,                   ///< inspection report; for the calibration grade, a record or a certificate
  declaration_of_compliance,  ///< ISO 3310-1, 5.3.2
  inspection_certificate,     ///< ISO 3310-1, 5.3.2
  calibration_certificate,    ///< ISO 3310-1, 5.3.2
  certificate_3_1,            ///< EN 10204:2004, type 3.1
};
/// Administrative data of the report. Empty if not given.
struct ReportRecord {
  DocumentKind document = DocumentKind::by_grade;  ///< what the paper is
  std::string number;                              ///< of the report
  std::string replaces;                            ///< number of the report that this one replaces
  std::string amendment;                           ///< why it does
  std::vector<std::string> changed;                ///< what it changes
  std::string issued;                              ///< date
  std::string authorised_by;                       ///< who authorised its release
  std::string authorised_as;                       ///< that person's function
  std::string customer;                            ///< for whom
  std::string customer_address;                    ///< in one line
  std::string customer_contact;                    ///< person, telephone or mail
  std::vector<std::string> supplied;               ///< keys of data that the customer supplied: `material`, `heat` and so on
  std::vector<std::string> external;               ///< results from external providers
  std::string decision_agreed;                     ///< with whom the decision rule was agreed, and when
  std::string opinions_by;                         ///< who is authorised to state opinions
  std::string short_agreed;                        ///< with whom a short report was agreed (ISO/IEC 17025:2017, 7.8.1.3), and when
  std::string order;                               ///< the customer's
  std::string recalibration_agreed;                ///< date, only where the customer agreed to one
  std::vector<std::string> deviations;             ///< from the method
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
  SamplingRecord sampled;                   ///< how the places were chosen
  std::vector<ExaminedRecord> examined;     ///< what was examined besides
  std::vector<CorrectionRecord> corrected;  ///< readings that were corrected
  ReportRecord paper;                       ///< administrative data of the report
  UncertaintySources uncertainty;           ///< resolution as in `measured`
  std::optional<Prior> process;             ///< distribution of the mean apertures of pieces
  std::optional<Located> decision_rule;     ///< as returned by to_text(DecisionRule)
  std::optional<double> guard_factor;       ///< r: the guard band is r U; 0 to k_most_guard_factor, 1 if empty
  bool contiguous = false;                  ///< readings are consecutive on the cloth, gap by gap
  bool measured_only = false;               ///< do without a visual examination, unless one is recorded
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
