// Counts allocations, and makes the n-th one fail.
#include <gtest/gtest.h>

#include <array>
#include <atomic>
#include <cstdlib>
#include <new>

#include "sievecloth/c/sievecloth.h"
#include "support/random_piece.hpp"

namespace {

std::atomic<long> allocations{0};
std::atomic<long> alive{0};     // allocated and not yet freed
std::atomic<long> failing{-1};  // index of the next allocation to fail; negative: none

// Null if it fails.
void* allocate(std::size_t size) noexcept {
  ++allocations;
  if (failing >= 0 && failing-- == 0) return nullptr;
  void* memory = std::malloc(size > 0 ? size : 1);
  if (memory != nullptr) ++alive;
  return memory;
}

void* allocate_or_throw(std::size_t size) {
  if (void* memory = allocate(size)) return memory;
  throw std::bad_alloc();
}

void release(void* memory) noexcept {
  if (memory != nullptr) --alive;
  std::free(memory);
}

}  // namespace

void* operator new(std::size_t size) { return allocate_or_throw(size); }
void* operator new[](std::size_t size) { return allocate_or_throw(size); }
void* operator new(std::size_t size, const std::nothrow_t&) noexcept { return allocate(size); }
void operator delete(void* memory) noexcept { release(memory); }
void operator delete[](void* memory) noexcept { release(memory); }
void operator delete(void* memory, std::size_t) noexcept { release(memory); }
void operator delete[](void* memory, std::size_t) noexcept { release(memory); }

namespace sievecloth {
namespace {

TEST(Allocations, NoneOnTheHotPath) {
  // property: adding, refusing, merging, querying and saving allocate nothing, in any edition, with and without a plan
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
      failures += inspector.standing().rejected ? 1 : 0;
    }
    (void)inspector.merge(other);
    snapshot = inspector.save();
    const long after = allocations;
    ASSERT_EQ(after, before);
    ASSERT_GE(failures, 0);
    ASSERT_NE(snapshot, Snapshot{});
  }
}

/// Runs `body` with its n-th allocation failing, for n = 0, 1, ... until all of them succeed: `failed` checks each failure, no
/// allocation may leak, and the same call must then succeed. Result: the number of allocations made to fail.
template <class Body, class Failed>
int each_allocation_fails(Body body, Failed failed) {
  for (int n = 0; n < 1000; ++n) {
    const long before = alive;
    failing = n;
    const auto result = body();
    const bool all_allocated = failing.exchange(-1) >= 0;
    if (all_allocated) return n;
    EXPECT_TRUE(failed(result)) << n;
    EXPECT_EQ(alive, before) << n;
    EXPECT_FALSE(failed(body())) << n;
  }
  ADD_FAILURE() << "no end of allocations";
  return 0;
}

struct CPiece {
  sievecloth_inspector* inspector = nullptr;
  ~CPiece() { sievecloth_inspector_free(inspector); }
};

sievecloth_options c_options(const char* size) {
  sievecloth_options options;
  sievecloth_options_init(&options);
  options.standard = "iso-3310-1-2016";
  options.size = size;
  options.grade = "inspection";
  return options;
}

sievecloth_status run_c_piece(const sievecloth_options& options, const std::uint8_t* snapshot) {
  CPiece piece;
  sievecloth_status status = sievecloth_inspector_new(&piece.inspector);
  if (status == SIEVECLOTH_OK && snapshot == nullptr) status = sievecloth_inspector_begin(piece.inspector, &options);
  if (status == SIEVECLOTH_OK && snapshot != nullptr)
    status = sievecloth_inspector_restore(piece.inspector, &options, snapshot, SIEVECLOTH_SNAPSHOT_SIZE);
  const std::int64_t readings[] = {75'000'000, 76'000'000, 74'000'001};
  if (status == SIEVECLOTH_OK)
    status = sievecloth_inspector_add_pm(piece.inspector, SIEVECLOTH_APERTURE, SIEVECLOTH_WARP, readings, 3);
  sievecloth_result result;
  sievecloth_result_init(&result);
  return status == SIEVECLOTH_OK ? sievecloth_inspector_finish(piece.inspector, &result) : status;
}

TEST(Allocations, EachMayFailInC) {
  // property: whichever allocation in the life of a piece fails, even one that is refused or restored, the status reports it,
  // nothing leaks, and the next run succeeds
  const auto out_of_memory = [](sievecloth_status status) { return status == SIEVECLOTH_OUT_OF_MEMORY; };
  const sievecloth_options good = c_options("75 um");
  const sievecloth_options unknown = c_options("77 um");
  ASSERT_EQ(run_c_piece(good, nullptr), SIEVECLOTH_OK);
  ASSERT_EQ(run_c_piece(unknown, nullptr), SIEVECLOTH_UNKNOWN_SIZE);
  std::array<std::uint8_t, SIEVECLOTH_SNAPSHOT_SIZE> snapshot{};
  CPiece saved;
  ASSERT_EQ(sievecloth_inspector_new(&saved.inspector), SIEVECLOTH_OK);
  ASSERT_EQ(sievecloth_inspector_begin(saved.inspector, &good), SIEVECLOTH_OK);
  ASSERT_EQ(sievecloth_inspector_save(saved.inspector, snapshot.data(), snapshot.size()), SIEVECLOTH_OK);
  // The handle, the error or the criteria: more than one allocation was tried.
  EXPECT_GT(each_allocation_fails([&] { return run_c_piece(good, nullptr); }, out_of_memory), 3);
  EXPECT_GT(each_allocation_fails([&] { return run_c_piece(unknown, nullptr); }, out_of_memory), 3);
  EXPECT_GT(each_allocation_fails([&] { return run_c_piece(good, snapshot.data()); }, out_of_memory), 3);
  snapshot[100] ^= 1;
  ASSERT_EQ(run_c_piece(good, snapshot.data()), SIEVECLOTH_SNAPSHOT_DAMAGED);
  EXPECT_GT(each_allocation_fails([&] { return run_c_piece(good, snapshot.data()); }, out_of_memory), 1);
}

TEST(Allocations, EachMayFailInCpp) {
  // property: whichever allocation fails while an inspector is created, restored or finished, std::bad_alloc is thrown and nothing
  // leaks
  const Specification specification = specify(*find_edition("astm-e11-17").value(), "No. 200", Grade::inspection).value();
  Conditions impossible;
  impossible.planned = {-1, -1};
  const Snapshot snapshot = Inspector::create(specification, {}).value().save();
  const auto thrown = [](bool out_of_memory) { return out_of_memory; };
  const auto throws = [](auto work) {
    return [work] {
      try {
        (void)work();
        return false;
      } catch (const std::bad_alloc&) {
        return true;
      }
    };
  };
  EXPECT_GT(each_allocation_fails(throws([&] { return Inspector::create(specification, {}).value().finish().ok(); }), thrown), 3);
  EXPECT_GT(each_allocation_fails(throws([&] { return Inspector::create(specification, impossible).ok(); }), thrown), 1);
  EXPECT_GT(each_allocation_fails(throws([&] { return Inspector::restore(specification, {}, snapshot).ok(); }), thrown), 3);
}

}  // namespace
}  // namespace sievecloth
