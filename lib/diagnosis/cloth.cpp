#include "sievecloth/cloth.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/format.h>
#include <boost/math/special_functions/ellint_2.hpp>

#include "base/in_double.hpp"

namespace sievecloth {
namespace {

constexpr double k_inch_um = 25'400;
constexpr Length k_rounding = Length::from_pm(1);

Error cloth_error(ErrorCode code, std::string message, std::string expected) {
  return {code, std::move(message), "", std::move(expected), {}};
}

Result<std::optional<Length>> pitch_of(const ClothMeasures& measures) {
  if (!measures.mesh_per_inch) return measures.pitch;
  const double mesh = *measures.mesh_per_inch;
  if (!(mesh > 0) || !std::isfinite(mesh)) {
    return cloth_error(ErrorCode::option_value, "a mesh count must be above 0", "wires in an inch, such as 200");
  }
  const Result<Length> pitch = round_to_length(1 / mesh, Unit::inch);
  if (!pitch.ok()) return pitch.errors();
  if (measures.pitch && (*pitch - *measures.pitch > k_rounding || *measures.pitch - *pitch > k_rounding)) {
    return cloth_error(ErrorCode::option_conflict, "pitch and mesh count contradict each other", "25.4 mm / mesh count = pitch");
  }
  return std::optional(measures.pitch.value_or(*pitch));
}

double log_ratio(Length a, Length b) { return std::fabs(std::log(a.um() / b.um())); }

NearestSize nearest_size(const Cloth& cloth, const Edition& edition) {
  const auto row = std::min_element(edition.rows.begin(), edition.rows.end(), [&](const Row& a, const Row& b) {
    return log_ratio(a.nominal, cloth.aperture) < log_ratio(b.nominal, cloth.aperture);
  });
  return {&edition, &*row, cloth.aperture - row->nominal,
          row->smallest_mean() <= cloth.aperture && cloth.aperture <= row->largest_mean(),
          row->wire.minimum.value <= cloth.wire && cloth.wire <= row->wire.maximum.value};
}

// Length of a sine over one pitch, relative to the pitch. Its amplitude is half a wire: warp and weft touch where they cross.
double sine_length(const Cloth& cloth) {
  const double slope = std::numbers::pi / 2 * cloth.wire.um() / cloth.pitch.um();
  const double squared = slope * slope;
  return 2 / std::numbers::pi * std::sqrt(1 + squared) * boost::math::ellint_2(std::sqrt(squared / (1 + squared)), InDouble());
}

}  // namespace

double Cloth::mesh_per_inch() const noexcept { return k_inch_um / pitch.um(); }

double Cloth::open_area_percent() const noexcept {
  const double ratio = aperture.um() / pitch.um();
  return 100 * ratio * ratio;
}

double Cloth::apertures_per_cm2() const noexcept {
  const double per_cm = 1e4 / pitch.um();
  return per_cm * per_cm;
}

Result<Cloth> complete_cloth(const ClothMeasures& measures) {
  const Result<std::optional<Length>> pitch = pitch_of(measures);
  if (!pitch.ok()) return pitch.errors();
  if ((measures.aperture ? 1 : 0) + (measures.wire ? 1 : 0) + (pitch->has_value() ? 1 : 0) < 2) {
    return cloth_error(ErrorCode::option_missing, "a cloth is known by two of its measures",
                       "two of aperture, wire and pitch (or mesh count)");
  }
  Cloth cloth;
  cloth.aperture = measures.aperture ? *measures.aperture : **pitch - *measures.wire;
  cloth.wire = measures.wire ? *measures.wire : **pitch - cloth.aperture;
  cloth.pitch = cloth.aperture + cloth.wire;
  if (cloth.aperture <= Length() || cloth.wire <= Length()) {
    return cloth_error(ErrorCode::option_conflict, "these measures leave no aperture or no wire",
                       "aperture + wire = pitch, both above 0");
  }
  if (*pitch && (cloth.pitch - **pitch > k_rounding || **pitch - cloth.pitch > k_rounding)) {
    return cloth_error(ErrorCode::option_conflict, "aperture, wire and pitch contradict each other", "aperture + wire = pitch");
  }
  return cloth;
}

double crimp_factor(const Cloth& cloth, Crimp crimp) {
  switch (crimp) {
    case Crimp::straight: return 1;
    case Crimp::trade: return 1.03;
    case Crimp::plain: return sine_length(cloth);
    case Crimp::twill: break;
  }
  return (1 + sine_length(cloth)) / 2;
}

double mass_per_area(const Cloth& cloth, double density, Crimp crimp) {
  const double wire_mm = cloth.wire.um() / 1000;
  const double pitch_mm = cloth.pitch.um() / 1000;
  return density * std::numbers::pi / 2 * wire_mm * wire_mm / pitch_mm * crimp_factor(cloth, crimp);
}

std::span<const Alloy> alloys() noexcept {
  static constexpr std::array known{Alloy{"304", 7.93}, Alloy{"316", 7.98}, Alloy{"carbon-steel", 7.85},
                                    Alloy{"phosphor-bronze", 8.8}, Alloy{"brass", 8.5}};
  return known;
}

std::vector<NearestSize> nearest_sizes(const Cloth& cloth, std::span<const Edition* const> editions) {
  std::vector<NearestSize> sizes;
  for (const Edition* edition : editions) {
    if (!edition->rows.empty()) sizes.push_back(nearest_size(cloth, *edition));
  }
  return sizes;
}

}  // namespace sievecloth
