#include "diagnosis/gaps.hpp"

#include <algorithm>
#include <numeric>
#include <string_view>
#include <unordered_map>

#include <boost/math/distributions/fisher_f.hpp>

#include "base/in_double.hpp"
#include "sievecloth/sampling.hpp"

namespace sievecloth {
namespace {

// The coordinate along which the gaps of a direction follow each other.
const std::vector<double>& across(const std::vector<double>& x, const std::vector<double>& y, Direction direction) {
  return direction == Direction::warp ? y : x;
}

std::vector<std::int32_t> number_gaps(const std::vector<double>& places, double pitch_um) {
  std::vector<std::size_t> order(places.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return places[a] < places[b]; });
  std::vector<std::int32_t> gaps(places.size());
  std::int32_t gap = -1;
  double begin = 0;  // start of the gap, so that a gap cannot grow from reading to reading
  for (const std::size_t i : order) {
    if (gap < 0 || places[i] - begin > pitch_um / 2) {
      ++gap;
      begin = places[i];
    }
    gaps[i] = gap;
  }
  return gaps;
}

std::vector<std::int32_t> number_fields(const std::vector<std::string_view>& fields) {
  std::unordered_map<std::string_view, std::int32_t> known;
  std::vector<std::int32_t> numbers;
  numbers.reserve(fields.size());
  for (const std::string_view field : fields)
    numbers.push_back(known.try_emplace(field, static_cast<std::int32_t>(known.size())).first->second);
  return numbers;
}

// True if the readings within a field are more alike than those of different fields: a liberal test, since errors here cost little.
bool fields_differ(const Gathered& gathered) {
  constexpr double k_level = 0.2;
  const std::optional<OneWay> analysis = one_way(gathered.values, gathered.group);
  if (!analysis || !(analysis->between_square > 0)) return false;
  if (!(analysis->within_square > 0)) return true;
  const boost::math::fisher_f_distribution<double, InDouble> f(static_cast<double>(analysis->between_freedom),
                                                               static_cast<double>(analysis->within_freedom));
  return cdf(complement(f, analysis->f())) < k_level;
}

std::vector<double> means_of(const std::vector<double>& values, const std::vector<std::int32_t>& group, std::size_t count) {
  std::vector<double> means(count);
  std::vector<double> sizes(count);
  for (std::size_t i = 0; i < values.size(); ++i) {
    const auto at = static_cast<std::size_t>(group[i]);
    sizes[at] += 1;
    means[at] += (values[i] - means[at]) / sizes[at];
  }
  return means;
}

void take_first(Units& units, const Gathered& gathered) {
  units.first.resize(units.values.size());
  units.lines.resize(units.values.size());
  for (std::size_t i = gathered.values.size(); i-- > 0;) {  // backwards, so that the first reading prevails
    const auto at = static_cast<std::size_t>(gathered.group[i]);
    units.first[at] = gathered.values[i];
    units.lines[at] = gathered.lines[i];
  }
}

}  // namespace

Gathered gather(std::span<const Reading> readings, Direction direction, ClothQuantity quantity, Length pitch) {
  Gathered gathered;
  std::vector<std::string_view> fields;
  bool positions = true;
  bool named = true;
  std::int64_t step = 0;
  for (const Reading& reading : readings) {
    const std::optional<Length>& value = quantity == ClothQuantity::aperture ? reading.aperture : reading.wire;
    if (reading.direction != direction || reading.role != Role::sample || !value) continue;
    gathered.values.push_back(value->um());
    gathered.lines.push_back(reading.line);
    step = std::gcd(step, value->pm());
    positions = positions && reading.x && reading.y;
    named = named && !reading.field.empty();
    gathered.x.push_back(reading.x ? reading.x->um() : 0);
    gathered.y.push_back(reading.y ? reading.y->um() : 0);
    fields.push_back(reading.field);
  }
  gathered.step = Length::from_pm(step);
  if (positions && !gathered.values.empty()) {
    gathered.grouping = Grouping::gap;
    gathered.group = number_gaps(across(gathered.x, gathered.y, direction), pitch.um());
    return gathered;
  }
  gathered.x.clear();
  gathered.y.clear();
  if (named && !gathered.values.empty()) {
    gathered.grouping = Grouping::field;
    gathered.group = number_fields(fields);
  }
  return gathered;
}

Units units_of(const Gathered& gathered, Direction direction, Length pitch, bool contiguous) {
  const bool gaps = gathered.grouping == Grouping::gap;
  const bool fields = gathered.grouping == Grouping::field && !contiguous && fields_differ(gathered);
  if (!gaps && !fields) return {gathered.values, gathered.values, gathered.lines, {}, {}, false};
  const auto count = static_cast<std::size_t>(*std::max_element(gathered.group.begin(), gathered.group.end())) + 1;
  Units units{.values = means_of(gathered.values, gathered.group, count)};
  take_first(units, gathered);
  if (!gaps) return units;
  units.x = means_of(gathered.x, gathered.group, count);
  units.y = means_of(gathered.y, gathered.group, count);
  units.neighbours = true;
  const std::vector<double>& places = across(units.x, units.y, direction);
  for (std::size_t i = 1; i < count; ++i) units.neighbours = units.neighbours && places[i] - places[i - 1] < 1.5 * pitch.um();
  return units;
}

}  // namespace sievecloth
