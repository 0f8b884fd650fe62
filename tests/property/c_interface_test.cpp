#include <gtest/gtest.h>

#include <bit>

#include "sievecloth/c/sievecloth.h"
#include "support/random_piece.hpp"

namespace sievecloth {
namespace {

struct CInspector {
  CInspector() { EXPECT_EQ(sievecloth_inspector_new(&handle), SIEVECLOTH_OK); }
  ~CInspector() { sievecloth_inspector_free(handle); }
  CInspector(const CInspector&) = delete;
  CInspector& operator=(const CInspector&) = delete;
  sievecloth_inspector* handle = nullptr;
};

bool same_bits(double a, double b) { return std::bit_cast<std::uint64_t>(a) == std::bit_cast<std::uint64_t>(b); }

// The interface's value for "undefined".
constexpr double k_none = std::numeric_limits<double>::infinity();

TEST(CInterfaceProperty, SameBitsAsCpp) {
  // property: through the C interface, one handle or two merged, with a snapshot in between, verdict and every figure are
  // bit-identical
  test::RandomPiece piece(66);
  for (int round = 0; round < 1000; ++round) {
    const Specification specification = piece.specification();
    const bool viewed = piece.chance(70);
    Conditions conditions;
    if (viewed) conditions.viewing_passed = true;
    conditions.apertures_only = piece.chance(40);
    if (piece.chance(40)) conditions.planned = {20, 30};
    sievecloth_options options;
    sievecloth_options_init(&options);
    options.standard = specification.edition->name.data();
    const std::string size(specification.row->designation.text());
    options.size = size.c_str();
    if (specification.grade) options.grade = to_text(*specification.grade).data();
    options.viewing = viewed ? SIEVECLOTH_VIEWING_PASSED : SIEVECLOTH_VIEWING_NOT_RECORDED;
    options.apertures_only = conditions.apertures_only ? 1 : 0;
    if (conditions.planned) options.planned_warp = 20, options.planned_weft = 30;

    Inspector one = Inspector::create(specification, conditions).value();
    Inspector two = one;
    CInspector c_one;
    CInspector c_two;
    ASSERT_EQ(sievecloth_inspector_begin(c_one.handle, &options), SIEVECLOTH_OK) << sievecloth_inspector_message(c_one.handle);
    ASSERT_EQ(sievecloth_inspector_begin(c_two.handle, &options), SIEVECLOTH_OK);
    const std::vector<test::Push> pushes = piece.readings(specification, piece.below(100));
    for (std::size_t i = 0; i < pushes.size(); ++i) {
      const auto& [quantity, direction, reading] = pushes[i];
      const bool first = i % 2 == 0;
      ASSERT_TRUE((first ? one : two).add(quantity, direction, reading));
      const std::int64_t pm = reading.pm();
      ASSERT_EQ(sievecloth_inspector_add_pm(first ? c_one.handle : c_two.handle, static_cast<std::int32_t>(quantity),
                                            static_cast<std::int32_t>(direction), &pm, 1),
                SIEVECLOTH_OK);
    }
    std::array<std::uint8_t, SIEVECLOTH_SNAPSHOT_SIZE> bytes{};
    ASSERT_EQ(sievecloth_inspector_save(c_one.handle, bytes.data(), bytes.size()), SIEVECLOTH_OK);
    ASSERT_TRUE(std::ranges::equal(std::as_bytes(std::span(bytes)), one.save()));
    ASSERT_EQ(sievecloth_inspector_restore(c_one.handle, &options, bytes.data(), bytes.size()), SIEVECLOTH_OK);
    ASSERT_TRUE(one.merge(two));
    ASSERT_EQ(sievecloth_inspector_merge(c_one.handle, &c_two.handle, 1), SIEVECLOTH_OK);

    sievecloth_standing standing;
    sievecloth_standing_init(&standing);
    ASSERT_EQ(sievecloth_inspector_standing(c_one.handle, &standing), SIEVECLOTH_OK);
    ASSERT_EQ(standing.rejected != 0, one.standing().rejected);
    sievecloth_result result;
    sievecloth_result_init(&result);
    ASSERT_EQ(sievecloth_inspector_finish(c_one.handle, &result), SIEVECLOTH_OK);
    const Assessment assessment = one.finish().value();
    ASSERT_EQ(result.verdict, static_cast<int>(assessment.verdict));
    ASSERT_EQ(result.provisional != 0, assessment.provisional);
    ASSERT_EQ(static_cast<std::size_t>(result.criterion_count), assessment.criteria.size());
    for (std::size_t i = 0; i < assessment.criteria.size(); ++i) {
      sievecloth_criterion got;
      sievecloth_criterion_init(&got);
      ASSERT_EQ(sievecloth_inspector_criterion(c_one.handle, i, &got), SIEVECLOTH_OK);
      const Criterion& expected = assessment.criteria[i];
      ASSERT_STREQ(sievecloth_criterion_name(got.id), to_text(expected.id).data());
      ASSERT_STREQ(sievecloth_outcome_name(got.outcome), to_text(expected.outcome).data());
      ASSERT_EQ(got.n, expected.n);
      ASSERT_EQ(std::popcount(got.reasons), static_cast<int>(expected.reasons.size()));
      for (const Reason reason : expected.reasons) ASSERT_NE(got.reasons >> static_cast<int>(reason) & 1, 0u);
      ASSERT_TRUE(same_bits(got.observed_um, expected.observed_um.value_or(k_none)));
      ASSERT_TRUE(same_bits(got.margin_um, expected.margin_um.value_or(-k_none)));
      ASSERT_TRUE(same_bits(got.observed, expected.observed.value_or(k_none)));
      ASSERT_TRUE(same_bits(got.limit, expected.limit.value_or(k_none)));
      ASSERT_TRUE(same_bits(got.lower_um, expected.lower ? expected.lower->um() : k_none));
      ASSERT_TRUE(same_bits(got.upper_um, expected.upper ? expected.upper->um() : -k_none));
    }
  }
}

}  // namespace
}  // namespace sievecloth
