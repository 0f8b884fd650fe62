#include "sievecloth/c/sievecloth.h"

#include <gtest/gtest.h>

#include <atomic>
#include <cmath>
#include <cstddef>
#include <limits>
#include <memory>
#include <string>
#include <thread>
#include <vector>

namespace {

struct Free {
  void operator()(sievecloth_inspector* inspector) const { sievecloth_inspector_free(inspector); }
};
using Handle = std::unique_ptr<sievecloth_inspector, Free>;

Handle new_handle() {
  sievecloth_inspector* inspector = nullptr;
  EXPECT_EQ(sievecloth_inspector_new(&inspector), SIEVECLOTH_OK);
  return Handle(inspector);
}

sievecloth_options no_200() {
  sievecloth_options options;
  sievecloth_options_init(&options);
  options.standard = "astm-e11-17";
  options.size = "No. 200";
  options.grade = "inspection";
  return options;
}

Handle begun(const sievecloth_options& options = no_200()) {
  Handle handle = new_handle();
  EXPECT_EQ(sievecloth_inspector_begin(handle.get(), &options), SIEVECLOTH_OK) << sievecloth_inspector_message(handle.get());
  return handle;
}

sievecloth_status add_um(const Handle& handle, const std::vector<double>& readings, int quantity = SIEVECLOTH_APERTURE,
                         int direction = SIEVECLOTH_WARP) {
  return sievecloth_inspector_add_um(handle.get(), quantity, direction, readings.data(), readings.size());
}

template <class Struct>
Struct with_size(void (*init)(Struct*)) {
  Struct made;
  init(&made);
  return made;
}

sievecloth_figures figures_of(const Handle& handle, int direction = SIEVECLOTH_WARP) {
  auto figures = with_size(sievecloth_figures_init);
  EXPECT_EQ(sievecloth_inspector_figures(handle.get(), SIEVECLOTH_APERTURE, direction, &figures), SIEVECLOTH_OK);
  return figures;
}

TEST(CInterface, StructsKeepTheirLayout) {
  // regression: the layout of ABI version 2 on 64-bit machines; a change raises SIEVECLOTH_ABI_VERSION
  static_assert(SIEVECLOTH_ABI_VERSION == 2 && sizeof(void*) == 8);
  EXPECT_EQ(sievecloth_abi_version(), 2);
  EXPECT_EQ(sizeof(sievecloth_options), 112);
  EXPECT_EQ(offsetof(sievecloth_options, grade), 24);
  EXPECT_EQ(offsetof(sievecloth_options, viewing), 32);
  EXPECT_EQ(offsetof(sievecloth_options, planned_warp), 48);
  EXPECT_EQ(offsetof(sievecloth_options, resolution_um), 64);
  EXPECT_EQ(offsetof(sievecloth_options, frame_mm), 80);
  EXPECT_EQ(offsetof(sievecloth_options, apertures_in_piece), 104);
  EXPECT_EQ(sizeof(sievecloth_figures), 56);
  EXPECT_EQ(offsetof(sievecloth_figures, mean_um), 24);
  EXPECT_EQ(sizeof(sievecloth_standing), 24);
  EXPECT_EQ(offsetof(sievecloth_standing, direction), 16);
  EXPECT_EQ(sizeof(sievecloth_result), 32);
  EXPECT_EQ(offsetof(sievecloth_result, required_count), 16);
  EXPECT_EQ(sizeof(sievecloth_criterion), 88);
  EXPECT_EQ(offsetof(sievecloth_criterion, n), 24);
  EXPECT_EQ(offsetof(sievecloth_criterion, limit), 80);
}

TEST(CInterface, NamesAreThoseOfJson) {
  // golden: first and last of each enumeration, as docs/cli.md has them; beyond them NULL
  EXPECT_STREQ(sievecloth_criterion_name(0), "viewing");
  EXPECT_STREQ(sievecloth_criterion_name(6), "wire-diameter");
  EXPECT_STREQ(sievecloth_reason_name(0), "no-readings");
  EXPECT_STREQ(sievecloth_reason_name(14), "readings-refused");
  EXPECT_STREQ(sievecloth_reason_name(17), "within-guard-band");
  EXPECT_STREQ(sievecloth_reason_name(21), "suspect-too-small");
  EXPECT_STREQ(sievecloth_reason_name(22), "too-few-different-wires");
  EXPECT_EQ(sievecloth_reason_name(23), nullptr);
  EXPECT_STREQ(sievecloth_verdict_name(SIEVECLOTH_DOES_NOT_CONFORM), "does-not-conform");
  EXPECT_STREQ(sievecloth_outcome_name(SIEVECLOTH_OUTCOME_NOT_APPLICABLE), "not-applicable");
  for (const auto name : {sievecloth_criterion_name, sievecloth_reason_name, sievecloth_verdict_name, sievecloth_outcome_name}) {
    EXPECT_EQ(name(-1), nullptr);
    EXPECT_EQ(name(100), nullptr);
  }
  ASSERT_GT(sievecloth_edition_count(), 0u);
  EXPECT_NE(sievecloth_edition_name(0), nullptr);
  EXPECT_EQ(sievecloth_edition_name(sievecloth_edition_count()), nullptr);
}

TEST(CInterface, NullIsAStatus) {
  // boundary: NULL for every parameter gives a status, or does nothing
  sievecloth_options_init(nullptr);
  sievecloth_inspector_free(nullptr);
  EXPECT_EQ(sievecloth_inspector_new(nullptr), SIEVECLOTH_NULL_ARGUMENT);
  EXPECT_STRNE(sievecloth_inspector_message(nullptr), "");
  const sievecloth_options options = no_200();
  auto result = with_size(sievecloth_result_init);
  auto standing = with_size(sievecloth_standing_init);
  auto figures = with_size(sievecloth_figures_init);
  auto criterion = with_size(sievecloth_criterion_init);
  std::vector<std::uint8_t> bytes(SIEVECLOTH_SNAPSHOT_SIZE);
  const Handle handle = begun();
  const Handle part = begun();
  sievecloth_inspector* parts[] = {part.get(), nullptr};
  EXPECT_EQ(sievecloth_inspector_begin(nullptr, &options), SIEVECLOTH_NULL_ARGUMENT);
  EXPECT_EQ(sievecloth_inspector_add_um(nullptr, 0, 0, nullptr, 0), SIEVECLOTH_NULL_ARGUMENT);
  EXPECT_EQ(sievecloth_inspector_add_um(handle.get(), 0, 0, nullptr, 1), SIEVECLOTH_NULL_ARGUMENT);
  EXPECT_EQ(sievecloth_inspector_add_um(handle.get(), 0, 0, nullptr, 0), SIEVECLOTH_OK);
  EXPECT_EQ(sievecloth_inspector_add_pm(handle.get(), 0, 0, nullptr, 1), SIEVECLOTH_NULL_ARGUMENT);
  EXPECT_EQ(sievecloth_inspector_record_viewing(nullptr, 1), SIEVECLOTH_NULL_ARGUMENT);
  EXPECT_EQ(sievecloth_inspector_merge(nullptr, parts, 1), SIEVECLOTH_NULL_ARGUMENT);
  EXPECT_EQ(sievecloth_inspector_merge(handle.get(), nullptr, 1), SIEVECLOTH_NULL_ARGUMENT);
  EXPECT_EQ(sievecloth_inspector_merge(handle.get(), parts, 2), SIEVECLOTH_NULL_ARGUMENT);
  EXPECT_EQ(sievecloth_inspector_standing(nullptr, &standing), SIEVECLOTH_NULL_ARGUMENT);
  EXPECT_EQ(sievecloth_inspector_standing(handle.get(), nullptr), SIEVECLOTH_NULL_ARGUMENT);
  EXPECT_EQ(sievecloth_inspector_figures(nullptr, 0, 0, &figures), SIEVECLOTH_NULL_ARGUMENT);
  EXPECT_EQ(sievecloth_inspector_figures(handle.get(), 0, 0, nullptr), SIEVECLOTH_NULL_ARGUMENT);
  EXPECT_EQ(sievecloth_inspector_finish(nullptr, &result), SIEVECLOTH_NULL_ARGUMENT);
  EXPECT_EQ(sievecloth_inspector_finish(handle.get(), nullptr), SIEVECLOTH_NULL_ARGUMENT);
  EXPECT_EQ(sievecloth_inspector_criterion(nullptr, 0, &criterion), SIEVECLOTH_NULL_ARGUMENT);
  EXPECT_EQ(sievecloth_inspector_save(handle.get(), nullptr, bytes.size()), SIEVECLOTH_NULL_ARGUMENT);
  EXPECT_EQ(sievecloth_inspector_restore(handle.get(), &options, nullptr, 0), SIEVECLOTH_NULL_ARGUMENT);
  EXPECT_EQ(sievecloth_inspector_begin(handle.get(), nullptr), SIEVECLOTH_NULL_ARGUMENT);
  EXPECT_STREQ(sievecloth_inspector_message(handle.get()), "an argument is NULL");
}

TEST(CInterface, WrongSizesAreRefused) {
  // boundary: a struct that was not initialised, or has another size, is not modified
  sievecloth_options options = no_200();
  const Handle handle = begun();
  for (const std::size_t size : {std::size_t{0}, sizeof options - 8, sizeof options + 8}) {
    options.struct_size = size;
    EXPECT_EQ(sievecloth_inspector_begin(handle.get(), &options), SIEVECLOTH_STRUCT_SIZE);
  }
  const sievecloth_options good = no_200();
  ASSERT_EQ(sievecloth_inspector_begin(handle.get(), &good), SIEVECLOTH_OK);
  auto result = with_size(sievecloth_result_init);
  result.struct_size = 1;
  result.verdict = 77;
  EXPECT_EQ(sievecloth_inspector_finish(handle.get(), &result), SIEVECLOTH_STRUCT_SIZE);
  EXPECT_EQ(result.verdict, 77);
  std::vector<std::uint8_t> bytes(SIEVECLOTH_SNAPSHOT_SIZE);
  EXPECT_EQ(sievecloth_inspector_save(handle.get(), bytes.data(), bytes.size() - 1), SIEVECLOTH_BUFFER_SIZE);
  EXPECT_EQ(sievecloth_inspector_save(handle.get(), bytes.data(), bytes.size()), SIEVECLOTH_OK);
  EXPECT_EQ(sievecloth_inspector_restore(handle.get(), &options, bytes.data(), bytes.size()), SIEVECLOTH_STRUCT_SIZE);
}

TEST(CInterface, EveryStepInItsTurn) {
  // boundary: nothing before begin, no reading after finish, no criterion before it; then the next piece
  const Handle handle = new_handle();
  auto result = with_size(sievecloth_result_init);
  auto criterion = with_size(sievecloth_criterion_init);
  auto standing = with_size(sievecloth_standing_init);
  EXPECT_EQ(add_um(handle, {75}), SIEVECLOTH_NOT_BEGUN);
  EXPECT_EQ(sievecloth_inspector_finish(handle.get(), &result), SIEVECLOTH_NOT_BEGUN);
  EXPECT_EQ(sievecloth_inspector_standing(handle.get(), &standing), SIEVECLOTH_NOT_BEGUN);
  const sievecloth_options options = no_200();
  for (int piece = 0; piece < 2; ++piece) {
    ASSERT_EQ(sievecloth_inspector_begin(handle.get(), &options), SIEVECLOTH_OK);
    EXPECT_EQ(figures_of(handle).n, 0);
    EXPECT_EQ(add_um(handle, {75, 76}), SIEVECLOTH_OK);
    EXPECT_EQ(sievecloth_inspector_criterion(handle.get(), 0, &criterion), SIEVECLOTH_NOT_FINISHED);
    EXPECT_EQ(sievecloth_inspector_finish(handle.get(), &result), SIEVECLOTH_OK);
    EXPECT_EQ(result.verdict, SIEVECLOTH_UNDECIDED);
    EXPECT_EQ(sievecloth_inspector_finish(handle.get(), &result), SIEVECLOTH_FINISHED);
    EXPECT_EQ(add_um(handle, {75}), SIEVECLOTH_FINISHED);
    EXPECT_EQ(sievecloth_inspector_record_viewing(handle.get(), 1), SIEVECLOTH_FINISHED);
    EXPECT_EQ(figures_of(handle).n, 2);
    ASSERT_EQ(result.criterion_count, 13);
    for (std::size_t i = 0; i < 13; ++i) EXPECT_EQ(sievecloth_inspector_criterion(handle.get(), i, &criterion), SIEVECLOTH_OK);
    EXPECT_EQ(sievecloth_inspector_criterion(handle.get(), 13, &criterion), SIEVECLOTH_WRONG_ARGUMENT);
    EXPECT_EQ(sievecloth_inspector_criterion(handle.get(), SIZE_MAX, &criterion), SIEVECLOTH_WRONG_ARGUMENT);
  }
}

TEST(CInterface, UndefinedNeverLooksGood) {
  // boundary: without readings every figure is above every limit; a refused reading is counted, and the status is that of the first
  const Handle handle = begun();
  const sievecloth_figures nothing = figures_of(handle);
  EXPECT_EQ(nothing.mean_um, HUGE_VAL);
  EXPECT_EQ(nothing.standard_deviation_um, HUGE_VAL);
  EXPECT_EQ(nothing.maximum_um, HUGE_VAL);
  EXPECT_EQ(add_um(handle, {75, -1, std::nan(""), 76, 1e12}), SIEVECLOTH_NOT_POSITIVE);
  EXPECT_STRNE(sievecloth_inspector_message(handle.get()), "");
  const sievecloth_figures figures = figures_of(handle);
  EXPECT_EQ(figures.n, 2);
  EXPECT_EQ(figures.refused, 3);
  EXPECT_EQ(figures.mean_um, 75.5);
  const std::int64_t pm[] = {std::numeric_limits<std::int64_t>::min(), std::numeric_limits<std::int64_t>::max(), 0, 75'000'000};
  EXPECT_EQ(sievecloth_inspector_add_pm(handle.get(), SIEVECLOTH_APERTURE, SIEVECLOTH_WARP, pm, 4), SIEVECLOTH_NOT_POSITIVE);
  EXPECT_EQ(figures_of(handle).n, 3);
  EXPECT_EQ(figures_of(handle).refused, 6);
}

TEST(CInterface, WrongNumbersAreAStatus) {
  // boundary: numbers outside the enumerations and options that contradict each other
  const Handle handle = begun();
  for (const int wrong : {-1, 3, 1'000'000}) {
    EXPECT_EQ(add_um(handle, {75}, wrong), SIEVECLOTH_WRONG_ARGUMENT);
    EXPECT_EQ(add_um(handle, {75}, SIEVECLOTH_APERTURE, wrong), SIEVECLOTH_WRONG_ARGUMENT);
  }
  const auto status = [&](auto change) {
    sievecloth_options options = no_200();
    change(options);
    const sievecloth_status answer = sievecloth_inspector_begin(handle.get(), &options);
    EXPECT_EQ(add_um(handle, {75}), answer == SIEVECLOTH_OK ? SIEVECLOTH_OK : SIEVECLOTH_NOT_BEGUN);
    return answer;
  };
  const double infinity = std::numeric_limits<double>::infinity();
  EXPECT_EQ(status([](auto&) {}), SIEVECLOTH_OK);
  EXPECT_EQ(status([](auto& o) { o.standard = nullptr; }), SIEVECLOTH_OPTION_MISSING);
  EXPECT_EQ(status([](auto& o) { o.size = nullptr; }), SIEVECLOTH_OPTION_MISSING);
  EXPECT_EQ(status([](auto& o) { o.standard = "astm-e11"; }), SIEVECLOTH_EDITION_MISSING);
  EXPECT_EQ(status([](auto& o) { o.standard = "\xff\xfe"; }), SIEVECLOTH_UNKNOWN_STANDARD);
  EXPECT_EQ(status([](auto& o) { o.size = "200"; }), SIEVECLOTH_AMBIGUOUS_SIZE);
  EXPECT_EQ(status([](auto& o) { o.size = "77 um"; }), SIEVECLOTH_UNKNOWN_SIZE);
  EXPECT_EQ(status([](auto& o) { o.grade = nullptr; }), SIEVECLOTH_GRADE_MISSING);
  EXPECT_EQ(status([](auto& o) { o.grade = "best"; }), SIEVECLOTH_UNKNOWN_GRADE);
  EXPECT_EQ(status([](auto& o) { o.standard = "iso-3310-1-1990", o.size = "75 um"; }), SIEVECLOTH_GRADE_NOT_IN_EDITION);
  EXPECT_EQ(status([](auto& o) { o.viewing = 3; }), SIEVECLOTH_OPTION_VALUE);
  EXPECT_EQ(status([](auto& o) { o.planned_warp = 10; }), SIEVECLOTH_OPTION_VALUE);
  EXPECT_EQ(status([](auto& o) { o.planned_warp = o.planned_weft = std::numeric_limits<std::int64_t>::max(); }),
            SIEVECLOTH_OPTION_VALUE);
  EXPECT_EQ(status([](auto& o) { o.resolution_um = -1; }), SIEVECLOTH_OPTION_VALUE);
  EXPECT_EQ(status([&](auto& o) { o.resolution_um = infinity; }), SIEVECLOTH_OPTION_VALUE);
  EXPECT_EQ(status([](auto& o) { o.frame = 1; }), SIEVECLOTH_OPTION_VALUE);
  EXPECT_EQ(status([](auto& o) { o.frame_mm = 200; }), SIEVECLOTH_OPTION_VALUE);
  EXPECT_EQ(status([&](auto& o) { o.frame = 1, o.frame_mm = std::nan(""); }), SIEVECLOTH_OPTION_VALUE);
  EXPECT_EQ(status([](auto& o) { o.roll_width_mm = 1000; }), SIEVECLOTH_OPTION_VALUE);
  EXPECT_EQ(status([](auto& o) { o.apertures_in_piece = 0; }), SIEVECLOTH_OPTION_VALUE);
  EXPECT_EQ(status([](auto& o) { o.all_apertures = 1; }), SIEVECLOTH_OPTION_MISSING);
  EXPECT_EQ(status([](auto& o) { o.frame = 2, o.frame_mm = 200, o.apertures_in_piece = 3; }), SIEVECLOTH_PIECE_CONTRADICTED);
}

TEST(CInterface, LongMessagesAreCutBetweenCharacters) {
  // boundary: a message longer than a handle can store
  const Handle handle = new_handle();
  sievecloth_options options = no_200();
  std::string size;
  for (int i = 0; i < 400; ++i) size += "\xC2\xB5";
  options.size = size.c_str();
  EXPECT_EQ(sievecloth_inspector_begin(handle.get(), &options), SIEVECLOTH_MALFORMED_SIZE);
  EXPECT_LT(std::string(sievecloth_inspector_message(handle.get())).size(), 512u);
}

TEST(CInterface, PartsAreMergedOnce) {
  // boundary: no part, itself, one part twice, a part not begun or of another size: a status, and nothing is merged
  const Handle total = begun();
  const Handle part = begun();
  const Handle idle = new_handle();
  sievecloth_options other_size = no_200();
  other_size.size = "No. 100";
  const Handle other = begun(other_size);
  ASSERT_EQ(add_um(part, {75}), SIEVECLOTH_OK);
  const auto merge = [&](std::vector<sievecloth_inspector*> parts) {
    return sievecloth_inspector_merge(total.get(), parts.data(), parts.size());
  };
  sievecloth_inspector* one[] = {part.get()};
  EXPECT_EQ(sievecloth_inspector_merge(total.get(), one, 0), SIEVECLOTH_WRONG_ARGUMENT);
  EXPECT_EQ(merge({total.get()}), SIEVECLOTH_WRONG_ARGUMENT);
  EXPECT_EQ(merge({part.get(), part.get()}), SIEVECLOTH_WRONG_ARGUMENT);
  EXPECT_EQ(merge({part.get(), idle.get()}), SIEVECLOTH_NOT_BEGUN);
  EXPECT_EQ(merge({part.get(), other.get()}), SIEVECLOTH_INSPECTORS_DIFFER);
  EXPECT_EQ(figures_of(total).n, 0);
  EXPECT_EQ(merge({part.get()}), SIEVECLOTH_OK);
  EXPECT_EQ(figures_of(total).n, 1);
}

TEST(CInterface, SecondThreadIsTurnedAway) {
  // property: with two threads on one handle, exactly the calls that returned OK are counted; if one was refused, the piece cannot
  // be finished
  const std::vector<double> readings(1000, 75.0);
  const Handle handle = begun();
  std::atomic<std::int64_t> taken{0};
  std::atomic<bool> busy{false};
  const auto work = [&] {
    for (int call = 0; call < 300; ++call) {
      const sievecloth_status status = add_um(handle, readings);
      if (status == SIEVECLOTH_OK) taken += 1000;
      if (status == SIEVECLOTH_HANDLE_BUSY) busy = true;
    }
  };
  std::thread one(work);
  std::thread two(work);
  one.join();
  two.join();
  EXPECT_EQ(figures_of(handle).n, taken);
  auto result = with_size(sievecloth_result_init);
  EXPECT_EQ(sievecloth_inspector_finish(handle.get(), &result), busy ? SIEVECLOTH_HANDLE_BUSY : SIEVECLOTH_OK);
}

TEST(CInterface, AFailedBeginClosesThePieceBefore) {
  // regression: after a failed begin or restore, the previous piece stayed open and received the readings of the next one
  std::vector<std::uint8_t> bytes(SIEVECLOTH_SNAPSHOT_SIZE);
  sievecloth_options short_struct = no_200();
  short_struct.struct_size = 8;
  sievecloth_options no_size = no_200();
  no_size.size = "77 um";
  const sievecloth_options good = no_200();
  const auto after = [&](auto call) {
    const Handle handle = begun();
    EXPECT_EQ(add_um(handle, {75}), SIEVECLOTH_OK);
    EXPECT_NE(call(handle.get()), SIEVECLOTH_OK);
    return add_um(handle, {150});
  };
  EXPECT_EQ(after([&](auto* it) { return sievecloth_inspector_begin(it, nullptr); }), SIEVECLOTH_NOT_BEGUN);
  EXPECT_EQ(after([&](auto* it) { return sievecloth_inspector_begin(it, &short_struct); }), SIEVECLOTH_NOT_BEGUN);
  EXPECT_EQ(after([&](auto* it) { return sievecloth_inspector_begin(it, &no_size); }), SIEVECLOTH_NOT_BEGUN);
  EXPECT_EQ(after([&](auto* it) { return sievecloth_inspector_restore(it, &good, nullptr, 0); }), SIEVECLOTH_NOT_BEGUN);
  EXPECT_EQ(after([&](auto* it) { return sievecloth_inspector_restore(it, nullptr, bytes.data(), bytes.size()); }),
            SIEVECLOTH_NOT_BEGUN);
  EXPECT_EQ(after([&](auto* it) { return sievecloth_inspector_restore(it, &short_struct, bytes.data(), bytes.size()); }),
            SIEVECLOTH_NOT_BEGUN);
  EXPECT_EQ(after([&](auto* it) { return sievecloth_inspector_restore(it, &good, bytes.data(), bytes.size()); }),
            SIEVECLOTH_NOT_BEGUN);
}

TEST(CInterface, WhoeverOnlyLooksLosesNoReadings) {
  // regression: a thread that called standing() while another added made `finish` report lost readings, and the adding thread was
  // refused; repeated until the two have collided
  const Handle handle = begun();
  const std::vector<double> readings(1'000'000, 75.0);
  std::atomic<bool> done{false};
  std::atomic<std::int64_t> turned_away{0};
  std::thread looks([&] {
    auto standing = with_size(sievecloth_standing_init);
    auto figures = with_size(sievecloth_figures_init);
    while (!done) {
      turned_away += sievecloth_inspector_standing(handle.get(), &standing) == SIEVECLOTH_HANDLE_BUSY ? 1 : 0;
      turned_away += sievecloth_inspector_figures(handle.get(), 0, 0, &figures) == SIEVECLOTH_HANDLE_BUSY ? 1 : 0;
    }
  });
  int refused = 0;
  for (int call = 0; call < 2000 && turned_away == 0; ++call) refused += add_um(handle, readings) != SIEVECLOTH_OK ? 1 : 0;
  done = true;
  looks.join();
  EXPECT_GT(turned_away, 0);
  EXPECT_EQ(refused, 0);
  auto result = with_size(sievecloth_result_init);
  EXPECT_EQ(sievecloth_inspector_finish(handle.get(), &result), SIEVECLOTH_OK);
}

TEST(CInterface, ASnapshotKeepsThatReadingsWereLost) {
  // regression: a piece that lost readings to a second thread could not be finished, but its restored snapshot conformed
  sievecloth_options options = no_200();
  options.viewing = SIEVECLOTH_VIEWING_PASSED;
  const Handle handle = begun(options);
  std::vector<double> readings(100'000, 75.0);
  for (const int direction : {SIEVECLOTH_WARP, SIEVECLOTH_WEFT}) {
    ASSERT_EQ(add_um(handle, readings, SIEVECLOTH_APERTURE, direction), SIEVECLOTH_OK);
    ASSERT_EQ(add_um(handle, std::vector<double>(10, 50.0), SIEVECLOTH_WIRE, direction), SIEVECLOTH_OK);
  }
  const auto restored_verdict = [&] {
    std::vector<std::uint8_t> bytes(SIEVECLOTH_SNAPSHOT_SIZE);
    EXPECT_EQ(sievecloth_inspector_save(handle.get(), bytes.data(), bytes.size()), SIEVECLOTH_OK);
    const Handle restored = new_handle();
    EXPECT_EQ(sievecloth_inspector_restore(restored.get(), &options, bytes.data(), bytes.size()), SIEVECLOTH_OK);
    auto result = with_size(sievecloth_result_init);
    EXPECT_EQ(sievecloth_inspector_finish(restored.get(), &result), SIEVECLOTH_OK);
    return result.verdict;
  };
  EXPECT_EQ(restored_verdict(), SIEVECLOTH_CONFORMS);
  std::atomic<bool> busy{false};
  const auto work = [&] {
    for (int call = 0; call < 2000 && !busy; ++call) {
      if (add_um(handle, readings) == SIEVECLOTH_HANDLE_BUSY) busy = true;
    }
  };
  std::thread one(work);
  std::thread two(work);
  one.join();
  two.join();
  ASSERT_TRUE(busy);
  EXPECT_EQ(restored_verdict(), SIEVECLOTH_UNDECIDED);
  auto result = with_size(sievecloth_result_init);
  EXPECT_EQ(sievecloth_inspector_finish(handle.get(), &result), SIEVECLOTH_HANDLE_BUSY);
  const Handle total = begun(options);
  sievecloth_inspector* part = handle.get();
  EXPECT_EQ(sievecloth_inspector_merge(total.get(), &part, 1), SIEVECLOTH_HANDLE_BUSY);
  EXPECT_EQ(figures_of(total).n, 0);
  EXPECT_EQ(sievecloth_inspector_finish(total.get(), &result), SIEVECLOTH_HANDLE_BUSY);  // the part's lost readings are missing
  // The next piece has lost nothing.
  ASSERT_EQ(sievecloth_inspector_begin(handle.get(), &options), SIEVECLOTH_OK);
  EXPECT_EQ(sievecloth_inspector_finish(handle.get(), &result), SIEVECLOTH_OK);
}

TEST(CInterface, AViewingThatWasTurnedAwayIsLostToo) {
  // regression: docs/c-abi.md: what a second thread passes in and is refused is lost, a failed visual examination above all
  const Handle handle = begun();
  const std::vector<double> readings(1'000'000, 75.0);
  std::atomic<bool> done{false};
  std::atomic<bool> turned_away{false};
  std::thread views([&] {
    while (!done && !turned_away) {
      if (sievecloth_inspector_record_viewing(handle.get(), SIEVECLOTH_VIEWING_FAILED) == SIEVECLOTH_HANDLE_BUSY)
        turned_away = true;
    }
  });
  for (int call = 0; call < 2000 && !turned_away; ++call) (void)add_um(handle, readings);
  done = true;
  views.join();
  ASSERT_TRUE(turned_away);
  auto result = with_size(sievecloth_result_init);
  EXPECT_EQ(sievecloth_inspector_finish(handle.get(), &result), SIEVECLOTH_HANDLE_BUSY);
}

TEST(CInterface, AnEmptyPieceHasNoMargin) {
  // regression: the margin of a piece without readings was +infinity, so that `margin_um >= 0` was true
  const Handle handle = begun();
  auto result = with_size(sievecloth_result_init);
  ASSERT_EQ(sievecloth_inspector_finish(handle.get(), &result), SIEVECLOTH_OK);
  for (std::size_t i = 0; i < static_cast<std::size_t>(result.criterion_count); ++i) {
    auto criterion = with_size(sievecloth_criterion_init);
    ASSERT_EQ(sievecloth_inspector_criterion(handle.get(), i, &criterion), SIEVECLOTH_OK);
    EXPECT_FALSE(criterion.margin_um >= 0) << i;
    EXPECT_FALSE(criterion.observed_um <= criterion.upper_um) << i;
  }
}

TEST(CInterface, WhatCouldNotBeTakenIsNotAccepted) {
  // regression: docs/c-abi.md: a caller who ignores the status of `add` never sees the piece accepted
  sievecloth_options options = no_200();
  options.viewing = SIEVECLOTH_VIEWING_PASSED;
  const double reading = 130;
  const auto verdict_after = [&](auto call) {
    const Handle handle = begun(options);
    for (const int direction : {SIEVECLOTH_WARP, SIEVECLOTH_WEFT}) {
      EXPECT_EQ(add_um(handle, std::vector<double>(100, 75.0), SIEVECLOTH_APERTURE, direction), SIEVECLOTH_OK);
      EXPECT_EQ(add_um(handle, std::vector<double>(10, 50.0), SIEVECLOTH_WIRE, direction), SIEVECLOTH_OK);
    }
    call(handle.get());
    auto result = with_size(sievecloth_result_init);
    EXPECT_EQ(sievecloth_inspector_finish(handle.get(), &result), SIEVECLOTH_OK);
    return result.verdict;
  };
  EXPECT_EQ(verdict_after([](auto*) {}), SIEVECLOTH_CONFORMS);
  EXPECT_EQ(verdict_after([&](auto* it) { sievecloth_inspector_add_um(it, SIEVECLOTH_APERTURE, 2, &reading, 1); }),
            SIEVECLOTH_UNDECIDED);
  EXPECT_EQ(verdict_after([&](auto* it) { sievecloth_inspector_add_um(it, 3, SIEVECLOTH_WARP, &reading, 1); }),
            SIEVECLOTH_UNDECIDED);
  EXPECT_EQ(verdict_after([&](auto* it) { sievecloth_inspector_add_um(it, SIEVECLOTH_APERTURE, SIEVECLOTH_WARP, nullptr, 5); }),
            SIEVECLOTH_UNDECIDED);
  EXPECT_EQ(verdict_after([&](auto* it) { sievecloth_inspector_add_um(it, SIEVECLOTH_APERTURE, SIEVECLOTH_WARP, nullptr, 0); }),
            SIEVECLOTH_CONFORMS);
}

TEST(CInterface, AnAnswerThatNeverCameDoesNotLookGood) {
  // regression: docs/c-abi.md: an undefined value never looks good, not even in a struct that no call has filled in
  EXPECT_EQ(with_size(sievecloth_result_init).verdict, SIEVECLOTH_UNDECIDED);
  EXPECT_EQ(with_size(sievecloth_criterion_init).outcome, SIEVECLOTH_OUTCOME_UNDECIDED);
  EXPECT_FALSE(with_size(sievecloth_criterion_init).margin_um >= 0);
  EXPECT_FALSE(with_size(sievecloth_figures_init).maximum_um <= 1e9);
  EXPECT_EQ(with_size(sievecloth_standing_init).criterion, -1);
}

TEST(CInterface, APieceWithoutAPartIsNotAccepted) {
  // regression: docs/c-abi.md: a merge that takes nothing loses its parts; whoever did not look at its status saw `conforms`
  sievecloth_options options = no_200();
  options.viewing = SIEVECLOTH_VIEWING_PASSED;
  sievecloth_options others = options;
  others.apertures_only = 1;
  const Handle part = begun(options), other = begun(others), fresh = new_handle();
  const std::vector<std::vector<sievecloth_inspector*>> lists = {
      {}, {nullptr}, {part.get(), part.get()}, {other.get()}, {fresh.get()}};
  for (const auto& parts : lists) {
    const Handle handle = begun(options);
    for (const int direction : {SIEVECLOTH_WARP, SIEVECLOTH_WEFT}) {
      add_um(handle, std::vector<double>(200, 75.0), SIEVECLOTH_APERTURE, direction);
      add_um(handle, std::vector<double>(200, 76.0), SIEVECLOTH_APERTURE, direction);
      add_um(handle, std::vector<double>(20, 50.0), SIEVECLOTH_WIRE, direction);
    }
    EXPECT_NE(sievecloth_inspector_merge(handle.get(), parts.data(), parts.size()), SIEVECLOTH_OK);
    auto result = with_size(sievecloth_result_init);
    ASSERT_EQ(sievecloth_inspector_finish(handle.get(), &result), SIEVECLOTH_OK);
    EXPECT_EQ(result.verdict, SIEVECLOTH_UNDECIDED) << parts.size();
  }
}

}  // namespace
