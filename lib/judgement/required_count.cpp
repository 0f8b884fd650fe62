#include <algorithm>

#include "base/exact.hpp"
#include "judgement/grid.hpp"
#include "sievecloth/assessment.hpp"

namespace sievecloth {
namespace {

constexpr std::int64_t k_few_apertures = 20;  // a piece with no more is measured completely (ISO 3310-1:2016, 5.2)

int512 squared(Length length) { return int512(length.pm()) * length.pm(); }

std::int64_t ceiling(const int512& numerator, const int512& denominator) {
  return ((numerator + denominator - 1) / denominator).convert_to<std::int64_t>();
}

// n = n200 (D / 200 mm)^2, rounded up; a square frame by its area, with 4 / pi rounded up.
std::int64_t for_sieving_area(std::int64_t count, const Frame& frame) {
  const int512 reference = squared(Length::of(200, Unit::millimetre));
  const int512 area = squared(std::max(frame.size, k_smallest_frame));
  if (frame.shape == FrameShape::round) return ceiling(area * count, reference);
  const int512 four_by_pi = 12'732'395'447'351'627;  // times 10^16
  return ceiling(area * count * four_by_pi, reference * 10'000'000'000'000'000);
}

// The count is for 100 square feet; more cloth requires more, less cloth no less.
std::int64_t for_area_of_cloth(std::int64_t count, const Roll& roll) {
  const int512 hundred_square_feet = squared(Length::of(120, Unit::inch));  // 10 ft by 10 ft
  return std::max(count, ceiling(int512(roll.width.pm()) * roll.length.pm() * count, hundred_square_feet));
}

// Whether a mounted sieve or a roll has so few apertures, at the nominal pitch, that it is measured whole.
bool holds_few(const Piece& piece, const Row& row) {
  if (!piece.frame && !piece.roll) return false;
  const Length many = Length::from_pm(row.nominal.pm() * 2 * k_few_apertures);
  const Length across = piece.frame ? piece.frame->size - k_frame_allowance : std::min(piece.roll->width, piece.roll->length);
  if (across > many) return false;
  return count_apertures(row, piece) <= k_few_apertures;
}

void scale(RequiredCount& required, CountScale scale, const Piece& piece) {
  if (scale == CountScale::sieving_area && piece.frame) {
    required.count = for_sieving_area(required.count, *piece.frame);
    required.scaled = true;
  } else if (scale == CountScale::area_of_cloth && piece.roll) {
    required.count = for_area_of_cloth(required.count, *piece.roll);
    required.scaled = true;
  } else {
    required.size_assumed = scale != CountScale::fixed;
  }
}

}  // namespace

std::optional<RequiredCount> required_count(const Specification& specification, const Piece& piece,
                                            std::optional<std::int64_t> agreed) {
  const Grade grade = specification.lookup_grade();
  const std::optional<Count>& count = specification.row->counts[grade];
  if (!count && !agreed) return std::nullopt;
  RequiredCount required{.count = count ? count->value : *agreed};
  if (count) required.basis = count->basis;
  const bool is_small =
      piece.apertures_in_piece ? *piece.apertures_in_piece <= k_few_apertures : holds_few(piece, *specification.row);
  if (is_small && !count) required.basis = specification.edition->rules.counts.basis;  // of the rule, even if one was agreed
  required.all = required.count == k_all || is_small;
  if (required.all) {
    required.count = piece.apertures_in_piece.value_or(k_all);
  } else if (count) {
    scale(required, specification.edition->rules.counts.scale[grade], piece);
  }
  return required;
}

}  // namespace sievecloth
