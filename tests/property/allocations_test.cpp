// Counts what is allocated, and lets the n-th allocation fail.
#include <gtest/gtest.h>

#include <atomic>
#include <cstdlib>
#include <new>

#include "sievecloth/c/sievecloth.h"
#include "support/random_piece.hpp"

namespace {

std::atomic<long> allocations{0};
std::atomic<long> failing{-1};  // which allocation from now on fails; none below 0

void* allocate(std::size_t size) {
  ++allocations;
  if (failing >= 0 && failing-- == 0) throw std::bad_alloc();
  if (void* memory = std::malloc(size > 0 ? size : 1)) return memory;
  throw std::bad_alloc();
}

}  // namespace

void* operator new(std::size_t size) { return allocate(size); }
void* operator new[](std::size_t size) { return allocate(size); }
void operator delete(void* memory) noexcept { std::free(memory); }
void operator delete[](void* memory) noexcept { std::free(memory); }
void operator delete(void* memory, std::size_t) noexcept { std::free(memory); }
void operator delete[](void* memory, std::size_t) noexcept { std::free(memory); }

namespace sievecloth {
namespace {

TEST(Allocations, NoneOnTheHotPath) {
  // property: adding, refusing, merging, asking and saving allocate nothing, in any edition, with and without a plan
  test::RandomPiece piece(65);
  for (int round = 0; round < 200; ++round) {
    const Specification specification = piece.specification();
    Conditions conditions = piece.conditions();
    if (piece.chance(50)) conditions.planned = {30, 40};
    Inspector inspector = Inspector::create(specification, conditions).value();
    Inspector other = inspector;
    const std::vector<test::Push> pushes = piece.readings(specification, 100);
    const std::vector<double> in_um{75, 76.5, -1, 1e99, 74};
    Snapshot snapshot{};
    int failures = 0;
    const long before = allocations;
    for (const auto& [quantity, direction, reading] : pushes) {
      (void)inspector.add(quantity, direction, reading);
      (void)other.add(quantity, direction, in_um, Unit::micrometre);
      failures += inspector.standing().failed_for_good ? 1 : 0;
    }
    (void)inspector.merge(other);
    snapshot = inspector.save();
    const long after = allocations;
    ASSERT_EQ(after, before);
    ASSERT_GE(failures, 0);
    ASSERT_NE(snapshot, Snapshot{});
  }
}

struct CPiece {
  sievecloth_inspector* inspector = nullptr;
  ~CPiece() { sievecloth_inspector_free(inspector); }
};

sievecloth_status run_piece(CPiece& piece, const sievecloth_options& options, const std::vector<std::int64_t>& readings,
                            sievecloth_result& result) {
  sievecloth_status status = sievecloth_inspector_new(&piece.inspector);
  if (status == SIEVECLOTH_OK) status = sievecloth_inspector_begin(piece.inspector, &options);
  if (status == SIEVECLOTH_OK)
    status = sievecloth_inspector_add_pm(piece.inspector, SIEVECLOTH_APERTURE, SIEVECLOTH_WARP, readings.data(), readings.size());
  if (status == SIEVECLOTH_OK) status = sievecloth_inspector_finish(piece.inspector, &result);
  return status;
}

TEST(Allocations, EachMayFail) {
  // property: whichever allocation of a piece's life fails, also of one that is refused, the status says so, and the next run
  // succeeds
  sievecloth_options good;
  sievecloth_options_init(&good);
  good.standard = "iso-3310-1-2016";
  good.size = "75 um";
  good.grade = "inspection";
  sievecloth_options unknown = good;
  unknown.size = "77 um";
  const std::vector<std::int64_t> readings{75'000'000, 76'000'000, 74'000'001};
  sievecloth_result result;
  sievecloth_result_init(&result);
  for (const auto& [options, end] : {std::pair(&good, SIEVECLOTH_OK), std::pair(&unknown, SIEVECLOTH_UNKNOWN_SIZE)}) {
    int failed = 0;
    for (;; ++failed) {
      ASSERT_LT(failed, 1000);
      CPiece piece;
      failing = failed;
      const sievecloth_status status = run_piece(piece, *options, readings, result);
      const bool all_allocated = failing >= 0;
      failing = -1;
      if (all_allocated) {
        EXPECT_EQ(status, end);
        break;
      }
      ASSERT_EQ(status, SIEVECLOTH_OUT_OF_MEMORY) << failed;
      CPiece again;
      ASSERT_EQ(run_piece(again, *options, readings, result), end);
    }
    EXPECT_GT(failed, 3);  // the handle, the error or the criteria: more than one place was tried
  }
}

}  // namespace
}  // namespace sievecloth
