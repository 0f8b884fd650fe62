/** @file
 * The check from C, and from any language that can call C. docs/c-abi.md is the guide.
 *
 * A handle is one inspector: begin a piece, add readings, query the standing, finish the piece, query its criteria, and begin the
 * next piece. Functions return a status; no function throws, prints, exits, or reads the clock, the locale or the environment. Each
 * handle keeps the message of its last failure.
 *
 * Threads: different handles may be used at the same time without limit. One handle serves one thread at a time; a second thread
 * gets SIEVECLOTH_HANDLE_BUSY, its readings are not added, and finishing that piece fails with the same status, because it is not
 * known what was lost. Give each thread its own handle and merge them. A handle must be idle while it is merged into another.
 *
 * Structs carry their own size, so that a later library can serve an older program: initialise them with the *_init functions.
 * Enumerator parameters are int32_t, so that an invalid value yields a status and nothing worse.
 */
#ifndef SIEVECLOTH_C_SIEVECLOTH_H
#define SIEVECLOTH_C_SIEVECLOTH_H

#include <stddef.h>
#include <stdint.h>

/** Marks exported symbols. */
#if defined(__GNUC__)
#define SIEVECLOTH_API __attribute__((visibility("default")))
#else
#define SIEVECLOTH_API
#endif

/** Incremented when a struct or function changes so that programs must be rebuilt. Equals the number of the soname. */
#define SIEVECLOTH_ABI_VERSION 2
/** Size of a snapshot [bytes]. */
#define SIEVECLOTH_SNAPSHOT_SIZE 648

#ifdef __cplusplus
extern "C" {
#endif

/** The codes of docs/errors.md. Later versions may add codes but never change or reuse one. */
typedef enum sievecloth_status {
  SIEVECLOTH_OK = 0,
  SIEVECLOTH_UNKNOWN_STANDARD = 101,
  SIEVECLOTH_EDITION_MISSING = 102,
  SIEVECLOTH_UNKNOWN_SIZE = 110,
  SIEVECLOTH_AMBIGUOUS_SIZE = 111,
  SIEVECLOTH_MALFORMED_SIZE = 112,
  SIEVECLOTH_UNKNOWN_GRADE = 120,
  SIEVECLOTH_GRADE_MISSING = 121,
  SIEVECLOTH_GRADE_NOT_IN_EDITION = 122,
  SIEVECLOTH_OPTION_CONFLICT = 130,
  SIEVECLOTH_OPTION_MISSING = 131,
  SIEVECLOTH_OPTION_VALUE = 132,
  SIEVECLOTH_MALFORMED_NUMBER = 223, /**< a reading that is not finite */
  SIEVECLOTH_NOT_POSITIVE = 224,     /**< a reading of 0 or less */
  SIEVECLOTH_TOO_LARGE = 225,        /**< a reading above 100 m */
  SIEVECLOTH_TOO_MANY_READINGS = 241,
  SIEVECLOTH_PIECE_CONTRADICTED = 242,
  SIEVECLOTH_NULL_ARGUMENT = 401,
  SIEVECLOTH_STRUCT_SIZE = 402,
  SIEVECLOTH_WRONG_ARGUMENT = 403,
  SIEVECLOTH_NOT_BEGUN = 404,
  SIEVECLOTH_NOT_FINISHED = 405,
  SIEVECLOTH_FINISHED = 406,
  SIEVECLOTH_HANDLE_BUSY = 407,
  SIEVECLOTH_BUFFER_SIZE = 408,
  SIEVECLOTH_SNAPSHOT_DAMAGED = 410,
  SIEVECLOTH_SNAPSHOT_VERSION = 411,
  SIEVECLOTH_SNAPSHOT_MISMATCH = 412,
  SIEVECLOTH_INSPECTORS_DIFFER = 420,
  SIEVECLOTH_INTERNAL = 901,
  SIEVECLOTH_OUT_OF_MEMORY = 902
} sievecloth_status;

/** The line along which readings are taken. NO_DIRECTION: the piece as a whole. */
typedef enum sievecloth_direction { SIEVECLOTH_NO_DIRECTION = -1, SIEVECLOTH_WARP = 0, SIEVECLOTH_WEFT = 1 } sievecloth_direction;

/** What a reading measures. A suspect is an aperture that is compared with w + X only. */
typedef enum sievecloth_quantity { SIEVECLOTH_APERTURE = 0, SIEVECLOTH_WIRE = 1, SIEVECLOTH_SUSPECT = 2 } sievecloth_quantity;

/** The visual examination of all apertures: its two tests taken together. */
typedef enum sievecloth_viewing {
  SIEVECLOTH_VIEWING_NOT_RECORDED = 0,
  SIEVECLOTH_VIEWING_PASSED = 1,
  SIEVECLOTH_VIEWING_FAILED = 2
} sievecloth_viewing;

/** In order of increasing severity; the most severe verdict of several pieces prevails. */
typedef enum sievecloth_verdict {
  SIEVECLOTH_CONFORMS = 0,
  SIEVECLOTH_UNDECIDED = 1,
  SIEVECLOTH_DOES_NOT_CONFORM = 2
} sievecloth_verdict;

/** Result of comparing the readings with a criterion. */
typedef enum sievecloth_outcome {
  SIEVECLOTH_OUTCOME_MET = 0,
  SIEVECLOTH_OUTCOME_NOT_MET = 1,
  SIEVECLOTH_OUTCOME_UNDECIDED = 2,
  SIEVECLOTH_OUTCOME_NOT_APPLICABLE = 3
} sievecloth_outcome;

/** The shape of a mounted sieve. */
typedef enum sievecloth_frame {
  SIEVECLOTH_FRAME_NOT_KNOWN = 0,
  SIEVECLOTH_FRAME_ROUND = 1,
  SIEVECLOTH_FRAME_SQUARE = 2
} sievecloth_frame;

/** Opaque handle of one inspector. */
typedef struct sievecloth_inspector sievecloth_inspector;

/** What a piece is checked against and what is known about it. Texts are UTF-8 and are copied. */
typedef struct sievecloth_options {
  size_t struct_size;     /**< set by sievecloth_options_init */
  const char* standard;   /**< name of an edition, as returned by sievecloth_edition_name; required */
  const char* size;       /**< such as "No. 200", "75um", "3/8 in."; required */
  const char* grade;      /**< "compliance", "inspection", "calibration"; NULL if the edition has no grades */
  int32_t viewing;        /**< sievecloth_viewing */
  int32_t measured_only;  /**< not 0: do without a visual examination, unless one is recorded */
  int32_t apertures_only; /**< not 0: exclude the wires */
  int32_t only_seen;      /**< not 0: a provisional verdict becomes undecided */
  int64_t planned_warp;   /**< apertures planned parallel to the warp, fixed beforehand; -1 (default): no plan; both or neither */
  int64_t planned_weft;   /**< the same, parallel to the weft */
  double resolution_um;   /**< of the instrument [um]; 0: unknown */
  int32_t frame;          /**< sievecloth_frame */
  int32_t all_apertures;  /**< not 0: every full aperture is measured; needs apertures_in_piece */
  double frame_mm;        /**< diameter, or side of a square one [mm] */
  double roll_width_mm;   /**< width of cloth on the roll [mm]; 0: no roll */
  double roll_length_mm;  /**< its length [mm] */
  int64_t apertures_in_piece; /**< full apertures of the piece; -1: unknown */
} sievecloth_options;

/** The figures of one quantity in one direction so far. Undefined ones are +infinity, which is above every limit. */
typedef struct sievecloth_figures {
  size_t struct_size;           /**< set by sievecloth_figures_init */
  int64_t n;                    /**< readings */
  int64_t refused;              /**< invalid readings; those of apertures include suspects */
  double mean_um;               /**< defined from n = 1 */
  double standard_deviation_um; /**< defined from n = 2 */
  double minimum_um;            /**< defined from n = 1 */
  double maximum_um;            /**< defined from n = 1 */
} sievecloth_figures;

/** The verdict so far. */
typedef struct sievecloth_standing {
  size_t struct_size; /**< set by sievecloth_standing_init */
  int32_t rejected;   /**< 1: the piece will not conform, whatever follows; 0: still open */
  int32_t criterion;  /**< the criterion that rejects, for sievecloth_criterion_name; -1 while open */
  int32_t direction;  /**< its sievecloth_direction */
  int32_t reserved;   /**< 0 */
} sievecloth_standing;

/** The verdict of a finished piece. */
typedef struct sievecloth_result {
  size_t struct_size;      /**< set by sievecloth_result_init */
  int32_t verdict;         /**< sievecloth_verdict */
  int32_t provisional;     /**< 1: rests on a limit, count or rule not verified against the standard */
  int64_t required_count;  /**< apertures required in each direction; -1: unknown; INT64_MAX: every full aperture */
  int32_t criterion_count; /**< number of criteria available from sievecloth_inspector_criterion */
  int32_t all_measured;    /**< 1: every full aperture was measured */
} sievecloth_result;

/** One requirement in one direction of a finished piece. Missing values never look acceptable: a missing value, lower limit or
 * limit is +infinity, a missing upper limit or margin is -infinity. */
typedef struct sievecloth_criterion {
  size_t struct_size; /**< set by sievecloth_criterion_init */
  int32_t id;         /**< for sievecloth_criterion_name */
  int32_t direction;  /**< sievecloth_direction */
  int32_t outcome;    /**< sievecloth_outcome */
  int32_t firm;       /**< 1: all it rests on was verified against the standard */
  int64_t n;          /**< readings used */
  uint64_t reasons;   /**< why undecided or not applicable: bit i stands for sievecloth_reason_name(i) */
  double observed_um; /**< compared value, if it is a length [um] */
  double lower_um;    /**< lower limit, included [um] */
  double upper_um;    /**< upper limit, included, if there is one [um] */
  double margin_um;   /**< distance to the nearer limit, negative beyond it */
  double observed;    /**< compared value, if it is a count or a share in percent */
  double limit;       /**< the limit of that value */
} sievecloth_criterion;

/** Version of the library, such as "0.1.0". Never NULL. */
SIEVECLOTH_API const char* sievecloth_version(void);
/** SIEVECLOTH_ABI_VERSION of the loaded library. */
SIEVECLOTH_API int32_t sievecloth_abi_version(void);

/** How many editions are built in. */
SIEVECLOTH_API size_t sievecloth_edition_count(void);
/** The name of an edition; index from 0, NULL past the last. */
SIEVECLOTH_API const char* sievecloth_edition_name(size_t index);

/** The name of a criterion as in JSON, such as "average-aperture"; NULL for an unknown number. */
SIEVECLOTH_API const char* sievecloth_criterion_name(int32_t id);
/** The name of a reason as in JSON, such as "count-not-reached"; NULL for an unknown bit. */
SIEVECLOTH_API const char* sievecloth_reason_name(int32_t bit);
/** The name of a sievecloth_verdict as in JSON, such as "does-not-conform"; NULL for an unknown number. */
SIEVECLOTH_API const char* sievecloth_verdict_name(int32_t verdict);
/** The name of a sievecloth_outcome as in JSON, such as "not-met"; NULL for an unknown number. */
SIEVECLOTH_API const char* sievecloth_outcome_name(int32_t outcome);

/** Sets the size and the defaults. Ignores NULL. */
SIEVECLOTH_API void sievecloth_options_init(sievecloth_options* options);
/** Sets the size, and everything else to undecided or missing. Ignores NULL. */
SIEVECLOTH_API void sievecloth_figures_init(sievecloth_figures* figures);
/** Sets the size, and everything else to undecided or missing. Ignores NULL. */
SIEVECLOTH_API void sievecloth_standing_init(sievecloth_standing* standing);
/** Sets the size, and everything else to undecided or missing. Ignores NULL. */
SIEVECLOTH_API void sievecloth_result_init(sievecloth_result* result);
/** Sets the size, and everything else to undecided or missing. Ignores NULL. */
SIEVECLOTH_API void sievecloth_criterion_init(sievecloth_criterion* criterion);

/** Stores a new handle in *inspector, or NULL on failure. Errors: NULL_ARGUMENT, OUT_OF_MEMORY. */
SIEVECLOTH_API sievecloth_status sievecloth_inspector_new(sievecloth_inspector** inspector);
/** Frees a handle that no thread uses any more. Ignores NULL. */
SIEVECLOTH_API void sievecloth_inspector_free(sievecloth_inspector* inspector);
/** The message of the last failed call on this handle, with a remedy; at most 511 bytes of UTF-8, initially "". Valid until the
 * next failing call. Never NULL. */
SIEVECLOTH_API const char* sievecloth_inspector_message(const sievecloth_inspector* inspector);

/** Begins a piece, discarding whatever the handle held, even on failure. Errors: NULL_ARGUMENT, STRUCT_SIZE, HANDLE_BUSY, the 1xx
 * family, PIECE_CONTRADICTED, OUT_OF_MEMORY. After an error no piece is begun. */
SIEVECLOTH_API sievecloth_status sievecloth_inspector_begin(sievecloth_inspector* inspector, const sievecloth_options* options);

/** Adds readings of one quantity and direction as doubles [um], each rounded once to the picometre. No allocation. Invalid
 * readings are refused and counted, the others are added; the status is that of the first refused: MALFORMED_NUMBER,
 * NOT_POSITIVE, TOO_LARGE, TOO_MANY_READINGS. A piece with refused readings is never accepted.
 * Errors, with nothing added, after which the piece is never accepted: NULL_ARGUMENT (readings may be NULL if count is 0),
 * WRONG_ARGUMENT, HANDLE_BUSY; also NOT_BEGUN, FINISHED. */
SIEVECLOTH_API sievecloth_status sievecloth_inspector_add_um(sievecloth_inspector* inspector, int32_t quantity, int32_t direction,
                                                             const double* readings_um, size_t count);
/** The same for whole picometres. */
SIEVECLOTH_API sievecloth_status sievecloth_inspector_add_pm(sievecloth_inspector* inspector, int32_t quantity, int32_t direction,
                                                             const int64_t* readings_pm, size_t count);

/** Records the visual examination while the piece is open: passed (not 0) or failed (0). A failed one stays failed.
 * Errors: NULL_ARGUMENT, NOT_BEGUN, FINISHED, HANDLE_BUSY. */
SIEVECLOTH_API sievecloth_status sievecloth_inspector_record_viewing(sievecloth_inspector* inspector, int32_t passed);

/** Merges the readings of `count` other inspectors, such as those of further threads, into `inspector`. The parts are unchanged.
 * Shares of the plan add up.
 * Errors, with nothing merged: NULL_ARGUMENT, WRONG_ARGUMENT (count is 0, a part is given twice or is `inspector`), NOT_BEGUN,
 * FINISHED, HANDLE_BUSY, INSPECTORS_DIFFER, TOO_MANY_READINGS. */
SIEVECLOTH_API sievecloth_status sievecloth_inspector_merge(sievecloth_inspector* inspector, sievecloth_inspector* const* parts,
                                                            size_t count);

/** The verdict so far. No allocation. Errors: NULL_ARGUMENT, STRUCT_SIZE, NOT_BEGUN, HANDLE_BUSY. */
SIEVECLOTH_API sievecloth_status sievecloth_inspector_standing(sievecloth_inspector* inspector, sievecloth_standing* standing);
/** The figures so far. No allocation. Errors: as above, WRONG_ARGUMENT. */
SIEVECLOTH_API sievecloth_status sievecloth_inspector_figures(sievecloth_inspector* inspector, int32_t quantity, int32_t direction,
                                                              sievecloth_figures* figures);

/** Finishes the piece; further readings are refused with FINISHED. The verdict is that of the C++ library for the same readings.
 * Errors: NULL_ARGUMENT, STRUCT_SIZE, NOT_BEGUN, FINISHED, HANDLE_BUSY (also if readings were lost to a second thread before),
 * PIECE_CONTRADICTED, OUT_OF_MEMORY (the piece stays open). */
SIEVECLOTH_API sievecloth_status sievecloth_inspector_finish(sievecloth_inspector* inspector, sievecloth_result* result);
/** Retrieves one criterion of the finished piece; index from 0. Errors: NULL_ARGUMENT, STRUCT_SIZE, NOT_BEGUN, NOT_FINISHED,
 * HANDLE_BUSY, WRONG_ARGUMENT (no such index). */
SIEVECLOTH_API sievecloth_status sievecloth_inspector_criterion(sievecloth_inspector* inspector, size_t index,
                                                                sievecloth_criterion* criterion);

/** Writes a snapshot of an open or finished piece. No allocation. Errors: NULL_ARGUMENT, BUFFER_SIZE (`size` below
 *  SIEVECLOTH_SNAPSHOT_SIZE), NOT_BEGUN, HANDLE_BUSY. */
SIEVECLOTH_API sievecloth_status sievecloth_inspector_save(sievecloth_inspector* inspector, uint8_t* bytes, size_t size);
/** Begins a piece from a snapshot; `options` must be those of the saved piece, the visual examination excepted. A piece that had
 * lost readings, or whose snapshot has format 1, which does not record this, is never accepted.
 * Errors: as sievecloth_inspector_begin, SNAPSHOT_DAMAGED, SNAPSHOT_VERSION, SNAPSHOT_MISMATCH. */
SIEVECLOTH_API sievecloth_status sievecloth_inspector_restore(sievecloth_inspector* inspector, const sievecloth_options* options,
                                                              const uint8_t* bytes, size_t size);

#ifdef __cplusplus
}
#endif

#endif
