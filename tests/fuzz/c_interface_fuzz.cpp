// The C interface: a sequence of calls decoded from bytes. In any order, statuses are known, what a status promises holds, and the
// verdict follows from the criteria.
#include <array>
#include <cmath>
#include <deque>
#include <set>
#include <vector>

#include "fuzz.hpp"
#include "sievecloth/c/sievecloth.h"

using namespace sievecloth::fuzz;

namespace {

constexpr std::size_t k_handles = 3;
const std::set<int> k_statuses{0,   101, 102, 110, 111, 112, 120, 121, 122, 130, 131, 132, 223, 224,
                               225, 241, 242, 401, 402, 403, 404, 405, 406, 408, 410, 411, 412, 420};

class Program {
 public:
  Program(const std::uint8_t* data, std::size_t size) : bytes_(data, size) {
    for (sievecloth_inspector*& handle : handles_) demand(sievecloth_inspector_new(&handle) == SIEVECLOTH_OK, "a new handle");
  }
  ~Program() {
    for (sievecloth_inspector* handle : handles_) sievecloth_inspector_free(handle);
  }

  void run() {
    while (!bytes_.empty()) step();
    sievecloth_inspector_free(nullptr);
  }

 private:
  // A status possible with a single thread, and a message that is terminated and printable.
  sievecloth_status known(sievecloth_inspector* handle, sievecloth_status status) {
    demand(k_statuses.contains(status), "a status that is documented");
    const char* message = sievecloth_inspector_message(handle);
    demand(message != nullptr && std::strlen(message) < 512, "a message that ends");
    demand_plain(message);
    if (handle != nullptr && status != SIEVECLOTH_OK) demand(*message != '\0', "a failure has a message");
    return status;
  }

  sievecloth_inspector* handle() {
    const std::uint32_t which = bytes_.below(16);
    return which == 15 ? nullptr : handles_[which % k_handles];
  }
  int32_t number() { return static_cast<int32_t>(bytes_.below(8)) - 2; }
  std::size_t size_of(std::size_t size) { return bytes_.below(16) == 15 ? bytes_.below(255) : size; }

  const char* text(std::initializer_list<const char*> known) {
    const std::uint32_t which = bytes_.below(24);
    if (which == 23) return nullptr;
    if (which < 20) return known.begin()[which % known.size()];
    texts_.push_back({});
    for (std::uint32_t length = bytes_.below(20); length > 0; --length)
      texts_.back() += static_cast<char>(bytes_.take<std::uint8_t>() | 1);
    return texts_.back().c_str();
  }

  sievecloth_options options() {
    sievecloth_options options;
    sievecloth_options_init(&options);
    options.struct_size = size_of(options.struct_size);
    options.standard = text({"astm-e11-17", "iso-3310-1-2016", "iso-3310-1-1990", "astm-e11-04"});
    options.size = text({"75um", "No. 200", "5.6 mm", "125 mm", "3/8 in.", "20um"});
    options.grade = text({"inspection", "calibration", "compliance", nullptr});
    options.viewing = number();
    const std::uint8_t flags = bytes_.take<std::uint8_t>();
    options.measured_only = flags & 1;
    options.apertures_only = flags & 2;
    options.only_seen = flags & 4;
    if ((flags & 8) != 0) options.planned_warp = options.planned_weft = number() + 3;
    if ((flags & 16) != 0) options.planned_weft = bytes_.take<std::int64_t>();
    if ((flags & 32) != 0) options.resolution_um = bytes_.take<double>();
    if ((flags & 64) != 0) {
      options.frame = number();
      options.frame_mm = bytes_.below(2) != 0 ? 200 : bytes_.take<double>();
    }
    if ((flags & 128) != 0) {
      options.roll_width_mm = 1000;
      options.roll_length_mm = bytes_.take<double>();
      options.apertures_in_piece = bytes_.take<std::int16_t>();
      options.all_apertures = number();
    }
    return options;
  }

  void add() {
    sievecloth_inspector* to = handle();
    const int32_t quantity = number(), direction = number();
    sievecloth_figures before, after;
    sievecloth_figures_init(&before);
    sievecloth_figures_init(&after);
    const bool counted = sievecloth_inspector_figures(to, quantity, direction, &before) == SIEVECLOTH_OK;
    std::size_t count = bytes_.below(6);
    sievecloth_status status;
    if (bytes_.below(2) == 0) {
      std::vector<std::int64_t> readings(count);
      for (std::int64_t& reading : readings) reading = bytes_.take<std::int32_t>();
      status = sievecloth_inspector_add_pm(to, quantity, direction, readings.data(), count);
    } else {
      std::vector<double> readings(count);
      for (double& reading : readings) reading = bytes_.below(2) != 0 ? 60 + bytes_.below(40) : bytes_.take<double>();
      status = sievecloth_inspector_add_um(to, quantity, direction, readings.data(), count);
    }
    known(to, status);
    if (!counted) return demand(status != SIEVECLOTH_OK, "nothing goes where nothing can be asked for");
    demand(sievecloth_inspector_figures(to, quantity, direction, &after) == SIEVECLOTH_OK, "figures can be asked for");
    if (status == SIEVECLOTH_OK) demand(after.refused == before.refused, "what was taken was not refused");
    if (status == SIEVECLOTH_FINISHED) demand(after.n == before.n, "a finished piece takes nothing");
    demand(after.n - before.n + after.refused - before.refused <= static_cast<std::int64_t>(count), "no reading counts twice");
    if (after.n > 0) {
      demand(after.minimum_um <= after.mean_um && after.mean_um <= after.maximum_um && after.minimum_um > 0,
             "the mean lies between");
    }
    demand(std::isinf(after.standard_deviation_um) == (after.n < 2), "one reading has no standard deviation");
  }

  void finish() {
    sievecloth_inspector* of = handle();
    sievecloth_standing standing;
    sievecloth_standing_init(&standing);
    const sievecloth_status standing_status = known(of, sievecloth_inspector_standing(of, &standing));
    sievecloth_result result;
    sievecloth_result_init(&result);
    result.struct_size = size_of(result.struct_size);
    if (known(of, sievecloth_inspector_finish(of, &result)) != SIEVECLOTH_OK) return;
    demand(standing_status == SIEVECLOTH_OK, "what can be finished has a standing");
    demand(sievecloth_verdict_name(result.verdict) != nullptr, "a verdict has a name");
    bool not_met = false, undecided = false;
    for (int32_t i = 0; i < result.criterion_count; ++i) {
      sievecloth_criterion criterion;
      sievecloth_criterion_init(&criterion);
      demand(sievecloth_inspector_criterion(of, static_cast<std::size_t>(i), &criterion) == SIEVECLOTH_OK,
             "a criterion can be asked for");
      demand(sievecloth_criterion_name(criterion.id) != nullptr, "a criterion has a name");
      not_met = not_met || criterion.outcome == SIEVECLOTH_OUTCOME_NOT_MET;
      undecided = undecided || criterion.outcome == SIEVECLOTH_OUTCOME_UNDECIDED;
      demand(
          criterion.outcome == SIEVECLOTH_OUTCOME_MET || criterion.outcome == SIEVECLOTH_OUTCOME_NOT_MET || criterion.reasons != 0,
          "what is left open has a reason");
    }
    if (result.verdict == SIEVECLOTH_CONFORMS) demand(!not_met && !undecided, "accepted only where everything is met");
    if (result.verdict == SIEVECLOTH_DOES_NOT_CONFORM) demand(not_met, "rejected only where something is not met");
    if (standing.rejected != 0) demand(not_met, "what was rejected is not met");
  }

  void save_and_restore() {
    sievecloth_inspector* from = handle();
    sievecloth_inspector* to = handle();
    std::vector<std::uint8_t> snapshot(size_of(SIEVECLOTH_SNAPSHOT_SIZE));
    known(from, sievecloth_inspector_save(from, snapshot.data(), snapshot.size()));
    const sievecloth_options given = options();
    if (bytes_.below(4) == 3 && !snapshot.empty())
      snapshot[bytes_.take<std::uint16_t>() % snapshot.size()] ^= bytes_.take<std::uint8_t>();
    const bool whole = snapshot.size() == SIEVECLOTH_SNAPSHOT_SIZE;
    const sievecloth_status status =
        known(to, sievecloth_inspector_restore(to, bytes_.below(16) == 15 ? nullptr : &given, snapshot.data(), snapshot.size()));
    demand(whole || status != SIEVECLOTH_OK, "a snapshot of another size is refused");
    if (status != SIEVECLOTH_OK || given.viewing != SIEVECLOTH_VIEWING_NOT_RECORDED) return;
    std::vector<std::uint8_t> again(SIEVECLOTH_SNAPSHOT_SIZE);
    demand(sievecloth_inspector_save(to, again.data(), again.size()) == SIEVECLOTH_OK && again == snapshot, "saved as restored");
  }

  void merge() {
    sievecloth_inspector* to = handle();
    std::array<sievecloth_inspector*, 4> parts{};
    const std::size_t count = bytes_.below(5);
    for (std::size_t i = 0; i < count; ++i) parts[i] = handle();
    known(to, sievecloth_inspector_merge(to, bytes_.below(16) == 15 ? nullptr : parts.data(), count));
  }

  void step() {
    switch (bytes_.below(8)) {
      case 0: {
        sievecloth_inspector* of = handle();
        const sievecloth_options given = options();
        known(of, sievecloth_inspector_begin(of, bytes_.below(16) == 15 ? nullptr : &given));
        break;
      }
      case 1:
      case 2:
      case 3: add(); break;
      case 4: finish(); break;
      case 5: save_and_restore(); break;
      case 6: merge(); break;
      default: {
        sievecloth_inspector* of = handle();
        known(of, sievecloth_inspector_record_viewing(of, number()));
        sievecloth_criterion criterion;
        sievecloth_criterion_init(&criterion);
        known(of, sievecloth_inspector_criterion(of, bytes_.take<std::uint8_t>(), &criterion));
        const int32_t any = bytes_.take<std::int32_t>();
        for (const char* name : {sievecloth_criterion_name(any), sievecloth_reason_name(any), sievecloth_verdict_name(any),
                                 sievecloth_outcome_name(any), sievecloth_edition_name(static_cast<std::size_t>(any))}) {
          if (name != nullptr) demand_plain(name);
        }
      }
    }
  }

  Bytes bytes_;
  std::array<sievecloth_inspector*, k_handles> handles_{};
  std::deque<std::string> texts_;  // with stable addresses
};

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  Program(data, size).run();
  return 0;
}
