#include <cmath>
#include <numbers>

#include <gtest/gtest.h>

#include "sievecloth/cloth.hpp"

namespace sievecloth {
namespace {

Length um(const char* text) { return parse_length(text, Unit::micrometre).value(); }
Length inch(const char* text) { return parse_length(text, Unit::inch).value(); }

Cloth woven(const char* aperture_um, const char* wire_um) {
  return complete_cloth({.aperture = um(aperture_um), .wire = um(wire_um)}).value();
}

TEST(ClothGeometry, OpenAreaAsPrinted) {
  // source: WHO International Pharmacopoeia, list of sieves: aperture, wire and open area in whole per cent
  struct Printed {
    const char *aperture, *wire;
    double percent;
  };
  for (const Printed& printed : {Printed{"2000", "900", 48}, Printed{"710", "450", 37}, Printed{"500", "315", 38},
                                 Printed{"355", "224", 38}, Printed{"250", "160", 37}, Printed{"180", "125", 35},
                                 Printed{"125", "90", 34}, Printed{"75", "50", 36}, Printed{"45", "32", 34}}) {
    EXPECT_EQ(std::round(woven(printed.aperture, printed.wire).open_area_percent()), printed.percent) << printed.aperture;
  }
}

TEST(ClothGeometry, CementSievesFromMeshCount) {
  // source: cement sieves of about 1900 as published: mesh per inch, wire and hole in inches, which agree to 2e-5 in
  struct Printed {
    double mesh;
    const char *wire, *hole;
  };
  for (const Printed& printed :
       {Printed{178, "0.00197", "0.00366"}, Printed{127, "0.00276", "0.00512"}, Printed{76, "0.00394", "0.00920"},
        Printed{50, "0.00881", "0.01119"}, Printed{30, "0.01214", "0.02119"}, Printed{20, "0.01899", "0.03101"},
        Printed{200, "0.0024", "0.0026"}, Printed{100, "0.0045", "0.0055"}}) {
    const Cloth cloth = complete_cloth({.wire = inch(printed.wire), .mesh_per_inch = printed.mesh}).value();
    EXPECT_NEAR(cloth.aperture.um(), inch(printed.hole).um(), 2e-5 * 25400) << printed.mesh;
  }
}

TEST(ClothGeometry, AnyTwoGiveTheSameCloth) {
  // identity: p = w + d and mesh = 25.4 mm / p; 125 um of pitch are 203.2 to the inch
  const Cloth known = woven("75", "50");
  EXPECT_EQ(known.pitch, um("125"));
  EXPECT_DOUBLE_EQ(known.mesh_per_inch(), 203.2);
  EXPECT_DOUBLE_EQ(known.apertures_per_cm2(), 6400);
  for (const ClothMeasures& measures :
       {ClothMeasures{.aperture = um("75"), .pitch = um("125")}, ClothMeasures{.wire = um("50"), .pitch = um("125")},
        ClothMeasures{.aperture = um("75"), .mesh_per_inch = 203.2}, ClothMeasures{.wire = um("50"), .mesh_per_inch = 203.2},
        ClothMeasures{.aperture = um("75"), .wire = um("50"), .pitch = um("125"), .mesh_per_inch = 203.2}}) {
    const Cloth cloth = complete_cloth(measures).value();
    EXPECT_EQ(cloth.aperture, known.aperture);
    EXPECT_EQ(cloth.wire, known.wire);
    EXPECT_EQ(cloth.pitch, known.pitch);
  }
}

TEST(ClothGeometry, RefusesWhatIsNoCloth) {
  // boundary: fewer than two dimensions, contradictions, no room left for the aperture
  const auto code = [](const ClothMeasures& measures) { return complete_cloth(measures).error().code; };
  EXPECT_EQ(code({.aperture = um("75")}), ErrorCode::option_missing);
  EXPECT_EQ(code({.pitch = um("125"), .mesh_per_inch = 203.2}), ErrorCode::option_missing);
  EXPECT_EQ(code({.pitch = um("126"), .mesh_per_inch = 203.2}), ErrorCode::option_conflict);
  EXPECT_EQ(code({.aperture = um("75"), .wire = um("50"), .pitch = um("126")}), ErrorCode::option_conflict);
  EXPECT_EQ(code({.wire = um("50"), .pitch = um("50")}), ErrorCode::option_conflict);
  EXPECT_EQ(code({.wire = um("50"), .mesh_per_inch = 0.0}), ErrorCode::option_value);
  EXPECT_EQ(code({.wire = um("50"), .mesh_per_inch = std::nan("")}), ErrorCode::option_value);
}

TEST(ClothMass, TradeConstantForSteel) {
  // source: the trade's 12.7 d^2 / p [kg/m2] for steel of 7.85 kg/dm3 (from memory), three digits
  const Cloth cloth = woven("600", "400");
  EXPECT_NEAR(mass_per_area(cloth, 7.85, Crimp::trade) / (0.4 * 0.4 / 1.0), 12.7, 0.005);
}

TEST(ClothMass, CrimpLengthens) {
  // oracle: the length of the sine by 200,000 chords; a twill crosses half as often
  const Cloth cloth = woven("75", "50");
  double length = 0;
  constexpr int steps = 200'000;
  const auto height = [](int i) { return 25 * std::cos(std::numbers::pi * i / steps); };
  for (int i = 0; i < steps; ++i) length += std::hypot(125.0 / steps, height(i + 1) - height(i));
  EXPECT_NEAR(crimp_factor(cloth, Crimp::plain), length / 125, 1e-9);
  EXPECT_NEAR(crimp_factor(cloth, Crimp::twill), (1 + length / 125) / 2, 1e-9);
  EXPECT_EQ(crimp_factor(cloth, Crimp::straight), 1);
}

}  // namespace
}  // namespace sievecloth
