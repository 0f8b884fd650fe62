// property: on cloth from a simulated loom, with fixed seeds: good cloth is flagged at most 5 % of the time, each fault of the
// stated size is detected at least 90 % of the time
#include "sievecloth/weave.hpp"

#include <algorithm>
#include <map>
#include <ostream>
#include <set>

#include <gtest/gtest.h>

#include "sievecloth/plan.hpp"
#include "support/judging.hpp"
#include "support/loom.hpp"
#include "support/observed.hpp"
#include "support/reference_data.hpp"

namespace sievecloth {
namespace {

using test::Loom;
using test::normal;
using Fault = std::function<double(int)>;

Length um(double value) { return round_to_length(value, Unit::micrometre).value(); }

const WeaveConditions k_conditions{um(125), um(4.1), um(7.5), true};

/// Offset added to the i-th aperture or wire of a direction.
struct Faults {
  Fault warp, weft, warp_wire, weft_wire;
};

std::vector<Reading> cloth(const Loom& loom, std::uint64_t seed, const Faults& faults = {}) {
  RandomEngine engine(seed);
  std::vector<Reading> readings;
  const std::vector<double> warp = loom.apertures(engine, faults.warp);
  test::weave(readings, Direction::warp, warp, loom.wire_diameters(engine, faults.warp_wire));
  const std::vector<double> weft = loom.apertures(engine, faults.weft);
  test::weave(readings, Direction::weft, weft, loom.wire_diameters(engine, faults.weft_wire));
  return readings;
}

Weave signs_of(const std::vector<Reading>& readings, const WeaveConditions& conditions) {
  const ObservationSettings settings{.pitch = conditions.pitch, .keep_order = conditions.contiguous};
  return find_signs(test::observed(readings, settings), conditions);
}

bool flagged(const Weave& weave, SignKind kind, ClothQuantity quantity = ClothQuantity::aperture) {
  return std::any_of(weave.signs.begin(), weave.signs.end(),
                     [&](const Sign& sign) { return sign.kind == kind && sign.quantity == quantity && sign.flagged; });
}

using Make = std::function<std::vector<Reading>(const Loom&, std::uint64_t)>;

// Share of 60 cloths in which a sign of this kind is found.
double found(SignKind kind, const Loom& loom, const Make& make, ClothQuantity quantity = ClothQuantity::aperture) {
  constexpr int k_cloths = 60;
  int count = 0;
  for (std::uint64_t seed = 1; seed <= k_cloths; ++seed)
    count += flagged(signs_of(make(loom, seed), k_conditions), kind, quantity) ? 1 : 0;
  return static_cast<double>(count) / k_cloths;
}

double found_in_wires(SignKind kind, const Loom& loom, const Make& make) { return found(kind, loom, make, ClothQuantity::wire); }

/// How good cloth was measured.
enum class Measured { in_order, at_random, as_planned, several_in_a_gap, in_fields };

struct Good {
  Loom loom;
  Measured measured = Measured::in_order;
  double alike = 0;  ///< in_fields: correlation within a field

  friend void PrintTo(const Good& good, std::ostream* out) {
    *out << good.loom.gaps << " gaps, " << good.loom.wires << " wires, steps of " << good.loom.step << ", " << good.alike << " alike";
  }
};

/// The common part of the readings in one gap or field, in standard deviations.
struct Common {
  double aperture, wire;
  explicit Common(RandomEngine& engine) : aperture(normal(engine)), wire(normal(engine)) {}
};

// One reading of whose variance the fraction `share` is the `common` part of its gap or field.
Reading reading_of(const Loom& loom, Direction direction, const Common& common, double share, bool wire, RandomEngine& engine) {
  const auto drawn = [&](double middle, double spread, double shared) {
    const double value = middle + spread * (std::sqrt(share) * shared + std::sqrt(1 - share) * normal(engine));
    return um(std::round(value / loom.step) * loom.step);
  };
  Reading reading;
  reading.direction = direction;
  reading.aperture = drawn(loom.aperture, loom.spread(), common.aperture);
  if (wire) reading.wire = drawn(loom.wire, loom.wire_spread, common.wire);
  return reading;
}

void place(Reading& reading, double across_um, double along_um) {
  reading.x = um(reading.direction == Direction::warp ? across_um : along_um);
  reading.y = um(reading.direction == Direction::warp ? along_um : across_um);
}

// At the positions chosen by `plan` on an 8 in. sieve: a few gaps hold two of the readings.
std::vector<Reading> planned_cloth(const Good& good, std::uint64_t seed) {
  const Specification size = test::specification("astm-e11-17", "No. 200", Grade::inspection);
  const Plan plan = make_plan(size, {.frame = Frame{FrameShape::round, Length::of(8, Unit::inch)}}, {.method = PlanMethod::scattered, .seed = seed}).value();
  RandomEngine engine(seed);
  std::map<std::pair<Direction, Length>, Common> gaps;
  std::vector<Reading> readings;
  for (const PlannedReading& planned : plan.readings) {
    if (planned.field > good.loom.gaps) continue;
    const Length across = planned.direction == Direction::warp ? planned.y : planned.x;
    const Common& common = gaps.try_emplace({planned.direction, across}, engine).first->second;
    readings.push_back(reading_of(good.loom, planned.direction, common, 0.98, planned.wire, engine));
    readings.back().x = planned.x;
    readings.back().y = planned.y;
  }
  return readings;
}

std::vector<Reading> good_cloth(const Good& good, std::uint64_t seed) {
  if (good.measured == Measured::in_order) return cloth(good.loom, seed);
  if (good.measured == Measured::as_planned) return planned_cloth(good, seed);
  RandomEngine engine(seed);
  std::vector<Reading> readings;
  const int each = good.measured == Measured::at_random ? 1 : good.measured == Measured::several_in_a_gap ? 5 : 12;
  const double share = good.measured == Measured::several_in_a_gap ? 0.98 : good.alike;
  for (const Direction direction : k_directions) {
    Common common(engine);
    for (int i = 0; i < good.loom.gaps; ++i) {
      if (i % each == 0) common = Common(engine);
      Reading reading = reading_of(good.loom, direction, common, share, i < good.loom.wires, engine);
      reading.line = static_cast<std::int64_t>(readings.size()) + 2;
      if (good.measured == Measured::at_random) place(reading, 190'000 * uniform_unit(engine), 190'000 * uniform_unit(engine));
      if (good.measured == Measured::several_in_a_gap) place(reading, 125.0 * (i % each), 125.0 * (i / each));
      if (good.measured == Measured::in_fields) reading.field = std::to_string(i / each);
      readings.push_back(reading);
    }
  }
  return readings;
}

class GoodCloth : public testing::TestWithParam<Good> {};

TEST_P(GoodCloth, IsFlaggedAtMostOneTimeInTwenty) {
  // property: at most 20 of 400 good cloths have any sign at all
  constexpr int k_cloths = 400;
  WeaveConditions conditions = k_conditions;
  conditions.contiguous = GetParam().measured == Measured::in_order;
  int alarms = 0;
  for (std::uint64_t seed = 1; seed <= k_cloths; ++seed) {
    const Weave weave = signs_of(good_cloth(GetParam(), seed), conditions);
    const bool alarm = std::any_of(weave.signs.begin(), weave.signs.end(), [](const Sign& sign) { return sign.flagged; });
    alarms += alarm ? 1 : 0;
  }
  EXPECT_LE(alarms, k_cloths / 20);
}

INSTANTIATE_TEST_SUITE_P(FromAReed, GoodCloth,
                         testing::Values(Good{}, Good{{.misplaced = 2.8, .own = 0.3}}, Good{{.misplaced = 0, .own = 3.5}},
                                         Good{{.step = 1}}, Good{{.gaps = 40}}, Good{{.gaps = 20}},
                                         Good{{.misplaced = 2.8, .own = 0.3, .gaps = 40}}));
INSTANTIATE_TEST_SUITE_P(WithPlaces, GoodCloth,
                         testing::Values(Good{{}, Measured::at_random}, Good{{.step = 1, .gaps = 20}, Measured::at_random},
                                         Good{{.step = 1}, Measured::at_random},
                                         Good{{.step = 1, .gaps = 100}, Measured::as_planned},
                                         Good{{.gaps = 125}, Measured::several_in_a_gap},
                                         Good{{.step = 1, .gaps = 125, .wires = 125}, Measured::several_in_a_gap}));
INSTANTIATE_TEST_SUITE_P(InFields, GoodCloth,
                         testing::Values(Good{{.gaps = 120}, Measured::in_fields}, Good{{.gaps = 240}, Measured::in_fields, 0.3},
                                         Good{{.step = 1, .gaps = 240, .wires = 240}, Measured::in_fields, 0.9}));

TEST(Faults, DisplacedReedDents) {
  // property: alternating wide and narrow openings, by 0.8 standard deviations either way
  EXPECT_GE(found(SignKind::alternation, {},
                  [](const Loom& loom, std::uint64_t seed) {
                    return cloth(loom, seed, {.weft = [&](int i) { return (i % 2 == 0 ? 0.8 : -0.8) * loom.spread(); }});
                  }),
            0.9);
}

TEST(Faults, PeriodicBars) {
  // property: a wave of 0.8 standard deviations over 11 gaps
  EXPECT_GE(found(SignKind::periodic, {},
                  [](const Loom& loom, std::uint64_t seed) {
                    return cloth(loom, seed,
                                 {.warp = [&](int i) { return 0.8 * loom.spread() * std::sin(2 * std::acos(-1.0) * i / 11); }});
                  }),
            0.9);
}

TEST(Faults, Drift) {
  // property: 2 standard deviations from one side to the other
  EXPECT_GE(found(SignKind::drift, {},
                  [](const Loom& loom, std::uint64_t seed) {
                    return cloth(loom, seed, {.warp = [&](int i) { return 2 * loom.spread() * i / loom.gaps; }});
                  }),
            0.9);
}

TEST(Faults, SlowWave) {
  // property: a wave of 1.2 standard deviations, one and a half times over the readings
  EXPECT_GE(found(SignKind::slow_wave, {},
                  [](const Loom& loom, std::uint64_t seed) {
                    return cloth(loom, seed,
                                 {.warp = [&](int i) {
                                    return 1.2 * loom.spread() * std::sin(3 * std::acos(-1.0) * i / loom.gaps);
                                  }});
                  }),
            0.9);
}

TEST(Faults, DisplacedWire) {
  // property: one wire out of its place by 6 standard deviations of an aperture
  EXPECT_GE(found(SignKind::displaced_wire, {},
                  [](const Loom& loom, std::uint64_t seed) {
                    return cloth(loom, seed,
                                 {.weft = [&](int i) { return i == 42 ? 6 * loom.spread() : i == 43 ? -6 * loom.spread() : 0; }});
                  }),
            0.9);
}

TEST(Faults, Curvature) {
  // property: the edges of the piece wider than its middle by 3 standard deviations, read at random places
  EXPECT_GE(found(SignKind::curvature, {},
                  [](const Loom& loom, std::uint64_t seed) {
                    std::vector<Reading> readings = good_cloth({loom, Measured::at_random}, seed);
                    for (Reading& reading : readings) {
                      const double from_middle = reading.x->um() / 95'000 - 1;
                      reading.aperture = *reading.aperture + um(3 * loom.spread() * from_middle * from_middle);
                    }
                    return readings;
                  }),
            0.9);
}

TEST(Faults, SpreadsDiffer) {
  // property: apertures along the warp with a standard deviation 1.8 times that along the weft
  EXPECT_GE(found(SignKind::spread_difference, {},
                  [](const Loom& loom, std::uint64_t seed) {
                    std::vector<Reading> readings = cloth(loom, seed);
                    for (Reading& reading : readings) {
                      if (reading.direction == Direction::warp) reading.aperture = um(75 + 1.8 * (reading.aperture->um() - 75));
                    }
                    return readings;
                  }),
            0.9);
}

TEST(Faults, DirectionsDiffer) {
  // property: warp and weft apart by 0.8 standard deviations
  EXPECT_GE(found(SignKind::direction_difference, {},
                  [](const Loom& loom, std::uint64_t seed) {
                    return cloth(loom, seed, {.warp = [&](int) { return 0.8 * loom.spread(); }});
                  }),
            0.9);
}

TEST(Faults, TwoPopulations) {
  // property: two equal halves, 4 standard deviations apart
  EXPECT_GE(found(SignKind::two_populations, {},
                  [](const Loom& loom, std::uint64_t seed) {
                    return cloth(loom, seed,
                                 {.warp = [&](int i) { return i * 7 % 11 < 5 ? 2 * loom.spread() : -2 * loom.spread(); }});
                  }),
            0.9);
}

TEST(Faults, Outliers) {
  // property: two apertures wider by 7 standard deviations
  EXPECT_GE(found(SignKind::outliers, {},
                  [](const Loom& loom, std::uint64_t seed) {
                    return cloth(loom, seed, {.warp = [&](int i) { return i == 30 || i == 71 ? 7 * loom.spread() : 0; }});
                  }),
            0.9);
}

TEST(Faults, NotNormal) {
  // property: a long tail: every aperture is widened by an exponential variate whose mean is three standard deviations
  EXPECT_GE(found(SignKind::not_normal, {.gaps = 250},
                  [](const Loom& loom, std::uint64_t seed) {
                    RandomEngine engine(seed + 1000);
                    return cloth(loom, seed, {.warp = [&](int) { return -3 * loom.spread() * std::log(uniform_unit(engine)); }});
                  }),
            0.9);
}

TEST(Faults, NotNormalInSteps) {
  // property: likewise by five standard deviations, in steps of 1 um, at random positions: some gaps hold two readings
  EXPECT_GE(found(SignKind::not_normal, {.wire_spread = 2, .step = 1, .gaps = 250},
                  [](const Loom& loom, std::uint64_t seed) {
                    RandomEngine engine(seed + 1000);
                    std::vector<Reading> readings =
                        cloth(loom, seed, {.warp = [&](int) { return -5 * loom.spread() * std::log(uniform_unit(engine)); }});
                    for (Reading& reading : readings)
                      place(reading, 190'000 * uniform_unit(engine), 190'000 * uniform_unit(engine));
                    return readings;
                  }),
            0.9);
}

TEST(Faults, OneValueTooOften) {
  // property: a quarter of the readings set to one value
  EXPECT_GE(found(SignKind::one_value, {.step = 1},
                  [](const Loom& loom, std::uint64_t seed) {
                    std::vector<Reading> readings = cloth(loom, seed);
                    for (std::size_t i = 0; i < readings.size(); i += 4) readings[i].aperture = um(76);
                    return readings;
                  }),
            0.9);
}

TEST(FaultsOfWires, DirectionsDiffer) {
  // property: weft wires thicker than warp wires by 4 standard deviations, 3.2 um; ten wires in each direction
  EXPECT_GE(found_in_wires(SignKind::direction_difference, {.wires = 10},
                           [](const Loom& loom, std::uint64_t seed) {
                             return cloth(loom, seed, {.warp_wire = [&](int) { return 4 * loom.wire_spread; }});
                           }),
            0.9);
}

TEST(FaultsOfWires, Outlier) {
  // property: one wire of thirty thicker by 7 standard deviations
  EXPECT_GE(found_in_wires(SignKind::outliers, {},
                           [](const Loom& loom, std::uint64_t seed) {
                             return cloth(loom, seed, {.weft_wire = [&](int i) { return i == 11 ? 7 * loom.wire_spread : 0; }});
                           }),
            0.9);
}

TEST(FaultsOfWires, TwoPopulations) {
  // property: two lots of wire, 5 standard deviations apart, among sixty wires
  EXPECT_GE(found_in_wires(SignKind::two_populations, {.wires = 60},
                           [](const Loom& loom, std::uint64_t seed) {
                             return cloth(loom, seed, {.warp_wire = [&](int i) {
                                            return i * 7 % 11 < 5 ? 2.5 * loom.wire_spread : -2.5 * loom.wire_spread;
                                          }});
                           }),
            0.9);
}

TEST(FaultsOfWires, Drift) {
  // property: a worn die: fifty wires grow by 4 standard deviations from the first to the last
  EXPECT_GE(found_in_wires(SignKind::drift, {.wires = 50},
                           [](const Loom& loom, std::uint64_t seed) {
                             return cloth(loom, seed, {.warp_wire = [&](int i) { return 4 * loom.wire_spread * i / loom.wires; }});
                           }),
            0.9);
}

TEST(Faults, StepWiderThanTheSpread) {
  // boundary: readings in steps of 5 um over a spread of 3.5 um
  const Weave weave = signs_of(cloth({.wire_spread = 2, .step = 5}, 1), k_conditions);
  EXPECT_TRUE(flagged(weave, SignKind::coarse_step));
  EXPECT_FALSE(flagged(signs_of(cloth({.wire_spread = 2, .step = 1}, 1), k_conditions), SignKind::coarse_step));
  // regression: differences below the step of wires read to 1 um come from the instrument and are no sign of a fault
  const Weave fine = signs_of(cloth({.wire_spread = 0.5, .step = 1}, 1), k_conditions);
  EXPECT_FALSE(flagged(fine, SignKind::coarse_step, ClothQuantity::wire));
}

TEST(Weave, GroupsOfVeryDifferentSizeAreNotCompared) {
  // regression: means of 1 to 60 readings are not equally precise, and good cloth was flagged 42 % of the time
  RandomEngine engine(8);
  std::vector<Reading> readings;
  for (int gap = 0; gap < 20; ++gap) {
    for (int i = 0; i < (gap % 2 == 0 ? 1 : 60); ++i) {
      Reading& reading = readings.emplace_back();
      reading.aperture = um(75 + 3 * normal(engine));
      reading.gap = 3 * gap;
    }
  }
  for (const Sign& sign : signs_of(readings, k_conditions).signs) {
    const bool shape = sign.kind == SignKind::outliers || sign.kind == SignKind::not_normal || sign.kind == SignKind::two_populations;
    if (shape && sign.quantity == ClothQuantity::aperture && sign.direction == Direction::warp) {
      EXPECT_EQ(sign.not_tested, NotTested::unequal_groups);
    }
  }
}

TEST(Faults, BarsThatDoNotDivideTheReadings) {
  // regression: bars of 16 gaps, 12.5 of them among 200, were found a third as often as bars of 20
  EXPECT_GE(found(SignKind::periodic, {.gaps = 200},
                  [](const Loom& loom, std::uint64_t seed) {
                    return cloth(loom, seed,
                                 {.warp = [&](int i) { return 0.8 * loom.spread() * std::sin(2 * std::acos(-1.0) * i / 16); }});
                  }),
            0.9);
}

TEST(Weave, ASlowChangeIsNoBar) {
  // boundary: a line and a step over the whole piece are drift or two populations; what recurs three times is a bar
  const std::function<bool(const Fault&)> barred = [](const Fault& fault) {
    return flagged(signs_of(cloth({}, 1, {.warp = fault}), k_conditions), SignKind::periodic);
  };
  EXPECT_FALSE(barred([](int i) { return i * 0.2; }));
  EXPECT_FALSE(barred([](int i) { return i < 55 ? -7.0 : 7.0; }));
  EXPECT_TRUE(barred([](int i) { return i / 18 % 2 == 0 ? -7.0 : 7.0; }));
}

TEST(Weave, FieldsCountOnce) {
  // boundary: 240 readings in 20 fields count as 20 values, whether or not they agree within a field; fields have no order, even if
  // the readings are declared consecutive
  for (const double alike : {0.0, 0.9}) {
    const std::vector<Reading> readings = good_cloth({{.gaps = 240}, Measured::in_fields, alike}, 1);
    for (const bool contiguous : {false, true}) {
      WeaveConditions conditions = k_conditions;
      conditions.contiguous = contiguous;
      for (const Sign& sign : signs_of(readings, conditions).signs) {
        if (sign.quantity != ClothQuantity::aperture || !sign.direction) continue;
        if (sign.kind == SignKind::outliers || sign.kind == SignKind::not_normal || sign.kind == SignKind::two_populations) {
          EXPECT_EQ(sign.n, 20) << to_text(sign.kind);
        }
        if (sign.kind == SignKind::coarse_step) {
          EXPECT_EQ(sign.n, 240);
        }
        if (sign.kind == SignKind::alternation || sign.kind == SignKind::slow_wave || sign.kind == SignKind::drift) {
          EXPECT_EQ(sign.not_tested, NotTested::not_in_order) << to_text(sign.kind);
        }
      }
    }
  }
}

TEST(Weave, ASmallEffectInABigSampleIsNoFault) {
  // boundary: a drift of 0.8 um over 20,000 gaps is significant but below Y / 4 = 1.025 um; one of 1.4 um is a sign
  const auto drift_of = [](double range) {
    const Loom loom{.gaps = 20'000};
    const Weave weave = signs_of(cloth(loom, 1, {.warp = [&](int i) { return range * i / loom.gaps; }}), k_conditions);
    return *std::find_if(weave.signs.begin(), weave.signs.end(), [](const Sign& sign) {
      return sign.kind == SignKind::drift && sign.direction == Direction::warp && sign.quantity == ClothQuantity::aperture;
    });
  };
  EXPECT_LT(drift_of(0.8).p_value, 1e-9);
  EXPECT_FALSE(drift_of(0.8).flagged);
  EXPECT_TRUE(drift_of(1.4).flagged);
}

TEST(Weave, TheLevelIsSharedByBothDirectionsAndQuantities) {
  // identity: 5 % over nine tests of each quantity in each direction and two between the directions, if all can be made; positions
  // add one more, the curvature
  EXPECT_DOUBLE_EQ(signs_of(cloth({.wires = 80}, 1), k_conditions).level, 0.05 / 40);
  EXPECT_DOUBLE_EQ(signs_of(cloth({.wires = 0}, 1), k_conditions).level, 0.05 / 20);
  std::vector<Reading> placed = cloth({.wires = 0}, 1);
  for (std::size_t i = 0; i < placed.size(); ++i) place(placed[i], 0, 125.0 * static_cast<double>(i % 110));
  EXPECT_DOUBLE_EQ(signs_of(placed, k_conditions).level, 0.05 / 22);
}

TEST(Weave, StepsOfOneMicrometreAreNoFault) {
  // regression: readings in whole micrometres fail Anderson-Darling although the cloth is normal
  const Weave weave = signs_of(cloth({.misplaced = 0.5, .own = 0.5, .step = 1, .gaps = 1000}, 3), k_conditions);
  EXPECT_FALSE(flagged(weave, SignKind::not_normal));
}

TEST(Weave, AnOutlierKeepsItsLineWhereAFewGapsHoldTwoReadings) {
  // regression: two readings in one gap removed the line numbers from all others
  std::vector<Reading> readings = good_cloth({{.step = 1}, Measured::at_random}, 1);
  std::set<std::int64_t> gaps;
  for (std::size_t i = 0; i < 110; ++i) gaps.insert(readings[i].y->pm() / 125'000'000);
  ASSERT_LT(gaps.size(), 110u);
  ASSERT_GT(gaps.size(), 90u);
  readings[40].aperture = um(110);
  for (const Sign& sign : signs_of(readings, k_conditions).signs) {
    if (sign.kind != SignKind::outliers || sign.direction != Direction::warp || sign.quantity != ClothQuantity::aperture) continue;
    EXPECT_EQ(sign.values_um, std::vector<double>{110});
    EXPECT_EQ(sign.lines, std::vector<std::int64_t>{readings[40].line});
  }
}

TEST(Weave, OrderIsTestedOnlyWhereItIsKnown) {
  // boundary: unless declared contiguous, nothing is tested in order; positions one pitch apart show contiguity, whatever the order
  // in the file
  std::vector<Reading> readings = cloth({}, 1, {.weft = [](int i) { return i % 2 == 0 ? 4.0 : -4.0; }});
  WeaveConditions unordered = k_conditions;
  unordered.contiguous = false;
  for (const Sign& sign : signs_of(readings, unordered).signs) {
    const bool in_order = sign.kind == SignKind::alternation || sign.kind == SignKind::periodic || sign.kind == SignKind::drift ||
                          sign.kind == SignKind::slow_wave || sign.kind == SignKind::displaced_wire;
    if (in_order) {
      EXPECT_EQ(sign.not_tested, NotTested::not_in_order);
    }
  }
  for (std::size_t i = 0; i < readings.size(); ++i) {
    const auto gap = static_cast<double>(i % 110);
    readings[i].x = um(readings[i].direction == Direction::weft ? gap * 125 : 0);
    readings[i].y = um(readings[i].direction == Direction::warp ? gap * 125 : 0);
  }
  std::reverse(readings.begin(), readings.end());
  EXPECT_TRUE(flagged(signs_of(readings, unordered), SignKind::alternation));
}

TEST(Weave, ReadingsOfOneGapCountOnce) {
  // boundary: fifty readings in each of twenty gaps count as twenty values, and a single wide gap is one outlier, not fifty
  std::vector<Reading> readings;
  RandomEngine engine(5);
  for (int gap = 0; gap < 20; ++gap) {
    const double wide = 75 + 3 * normal(engine);
    for (int i = 0; i < 50; ++i) {
      Reading reading;
      reading.direction = Direction::warp;
      reading.aperture = um(wide + 0.1 * normal(engine));
      reading.x = um(i * 125);
      reading.y = um(gap * 250);
      readings.push_back(reading);
    }
  }
  for (const Sign& sign : signs_of(readings, k_conditions).signs) {
    if (sign.direction == Direction::warp && sign.kind == SignKind::drift && sign.quantity == ClothQuantity::aperture) {
      EXPECT_EQ(sign.n, 20);
    }
  }
}

TEST(Weave, UndefinedIsSaid) {
  // boundary: no readings, two readings, equal readings: nothing is flagged, and every test states why it was not made
  for (const int count : {0, 2, 50}) {
    std::vector<Reading> readings;
    for (int i = 0; i < count; ++i) {
      Reading reading;
      reading.direction = i % 2 == 0 ? Direction::warp : Direction::weft;
      reading.aperture = um(75);
      readings.push_back(reading);
    }
    const Weave weave = signs_of(readings, k_conditions);
    EXPECT_EQ(weave.signs.size(), 48u);
    for (const Sign& sign : weave.signs) {
      EXPECT_TRUE(sign.not_tested) << to_text(sign.kind);
      EXPECT_FALSE(sign.flagged);
      const bool measured = count > 0 && sign.quantity == ClothQuantity::aperture;
      EXPECT_EQ(sign.not_tested == NotTested::not_measured, !measured) << to_text(sign.kind);
    }
  }
}

TEST(Weave, WarpAgainstWeftAsWelchDid) {
  // oracle: Welch's test in R (tests/support/statistics.R): the first 40 and the last 60 of GEAR, here in um. Small and large values
  // take turns: readings that followed each other alike would count less
  const std::vector<std::string> gear = test::reference_column("GEAR.DAT", 25);
  std::vector<Reading> readings;
  for (const Direction direction : k_directions) {
    const auto middle = gear.begin() + 40;
    std::vector<std::string> values(direction == Direction::warp ? gear.begin() : middle,
                                    direction == Direction::warp ? middle : gear.end());
    std::sort(values.begin(), values.end());
    for (std::size_t i = 0; i < values.size(); ++i) {
      Reading reading;
      reading.direction = direction;
      reading.aperture = parse_length(values[i % 2 == 0 ? i / 2 : values.size() - 1 - i / 2], Unit::micrometre).value();
      readings.push_back(reading);
    }
  }
  for (const Sign& sign : signs_of(readings, {um(2), um(1), um(1), false}).signs) {
    if (sign.kind != SignKind::direction_difference || sign.quantity != ClothQuantity::aperture) continue;
    const std::vector<double> expected = test::second_opinion("welch GEAR");
    EXPECT_NEAR(sign.statistic, std::fabs(expected[0]), 1e-9);
    EXPECT_NEAR(sign.p_value, expected[2], 1e-9);
  }
}

}  // namespace
}  // namespace sievecloth
