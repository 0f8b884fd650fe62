// The geometry of square woven cloth: from any two of aperture, wire, pitch and mesh count to all the others.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "sievecloth/edition.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// What is known of a cloth: two of these. Pitch and mesh count say the same, so they do not count as two.
struct ClothMeasures {
  std::optional<Length> aperture;       ///< w
  std::optional<Length> wire;           ///< d
  std::optional<Length> pitch;          ///< p = w + d
  std::optional<double> mesh_per_inch;  ///< openings in 25.4 mm
};

/// A cloth with the same pitch along warp and weft. Lengths are exact, or rounded once to the picometre where a mesh count was
/// given.
struct Cloth {
  Length aperture;  ///< w
  Length wire;      ///< d
  Length pitch;     ///< p = w + d

  double mesh_per_inch() const noexcept;      ///< 25.4 mm / p
  double open_area_percent() const noexcept;  ///< 100 (w / p)^2
  double apertures_per_cm2() const noexcept;  ///< (1 cm / p)^2
};

/// Completes a cloth. Errors: option_missing (not two of the four, or pitch and mesh count alone); option_conflict (more than two
/// that contradict each other by more than a picometre, or parts that leave no aperture or no wire); option_value (a mesh count
/// that is not above 0).
Result<Cloth> complete_cloth(const ClothMeasures& measures);

/// How much longer a wire is than the cloth it runs through.
enum class Crimp : std::uint8_t {
  straight,  ///< not at all
  trade,     ///< 3 %, the allowance in the trade's 12.7 d^2 / p kg/m2 for steel (from memory)
  plain,     ///< plain weave: a sine over two pitches, as high as one wire is thick (computed)
  twill,     ///< 2/2 twill: the same rise, once in two pitches, straight between (computed)
};
/// All of them in their order.
inline constexpr std::array k_crimps{Crimp::straight, Crimp::trade, Crimp::plain, Crimp::twill};
/// `straight`, `trade`, `plain`, `twill`.
std::string_view to_text(Crimp crimp) noexcept;

/// Length of wire for each length of cloth, at least 1.
double crimp_factor(const Cloth& cloth, Crimp crimp);

/// Mass of the cloth [kg/m2] for a density [kg/dm3]: density (pi / 2) d^2 / p, d and p in mm, times the crimp factor.
double mass_per_area(const Cloth& cloth, double density, Crimp crimp);

/// A material that cloth is woven from. The densities are from memory.
struct Alloy {
  std::string_view name;  ///< as on the command line: `304`
  double density;         ///< [kg/dm3]
};
/// The alloys known by name.
std::span<const Alloy> alloys() noexcept;

/// The standard size of an edition that a cloth comes nearest to, by the ratio of the apertures.
struct NearestSize {
  const Edition* edition = nullptr;  ///< whose size it is
  const Row* row = nullptr;          ///< of that edition
  Length difference;                 ///< aperture - nominal
  bool mean_fits = false;            ///< a mean aperture of this length lies within the edition's limits
  bool wire_permitted = false;       ///< a mean wire of this diameter lies within the permitted range
};

/// One for each edition, in their order. An edition without rows is left out.
std::vector<NearestSize> nearest_sizes(const Cloth& cloth, std::span<const Edition* const> editions);

}  // namespace sievecloth
