// The C interface to Inspector: handles, status codes, structs that carry their size. No exception crosses it.
#include "sievecloth/c/sievecloth.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <cstring>
#include <limits>
#include <new>
#include <thread>

#include <fmt/format.h>

#include "base/text.hpp"
#include "sievecloth/inspector.hpp"
#include "sievecloth/version.hpp"

using namespace sievecloth;

/// The handle. The assessment is set once the piece is finished.
struct sievecloth_inspector {
  std::optional<Inspector> inspector;
  std::optional<Assessment> assessment;
  std::array<char, 512> message{};
  enum class Use : std::uint8_t { free, looked_at, changed };
  std::atomic<Use> use{Use::free};
  std::atomic<bool> turned_away{false};  // a second thread tried to add readings, which are lost
};

namespace {

using Handle = sievecloth_inspector;
using Status = sievecloth_status;

// Missing values must never look acceptable: a missing value is above every limit, a missing limit is below every value, and so is
// a missing margin.
constexpr double k_undefined = std::numeric_limits<double>::infinity();
constexpr double k_no_upper_limit = -std::numeric_limits<double>::infinity();
constexpr double k_no_margin = -std::numeric_limits<double>::infinity();

constexpr Status status_of(ErrorCode code) noexcept { return static_cast<Status>(code); }

// Truncates between characters, never within one.
void keep_message(Handle& handle, std::string_view text) noexcept {
  std::size_t size = 0;
  while (size < text.size()) {
    const std::size_t character = std::max<std::size_t>(1, utf8_length(text.substr(size)));
    if (size + character >= handle.message.size()) break;
    size += character;
  }
  std::copy_n(text.data(), size, handle.message.data());
  handle.message[size] = '\0';
}

Status fail(Handle& handle, ErrorCode code, std::string_view text) noexcept {
  keep_message(handle, text);
  return status_of(code);
}

Status fail(Handle& handle, const Errors& errors) { return fail(handle, errors.front().code, to_text(errors.front())); }

// `text` replaces the short message of the library with one written for callers of the C interface.
Status status_of(Handle& handle, const Result<void>& result, std::string_view text) noexcept {
  return result ? SIEVECLOTH_OK : fail(handle, result.error().code, text);
}

/// What a call does to the piece. `takes`: its input is lost if the call is turned away.
enum class Access { looks, changes, takes };

/// Admits one thread at a time. Read-only calls are brief and are waited for; while another call changes the piece, every further
/// one is turned away, and the loss of its input is recorded.
class Turn {
 public:
  Turn(Handle& handle, Access access) noexcept : handle_(handle) {
    const Handle::Use wanted = access == Access::looks ? Handle::Use::looked_at : Handle::Use::changed;
    for (Handle::Use now = Handle::Use::free; now != Handle::Use::changed; std::this_thread::yield()) {
      now = Handle::Use::free;
      mine_ = handle_.use.compare_exchange_strong(now, wanted, std::memory_order_acquire);
      if (mine_) return;
    }
    if (access == Access::takes) handle_.turned_away.store(true, std::memory_order_relaxed);
  }
  ~Turn() {
    if (mine_) handle_.use.store(Handle::Use::free, std::memory_order_release);
  }
  Turn(const Turn&) = delete;
  Turn& operator=(const Turn&) = delete;
  bool mine() const noexcept { return mine_; }

 private:
  Handle& handle_;
  bool mine_ = false;
};

// Runs `body` on a handle not in use by any other thread; exceptions become status codes.
template <class Body>
Status with(Handle* handle, Access access, Body body) noexcept {
  if (handle == nullptr) return SIEVECLOTH_NULL_ARGUMENT;
  const Turn turn(*handle, access);
  if (!turn.mine()) return SIEVECLOTH_HANDLE_BUSY;
  try {
    return body(*handle);
  } catch (const std::bad_alloc&) {
    return fail(*handle, ErrorCode::out_of_memory, "out of memory");
  } catch (...) {
    return fail(*handle, ErrorCode::internal, "a defect of this library; please report it");
  }
}

Status null_argument(Handle& handle) noexcept { return fail(handle, ErrorCode::null_argument, "an argument is NULL"); }
Status wrong_argument(Handle& handle, std::string_view text) noexcept { return fail(handle, ErrorCode::wrong_argument, text); }

// Runs `body` on a begun piece that is not finished.
template <class Body>
Status with_open(Handle* handle, Access access, Body body) noexcept {
  return with(handle, access, [&](Handle& it) {
    if (!it.inspector) return fail(it, ErrorCode::not_begun, "begin a piece first");
    if (it.assessment) return fail(it, ErrorCode::finished, "the piece is finished; begin the next one");
    return body(it);
  });
}

// Runs `body` on a begun piece, open or finished.
template <class Body>
Status with_begun(Handle* handle, Body body) noexcept {
  return with(handle, Access::looks, [&](Handle& it) {
    if (!it.inspector) return fail(it, ErrorCode::not_begun, "begin a piece first");
    return body(it);
  });
}

// Checks that a caller's struct is present and has the size set by its init function.
template <class Struct>
Status check_struct(Handle& handle, const Struct* given) noexcept {
  if (given == nullptr) return null_argument(handle);
  if (given->struct_size != sizeof(Struct)) {
    return fail(handle, ErrorCode::struct_size,
                "a struct of another size: fill it with its init function, and build against this library");
  }
  return SIEVECLOTH_OK;
}

bool is_direction(int direction) noexcept { return direction == SIEVECLOTH_WARP || direction == SIEVECLOTH_WEFT; }
bool is_quantity(int quantity) noexcept { return quantity >= SIEVECLOTH_APERTURE && quantity <= SIEVECLOTH_SUSPECT; }

Direction direction_of(std::int32_t direction) noexcept { return direction == SIEVECLOTH_WARP ? Direction::warp : Direction::weft; }
int32_t direction_number(const std::optional<Direction>& direction) noexcept {
  return !direction ? SIEVECLOTH_NO_DIRECTION : *direction == Direction::warp ? SIEVECLOTH_WARP : SIEVECLOTH_WEFT;
}

Error option_error(std::string_view option, std::string expected) {
  return {ErrorCode::option_value, fmt::format("{} cannot be", option), "", std::move(expected), {}};
}

Error missing(std::string_view option) { return {ErrorCode::option_missing, fmt::format("{} is missing", option), "", "", {}}; }

Result<Specification> read_specification(const sievecloth_options& options) {
  if (options.standard == nullptr) return missing("standard");
  if (options.size == nullptr) return missing("size");
  const Result<const Edition*> edition = find_edition(options.standard);
  if (!edition.ok()) return edition.errors();
  std::optional<Grade> grade;
  if (options.grade != nullptr) {
    const Result<Grade> parsed = parse_grade(options.grade);
    if (!parsed.ok()) return parsed.errors();
    grade = *parsed;
  }
  return specify(**edition, options.size, grade);
}

// Returns a length above 0, empty if the option is 0; any other value is an error.
Result<std::optional<Length>> read_length(std::string_view option, double value, Unit unit) {
  if (value == 0) return std::optional<Length>();
  const Result<Length> length = round_to_length(value, unit);
  if (!length.ok() || *length <= Length()) return option_error(option, "a length above 0, or 0 where it is not known");
  return std::optional(*length);
}

Result<Piece> read_piece(const sievecloth_options& options) {
  Piece piece;
  const Result<std::optional<Length>> frame = read_length("frame_mm", options.frame_mm, Unit::millimetre);
  const Result<std::optional<Length>> width = read_length("roll_width_mm", options.roll_width_mm, Unit::millimetre);
  const Result<std::optional<Length>> length = read_length("roll_length_mm", options.roll_length_mm, Unit::millimetre);
  for (const auto* result : {&frame, &width, &length}) {
    if (!result->ok()) return result->errors();
  }
  if (options.frame < SIEVECLOTH_FRAME_NOT_KNOWN || options.frame > SIEVECLOTH_FRAME_SQUARE)
    return option_error("frame", "a sievecloth_frame");
  if ((options.frame != SIEVECLOTH_FRAME_NOT_KNOWN) != frame->has_value())
    return option_error("frame", "a shape and frame_mm together, or neither");
  if (width->has_value() != length->has_value()) return option_error("roll_width_mm", "roll_length_mm with it, or neither");
  if (*frame) piece.frame = Frame{options.frame == SIEVECLOTH_FRAME_ROUND ? FrameShape::round : FrameShape::square, **frame};
  if (*width) piece.roll = Roll{**width, **length};
  if (options.apertures_in_piece == 0 || options.apertures_in_piece < -1)
    return option_error("apertures_in_piece", "1 or more, or -1 where it is not known");
  if (options.apertures_in_piece > 0) piece.apertures_in_piece = options.apertures_in_piece;
  piece.all_apertures = options.all_apertures != 0;
  if (piece.all_apertures && !piece.apertures_in_piece) return missing("apertures_in_piece, which all_apertures needs,");
  return piece;
}

Result<Conditions> read_conditions(const sievecloth_options& options) {
  const Result<Piece> piece = read_piece(options);
  if (!piece.ok()) return piece.errors();
  const Result<std::optional<Length>> resolution = read_length("resolution_um", options.resolution_um, Unit::micrometre);
  if (!resolution.ok()) return resolution.errors();
  if (options.viewing < SIEVECLOTH_VIEWING_NOT_RECORDED || options.viewing > SIEVECLOTH_VIEWING_FAILED)
    return option_error("viewing", "a sievecloth_viewing");
  const bool planned = options.planned_warp >= 0 && options.planned_weft >= 0;
  if (!planned && (options.planned_warp != -1 || options.planned_weft != -1))
    return option_error("planned_warp and planned_weft", "0 or more both, or -1 both");
  Conditions conditions{.piece = *piece,
                        .resolution = *resolution,
                        .measured_only = options.measured_only != 0,
                        .apertures_only = options.apertures_only != 0,
                        .only_seen = options.only_seen != 0};
  if (options.viewing != SIEVECLOTH_VIEWING_NOT_RECORDED) conditions.viewing_passed = options.viewing == SIEVECLOTH_VIEWING_PASSED;
  if (planned) conditions.planned = {options.planned_warp, options.planned_weft};
  return conditions;
}

// Discards the previous piece, whether or not the next one can begin.
void close(Handle& handle) noexcept {
  handle.inspector.reset();
  handle.assessment.reset();
  handle.turned_away.store(false, std::memory_order_relaxed);
}

// Begins a piece with `make(specification, conditions)`; on failure no piece is begun.
template <class Make>
Status begin(Handle& handle, const sievecloth_options* options, Make make) {
  close(handle);
  if (const Status status = check_struct(handle, options); status != SIEVECLOTH_OK) return status;
  const Result<Specification> specification = read_specification(*options);
  if (!specification.ok()) return fail(handle, specification.errors());
  const Result<Conditions> conditions = read_conditions(*options);
  if (!conditions.ok()) return fail(handle, conditions.errors());
  const Result<Inspector> inspector = make(*specification, *conditions);
  if (!inspector.ok()) return fail(handle, inspector.errors());
  handle.inspector = *inspector;
  return SIEVECLOTH_OK;
}

constexpr std::string_view k_refused =
    "an invalid reading: not finite, not above 0, or above 100 m; the piece will not be accepted";

template <class Number, class Add>
Status add(Handle* handle, int32_t quantity, int32_t direction, const Number* readings, std::size_t count, Add add_all) noexcept {
  return with_open(handle, Access::takes, [&](Handle& it) {
    if (count > 0 && (readings == nullptr || !is_quantity(quantity) || !is_direction(direction)))
      it.inspector->record_lost_readings();  // a caller who ignores the status must not see the piece accepted
    if (readings == nullptr && count > 0) return null_argument(it);
    if (!is_quantity(quantity)) return wrong_argument(it, "not a sievecloth_quantity");
    if (!is_direction(direction)) return wrong_argument(it, "not the direction of a reading");
    return status_of(it, add_all(*it.inspector, static_cast<Quantity>(quantity), direction_of(direction)), k_refused);
  });
}

bool names_parts_once(const Handle& handle, Handle* const* parts, std::size_t count) noexcept {
  for (std::size_t i = 0; i < count; ++i) {
    if (parts[i] == &handle || std::find(parts, parts + i, parts[i]) != parts + i) return false;
  }
  return true;
}

// Merges one part into `total`; the part must be idle meanwhile.
Status merge_part(Handle& handle, Inspector& total, Handle& part) noexcept {
  const Turn turn(part, Access::looks);
  if (!turn.mine() || part.turned_away) {
    handle.turned_away.store(true, std::memory_order_relaxed);  // the total lacks those readings as well
    return fail(handle, ErrorCode::handle_busy, "a part was used by two threads at a time");
  }
  if (!part.inspector) return fail(handle, ErrorCode::not_begun, "a part has not begun");
  return status_of(handle, total.merge(*part.inspector), "parts of another piece, begun with other options, or too many readings");
}

// All of them or none.
Status merge_parts(Handle& handle, sievecloth_inspector* const* parts, std::size_t count) {
  if (parts == nullptr || std::find(parts, parts + count, nullptr) != parts + count) return null_argument(handle);
  if (count == 0) return wrong_argument(handle, "no parts to merge");
  if (!names_parts_once(handle, parts, count)) return wrong_argument(handle, "a part given twice, or merged into itself");
  Inspector total = *handle.inspector;
  for (std::size_t i = 0; i < count; ++i) {
    if (const Status status = merge_part(handle, total, *parts[i]); status != SIEVECLOTH_OK) return status;
  }
  handle.inspector = total;
  return SIEVECLOTH_OK;
}

const Summary& summary_of(const Sample& sample, int32_t quantity, Direction direction) noexcept {
  const DirectionSample& side = sample[direction];
  return quantity == SIEVECLOTH_APERTURE ? side.aperture : quantity == SIEVECLOTH_WIRE ? side.wire : side.suspect;
}

// Initialises a struct with its size and everything else 0.
template <class Struct>
void init(Struct* given) noexcept {
  if (given == nullptr) return;
  *given = Struct{};
  given->struct_size = sizeof(Struct);
}

std::uint64_t reason_bits(const Criterion& criterion) noexcept {
  std::uint64_t bits = 0;
  for (const Reason reason : criterion.reasons) bits |= std::uint64_t{1} << static_cast<unsigned>(reason);
  return bits;
}

// All names are string literals and so NUL-terminated; an invalid value has none.
template <class Name>
const char* name(std::int32_t number) noexcept {
  const auto value = static_cast<Name>(number);
  return static_cast<std::int32_t>(value) == number ? to_text(value).data() : nullptr;
}

}  // namespace

const char* sievecloth_version(void) { return k_version.data(); }
int32_t sievecloth_abi_version(void) { return SIEVECLOTH_ABI_VERSION; }

size_t sievecloth_edition_count(void) { return built_in_editions().size(); }
const char* sievecloth_edition_name(size_t index) {
  return index < built_in_editions().size() ? built_in_editions()[index]->name.data() : nullptr;
}

const char* sievecloth_criterion_name(int32_t id) { return name<CriterionId>(id); }
const char* sievecloth_reason_name(int32_t bit) { return name<Reason>(bit); }
const char* sievecloth_verdict_name(int32_t verdict) { return name<Verdict>(verdict); }
const char* sievecloth_outcome_name(int32_t outcome) { return name<Outcome>(outcome); }

void sievecloth_options_init(sievecloth_options* options) {
  init(options);
  if (options == nullptr) return;
  options->planned_warp = options->planned_weft = options->apertures_in_piece = -1;
}
void sievecloth_figures_init(sievecloth_figures* figures) {
  init(figures);
  if (figures == nullptr) return;
  figures->mean_um = figures->standard_deviation_um = figures->minimum_um = figures->maximum_um = k_undefined;
}
void sievecloth_standing_init(sievecloth_standing* standing) {
  init(standing);
  if (standing != nullptr) standing->criterion = standing->direction = -1;
}
void sievecloth_result_init(sievecloth_result* result) {
  init(result);
  if (result == nullptr) return;
  result->verdict = SIEVECLOTH_UNDECIDED;
  result->required_count = -1;
}
void sievecloth_criterion_init(sievecloth_criterion* criterion) {
  init(criterion);
  if (criterion == nullptr) return;
  criterion->direction = -1;
  criterion->outcome = SIEVECLOTH_OUTCOME_UNDECIDED;
  criterion->observed_um = criterion->lower_um = criterion->observed = criterion->limit = k_undefined;
  criterion->upper_um = k_no_upper_limit;
  criterion->margin_um = k_no_margin;
}

sievecloth_status sievecloth_inspector_new(sievecloth_inspector** inspector) {
  if (inspector == nullptr) return SIEVECLOTH_NULL_ARGUMENT;
  *inspector = new (std::nothrow) sievecloth_inspector;
  return *inspector == nullptr ? SIEVECLOTH_OUT_OF_MEMORY : SIEVECLOTH_OK;
}

void sievecloth_inspector_free(sievecloth_inspector* inspector) { delete inspector; }

const char* sievecloth_inspector_message(const sievecloth_inspector* inspector) {
  return inspector == nullptr ? "the handle is NULL" : inspector->message.data();
}

sievecloth_status sievecloth_inspector_begin(sievecloth_inspector* inspector, const sievecloth_options* options) {
  return with(inspector, Access::takes, [&](Handle& it) { return begin(it, options, &Inspector::create); });
}

sievecloth_status sievecloth_inspector_add_um(sievecloth_inspector* inspector, int32_t quantity, int32_t direction,
                                              const double* readings_um, size_t count) {
  return add(inspector, quantity, direction, readings_um, count, [&](Inspector& to, Quantity what, Direction along) {
    return to.add(what, along, std::span(readings_um, count), Unit::micrometre);
  });
}

sievecloth_status sievecloth_inspector_add_pm(sievecloth_inspector* inspector, int32_t quantity, int32_t direction,
                                              const int64_t* readings_pm, size_t count) {
  return add(inspector, quantity, direction, readings_pm, count, [&](Inspector& to, Quantity what, Direction along) {
    Result<void> all;
    for (const std::int64_t pm : std::span(readings_pm, count)) {
      Result<void> taken = to.add(what, along, Length::from_pm(pm));
      if (!taken && all) all = std::move(taken);
    }
    return all;
  });
}

sievecloth_status sievecloth_inspector_record_viewing(sievecloth_inspector* inspector, int32_t passed) {
  return with_open(inspector, Access::takes, [&](Handle& it) {
    it.inspector->record_viewing(passed != 0);
    return SIEVECLOTH_OK;
  });
}

sievecloth_status sievecloth_inspector_merge(sievecloth_inspector* inspector, sievecloth_inspector* const* parts, size_t count) {
  return with_open(inspector, Access::takes, [&](Handle& it) {
    const Status status = merge_parts(it, parts, count);
    if (status != SIEVECLOTH_OK) it.inspector->record_lost_readings();  // the piece lacks what was not merged
    return status;
  });
}

sievecloth_status sievecloth_inspector_standing(sievecloth_inspector* inspector, sievecloth_standing* standing) {
  return with_begun(inspector, [&](Handle& it) {
    if (const Status status = check_struct(it, standing); status != SIEVECLOTH_OK) return status;
    const Standing now = it.inspector->standing();
    standing->rejected = now.rejected ? 1 : 0;
    standing->criterion = now.rejected ? static_cast<std::int32_t>(now.criterion) : -1;
    standing->direction = direction_number(now.direction);
    standing->reserved = 0;
    return SIEVECLOTH_OK;
  });
}

sievecloth_status sievecloth_inspector_figures(sievecloth_inspector* inspector, int32_t quantity, int32_t direction,
                                               sievecloth_figures* figures) {
  return with_begun(inspector, [&](Handle& it) {
    if (const Status status = check_struct(it, figures); status != SIEVECLOTH_OK) return status;
    if (!is_quantity(quantity)) return wrong_argument(it, "not a sievecloth_quantity");
    if (!is_direction(direction)) return wrong_argument(it, "not the direction of a reading");
    const Sample& sample = it.inspector->sample();
    const DirectionSample& side = sample[direction_of(direction)];
    const Summary& summary = summary_of(sample, quantity, direction_of(direction));
    figures->n = summary.count();
    figures->refused = quantity == SIEVECLOTH_WIRE ? side.refused_wires : side.refused_apertures;
    figures->mean_um = summary.mean_um().value_or(k_undefined);
    figures->standard_deviation_um = summary.standard_deviation_um().value_or(k_undefined);
    figures->minimum_um = summary.empty() ? k_undefined : summary.minimum().um();
    figures->maximum_um = summary.empty() ? k_undefined : summary.maximum().um();
    return SIEVECLOTH_OK;
  });
}

sievecloth_status sievecloth_inspector_finish(sievecloth_inspector* inspector, sievecloth_result* result) {
  return with_open(inspector, Access::changes, [&](Handle& it) {
    if (const Status status = check_struct(it, result); status != SIEVECLOTH_OK) return status;
    if (it.turned_away) {
      return fail(it, ErrorCode::handle_busy,
                  "two threads used this handle at a time, and readings were lost; measure the piece again");
    }
    Result<Assessment> assessment = it.inspector->finish();
    if (!assessment.ok()) return fail(it, assessment.errors());
    it.assessment = *std::move(assessment);
    result->verdict = static_cast<std::int32_t>(it.assessment->verdict);
    result->provisional = it.assessment->provisional ? 1 : 0;
    result->required_count = it.assessment->required ? it.assessment->required->count : -1;
    result->criterion_count = static_cast<std::int32_t>(it.assessment->criteria.size());
    result->all_measured = it.assessment->all_measured ? 1 : 0;
    return SIEVECLOTH_OK;
  });
}

sievecloth_status sievecloth_inspector_criterion(sievecloth_inspector* inspector, size_t index, sievecloth_criterion* criterion) {
  return with_begun(inspector, [&](Handle& it) {
    if (const Status status = check_struct(it, criterion); status != SIEVECLOTH_OK) return status;
    if (!it.assessment) return fail(it, ErrorCode::not_finished, "finish the piece first");
    if (index >= it.assessment->criteria.size()) return wrong_argument(it, "no criterion of this index");
    const Criterion& from = it.assessment->criteria[index];
    criterion->id = static_cast<std::int32_t>(from.id);
    criterion->direction = direction_number(from.direction);
    criterion->outcome = static_cast<std::int32_t>(from.outcome);
    criterion->firm =
        std::all_of(from.grounds.begin(), from.grounds.end(), [](const Ground& ground) { return ground.verified(); }) ? 1 : 0;
    criterion->n = from.n;
    criterion->reasons = reason_bits(from);
    criterion->observed_um = from.observed_um.value_or(k_undefined);
    criterion->lower_um = from.lower ? from.lower->um() : k_undefined;
    criterion->upper_um = from.upper ? from.upper->um() : k_no_upper_limit;
    criterion->margin_um = from.margin_um.value_or(k_no_margin);
    criterion->observed = from.observed.value_or(k_undefined);
    criterion->limit = from.limit.value_or(k_undefined);
    return SIEVECLOTH_OK;
  });
}

sievecloth_status sievecloth_inspector_save(sievecloth_inspector* inspector, uint8_t* bytes, size_t size) {
  static_assert(SIEVECLOTH_SNAPSHOT_SIZE == k_snapshot_size);
  return with_begun(inspector, [&](Handle& it) {
    if (bytes == nullptr) return null_argument(it);
    if (size < k_snapshot_size) return fail(it, ErrorCode::buffer_size, "a snapshot needs SIEVECLOTH_SNAPSHOT_SIZE bytes");
    Inspector inspector_now = *it.inspector;
    if (it.turned_away) inspector_now.record_lost_readings();
    const Snapshot snapshot = inspector_now.save();
    std::memcpy(bytes, snapshot.data(), snapshot.size());
    return SIEVECLOTH_OK;
  });
}

sievecloth_status sievecloth_inspector_restore(sievecloth_inspector* inspector, const sievecloth_options* options,
                                               const uint8_t* bytes, size_t size) {
  return with(inspector, Access::takes, [&](Handle& it) {
    close(it);
    if (bytes == nullptr) return null_argument(it);
    return begin(it, options, [&](const Specification& specification, const Conditions& conditions) {
      return Inspector::restore(specification, conditions, std::as_bytes(std::span(bytes, size)));
    });
  });
}
