// Geometry of square-mesh woven cloth: any two of aperture, wire, pitch and mesh count determine the others.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "sievecloth/edition.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// Known measures of a cloth: any two. Pitch and mesh count are equivalent and count as one.
struct ClothMeasures {
  std::optional<Length> aperture;       ///< w
  std::optional<Length> wire;           ///< d
  std::optional<Length> pitch;          ///< p = w + d
  std::optional<double> mesh_per_inch;  ///< openings in 25.4 mm
};

/// A cloth with the same pitch along warp and weft. Lengths are exact, or rounded once to the picometre if a mesh count was given.
struct Cloth {
  Length aperture;  ///< w
  Length wire;      ///< d
  Length pitch;     ///< p = w + d

  double mesh_per_inch() const noexcept;      ///< 25.4 mm / p
  double open_area_percent() const noexcept;  ///< 100 (w / p)^2
  double apertures_per_cm2() const noexcept;  ///< (1 cm / p)^2
};

/// Computes the remaining measures of a cloth.
/// Errors: option_missing (fewer than two of the four, or only pitch and mesh count); option_conflict (more than two that
/// contradict each other by more than a picometre, or measures that leave no aperture or no wire); option_value (a mesh count that
/// is not above 0).
Result<Cloth> complete_cloth(const ClothMeasures& measures);

/// How much longer a wire is than the cloth it runs through.
enum class Crimp : std::uint8_t {
  straight,  ///< no longer
  trade,     ///< 3 %, as in the trade's 12.7 d^2 / p kg/m2 for steel (unverified)
  plain,     ///< plain weave: a sine of period 2 p, peak to peak one wire diameter (computed)
  twill,     ///< 2/2 twill: the same rise once every two pitches, straight in between (computed)
};
/// All of them in their order.
inline constexpr std::array k_crimps{Crimp::straight, Crimp::trade, Crimp::plain, Crimp::twill};
/// `straight`, `trade`, `plain`, `twill`.
std::string_view to_text(Crimp crimp) noexcept;

/// Wire length per length of cloth, at least 1.
double crimp_factor(const Cloth& cloth, Crimp crimp);

/// Mass per area [kg/m2] for a wire density [kg/dm3]: density (pi / 2) d^2 / p, d and p in mm, times the crimp factor.
double mass_per_area(const Cloth& cloth, double density, Crimp crimp);

/// A wire material. The densities are unverified.
struct Alloy {
  std::string_view name;  ///< as on the command line: `304`
  double density;         ///< [kg/dm3]
};
/// The alloys known by name.
std::span<const Alloy> alloys() noexcept;

/// The standard size of an edition nearest to a cloth, by the ratio of the apertures.
struct NearestSize {
  const Edition* edition = nullptr;  ///< edition of the size
  const Row* row = nullptr;          ///< of that edition
  Length difference;                 ///< aperture - nominal
  bool mean_fits = false;            ///< a mean aperture of this length lies within the edition's limits
  bool wire_permitted = false;       ///< a mean wire of this diameter lies within the permitted range
};

/// Returns one size per edition, in the order given. An edition without rows is skipped.
std::vector<NearestSize> nearest_sizes(const Cloth& cloth, std::span<const Edition* const> editions);

}  // namespace sievecloth
