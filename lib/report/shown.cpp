#include "report/shown.hpp"

#include <algorithm>
#include <charconv>
#include <cstdlib>

#include <fmt/format.h>

#include "base/text.hpp"
#include "report/figures.hpp"

namespace sievecloth {
namespace {

constexpr int k_most_decimals = 12;  // beyond them a double has no digits left

bool is_small(const Assessment& assessment) { return assessment.specification.row->nominal < Length::of(1, Unit::millimetre); }

int decimals_in(std::string_view number) {
  const std::size_t mark = number.find('.');
  return mark == std::string_view::npos ? 0 : static_cast<int>(number.size() - mark - 1);
}

std::optional<CertifiedFigure> figure_of(CriterionId criterion) {
  switch (criterion) {
    case CriterionId::average_aperture: return CertifiedFigure::mean;
    case CriterionId::maximum_aperture: return CertifiedFigure::largest;
    case CriterionId::aperture_standard_deviation: return CertifiedFigure::standard_deviation;
    case CriterionId::wire_diameter: return CertifiedFigure::wire;
    default: return std::nullopt;
  }
}

}  // namespace

std::optional<double> expanded_uncertainty_um(const Assessment& assessment, const Criterion& criterion) {
  const std::optional<CertifiedFigure> figure = figure_of(criterion.id);
  if (!figure || !criterion.direction) return std::nullopt;
  const std::optional<Uncertainty>& known = assessment.uncertainty[*criterion.direction][*figure];
  if (!known || !known->complete) return std::nullopt;
  return known->expanded_um * criterion.factor.value_or(1);
}

Shown::Shown(const Assessment& assessment, const Words& words, std::span<const Reading> readings)
    : assessment_(assessment),
      words_(words),
      unit_(is_small(assessment) ? Unit::micrometre : Unit::millimetre),
      symbol_(is_small(assessment) ? k_um_symbol : std::string_view("mm")),
      um_per_unit_(is_small(assessment) ? 1 : 1000) {
  const auto note = [&](const std::optional<Length>& length) {
    if (length) decimals_read_ = std::max(decimals_read_, decimals_needed(*length));
  };
  for (const Direction direction : k_directions) {
    const DirectionSample& side = assessment.sample[direction];
    for (const Summary* summary : {&side.aperture, &side.wire, &side.suspect}) {
      if (summary->empty()) continue;
      note(summary->minimum());
      note(summary->maximum());
    }
  }
  for (const Reading& reading : readings) {
    note(reading.aperture);
    note(reading.wire);
  }
  const std::optional<Length>& resolution = assessment.conditions.resolution;
  decimals_resolution_ = resolution ? decimals_needed(*resolution) : decimals_read_;
  note(resolution);
}

int Shown::decimals_needed(Length length) const {
  int decimals = unit_ == Unit::micrometre ? 6 : 9;  // of a picometre
  for (std::int64_t pm = length.pm(); decimals > 0 && pm % 10 == 0; pm /= 10) --decimals;
  return decimals;
}

// On the limit only if it is, else on its side of it.
bool Shown::keeps_its_side(const Criterion& criterion, int decimals) const {
  const double value = *criterion.observed_um / um_per_unit_;
  const std::string text = fmt::format("{:.{}f}", value, decimals);
  double shown = 0;
  std::from_chars(text.data(), text.data() + text.size(), shown);
  const auto& of = criterion;
  const Length guard = criterion.guard.value_or(Length());  // four outcomes fail beyond the limit and the guard band
  const auto beyond = [&](const std::optional<Length>& limit, Length by) { return limit ? std::optional(*limit + by) : limit; };
  for (const std::optional<Length>& limit : {of.lower, of.upper, of.acceptance_lower, of.acceptance_upper,
                                             beyond(of.lower, Length() - guard), beyond(of.upper, guard)}) {
    if (!limit) continue;
    const double at = limit->um() / um_per_unit_;
    if ((value < at) != (shown < at) || (value > at) != (shown > at)) return false;
  }
  return true;
}

int Shown::least_decimals(const Criterion& criterion) const {
  if (criterion.id == CriterionId::maximum_aperture) return decimals_read_;
  if (const std::optional<double> expanded = expanded_uncertainty_um(assessment_, criterion))
    return decimals_in(rounded_up(*expanded / um_per_unit_));
  return decimals_resolution_ + 1;
}

int Shown::decimals_of(const Criterion& criterion) const {
  int decimals = least_decimals(criterion);
  while (decimals < k_most_decimals && criterion.observed_um && !keeps_its_side(criterion, decimals)) ++decimals;
  return decimals;
}

std::string Shown::fixed(double um, int decimals) const {
  return words_.number(fmt::format("{:.{}f}", um / um_per_unit_, decimals));
}

std::string Shown::observed(const Criterion& criterion) const { return fixed(*criterion.observed_um, decimals_of(criterion)); }

std::string Shown::figure(double um, CriterionId judged_by, Direction direction) const {
  for (const Criterion& criterion : assessment_.criteria) {
    if (criterion.id == judged_by && criterion.direction == direction) return fixed(um, decimals_of(criterion));
  }
  return figure(um);
}

std::string Shown::figure(double um) const { return fixed(um, decimals_resolution_ + 1); }

std::string Shown::uncertainty(double um) const { return words_.number(rounded_up(um / um_per_unit_)); }

std::string Shown::margin(const Criterion& criterion) const {
  const double margin = *criterion.margin_um / um_per_unit_;
  int decimals = decimals_of(criterion);
  const auto text = [&] { return fmt::format("{:+.{}f}", margin, decimals); };
  const auto vanished = [&] { return margin != 0 && text().find_first_of("123456789") == std::string::npos; };
  while (decimals < k_most_decimals && vanished()) ++decimals;
  return words_.number(text());
}

std::string Shown::acceptance(const Criterion& criterion, Length limit) const {
  const auto rounded = [](double value, int decimals) {
    return std::strtod(fmt::format("{:.{}f}", value, decimals).c_str(), nullptr);
  };
  const double at = limit.um() / um_per_unit_;
  int decimals = decimals_of(criterion);
  if (criterion.observed_um) {
    const double value = *criterion.observed_um / um_per_unit_, shown = rounded(value, decimals);
    const auto keeps_side = [&] {
      const double limit_shown = rounded(at, decimals);
      return (value < at) == (shown < limit_shown) && (value > at) == (shown > limit_shown);
    };
    while (decimals < decimals_needed(limit) && !keeps_side()) ++decimals;
  }
  return fixed(limit.um(), std::min(decimals, decimals_needed(limit)));
}

std::string Shown::reading(Length length) const { return fixed(length.um(), std::max(decimals_read_, decimals_needed(length))); }

std::string Shown::exact(Length length) const { return words_.number(to_text(length, unit_)); }

std::string Shown::quantity(Length length) const { return fmt::format("{} {}", exact(length), symbol_); }

std::string Shown::count(std::int64_t n) const { return fmt::format("{}", n); }

std::string Shown::share(double percent) const { return words_.number(fmt::format("{:.2f}", percent)); }

}  // namespace sievecloth
