#include "sievecloth/summary.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numeric>

#include "base/exact.hpp"
#include "base/refusal.hpp"
#include "measurement/block_sums.hpp"

namespace sievecloth {
namespace {

constexpr std::int64_t k_fine_pm = picometres(Unit::micrometre);

// Once the divisor is fine it stays fine, and its exact value no longer matters: it is set to 1.
std::int64_t coarse_divisor(std::int64_t a, std::int64_t b) noexcept {
  const std::int64_t divisor = std::gcd(a, b);
  return divisor <= k_fine_pm ? 1 : divisor;
}

bool is_reading(Length length) noexcept { return length > Length() && length <= k_longest_reading; }

// Why a length cannot be a reading.
Error refusal(Length length) noexcept {
  return length <= Length() ? refusal(ErrorCode::not_positive, "not above 0") : refusal(ErrorCode::too_large, "above 100 m");
}

// Why a double cannot be a reading.
Error refusal(double micrometres) noexcept {
  if (!std::isfinite(micrometres)) return refusal(ErrorCode::malformed_number, "not finite");
  return micrometres <= 0 ? refusal(Length()) : refusal(ErrorCode::too_large, "above 100 m");
}

// The same, located at one of several readings.
Error at(std::ptrdiff_t index, Error error) noexcept {
  error.where.line = index + 1;
  return error;
}

std::int64_t floor_quotient(std::int64_t numerator, std::int64_t denominator) noexcept {
  const std::int64_t quotient = numerator / denominator;
  return numerator % denominator < 0 ? quotient - 1 : quotient;
}

template <class Value>
std::span<const Value> next_block(std::span<const Value>& rest) noexcept {
  const std::span<const Value> block = rest.first(std::min(rest.size(), k_block_readings));
  rest = rest.subspan(block.size());
  return block;
}

// True if a count above a threshold agrees with the extremes: none if the largest is not above it, all if the smallest is.
bool possible_count(std::int64_t above, const std::optional<Length>& threshold, const Summary::Figures& figures) noexcept {
  if (!threshold) return above == 0;
  if (figures.maximum <= *threshold) return above == 0;
  if (figures.minimum > *threshold) return above == figures.count;
  return 0 < above && above < figures.count;
}

bool possible(const Thresholds& thresholds, const Summary::Figures& figures) noexcept {
  if (figures.count == 0) return figures == Summary::Figures();
  if (figures.count < 0 || figures.count > k_most_readings) return false;
  if (figures.minimum <= Length() || figures.minimum > figures.maximum || figures.maximum > k_longest_reading) return false;
  const int128 n = figures.count;
  const int512 sum(figures.sum_of_deviations);
  const int512 squares(figures.sum_of_squared_deviations);
  const int128 least = n * (figures.minimum - thresholds.nominal).pm();
  const int128 most = n * (figures.maximum - thresholds.nominal).pm();
  const std::int64_t divisor = figures.divisor_pm;
  return least <= figures.sum_of_deviations && figures.sum_of_deviations <= most && sum * sum <= int512(n) * squares &&
         possible_count(figures.above_intermediate, thresholds.intermediate, figures) &&
         possible_count(figures.above_largest, thresholds.largest, figures) && divisor >= 1 &&
         figures.minimum.pm() % divisor == 0 && figures.maximum.pm() % divisor == 0 &&
         !(figures.three_values && (n < 3 || figures.minimum == figures.maximum));
}

}  // namespace

// Meaning of 32-bit numbers: value * quantum + offset [pm], 0 < quantum <= k_coarsest_quantum.
struct Summary::Scale {
  std::int64_t quantum = 1;
  std::int64_t offset = 0;

  Length reading(std::int32_t value) const noexcept { return Length::from_pm(value * quantum + offset); }
  // The greatest value whose reading is not above `limit`, clamped to 32 bits.
  std::int32_t last_not_above(Length limit) const noexcept {
    using Limits = std::numeric_limits<std::int32_t>;
    return static_cast<std::int32_t>(
        std::clamp<std::int64_t>(floor_quotient(limit.pm() - offset, quantum), Limits::min(), Limits::max()));
  }
};

struct Summary::Block {
  std::span<const std::int32_t> values;
  Scale scale;
};

Result<void> Summary::add(Length reading) noexcept {
  if (!is_reading(reading)) return refusal(reading);
  if (count_ >= k_most_readings) return refusal(ErrorCode::too_many_readings, "above 10^10");
  take(reading);
  return {};
}

void Summary::take(Length reading) noexcept {
  const std::int64_t pm = reading.pm();
  const std::int64_t deviation = pm - thresholds_.nominal.pm();
  note_value(reading);
  note_step(pm);
  ++count_;
  sum_ += deviation;
  squares_ += static_cast<int128>(deviation) * deviation;
  above_intermediate_ += thresholds_.intermediate && reading > *thresholds_.intermediate ? 1 : 0;
  above_largest_ += thresholds_.largest && reading > *thresholds_.largest ? 1 : 0;
}

Result<void> Summary::add(std::span<const Length> readings) noexcept {
  if (static_cast<std::int64_t>(readings.size()) > k_most_readings - count_)
    return refusal(ErrorCode::too_many_readings, "above 10^10");
  const Summary before = *this;
  std::array<std::int32_t, k_block_readings> deviations;
  for (std::span<const Length> rest = readings; !rest.empty();) {
    const std::span<const Length> block = next_block(rest);
    const std::span<std::int32_t> near = std::span(deviations).first(block.size());
    if (deviations_of(block, thresholds_.nominal, near) && take_block({near, {1, thresholds_.nominal.pm()}})) continue;
    for (const Length& reading : block) {  // far from nominal, or invalid
      if (!is_reading(reading)) {
        *this = before;
        return at(&reading - readings.data(), refusal(reading));
      }
      take(reading);
    }
  }
  return {};
}

Result<void> Summary::add_um(std::span<const double> readings) noexcept {
  const Summary before = *this;
  std::array<std::int32_t, k_block_readings> deviations;
  for (std::span<const double> rest = readings; !rest.empty();) {
    const std::span<const double> block = next_block(rest);
    const std::span<std::int32_t> rounded = std::span(deviations).first(block.size());
    if (round_block(block, thresholds_.nominal, rounded) && take_block({rounded, {1, thresholds_.nominal.pm()}})) continue;
    for (const double& value : block) {  // far from nominal, at a tie, or invalid
      const Result<Length> reading = round_to_length(value, Unit::micrometre);
      if (!reading.ok() || !is_reading(*reading)) {
        *this = before;
        return at(&value - readings.data(), reading.ok() ? refusal(*reading) : refusal(value));
      }
      take(*reading);
    }
  }
  return {};
}

Result<void> Summary::add_quanta(std::span<const std::int32_t> readings, Length quantum) noexcept {
  if (!readings.empty() && (quantum <= Length() || quantum > k_coarsest_quantum))
    return refusal(ErrorCode::wrong_argument, "wrong quantum");
  const Summary before = *this;
  for (std::span<const std::int32_t> rest = readings; !rest.empty();) {
    const Block block{next_block(rest), {quantum.pm(), 0}};
    if (take_block(block)) continue;
    *this = before;
    const auto broken = std::find_if(block.values.begin(), block.values.end(),
                                     [&](std::int32_t value) { return !is_reading(block.scale.reading(value)); });
    return at(&*broken - readings.data(), refusal(block.scale.reading(*broken)));
  }
  return {};
}

Result<void> Summary::merge(const Summary& other) noexcept {
  if (thresholds_ != other.thresholds_) return refusal(ErrorCode::sample_mismatch, "another size");
  if (count_ > k_most_readings - other.count_) return refusal(ErrorCode::too_many_readings, "above 10^10");
  if (other.empty()) return {};
  if (empty()) {
    *this = other;
    return {};
  }
  note_value(other.minimum_);
  note_value(other.maximum_);
  three_values_ = three_values_ || other.three_values_;
  step_pm_ = coarse_divisor(step_pm_, other.step_pm_);
  count_ += other.count_;
  sum_ += other.sum_;
  squares_ += other.squares_;
  above_intermediate_ += other.above_intermediate_;
  above_largest_ += other.above_largest_;
  return {};
}

// Adds all values or, if one is invalid, none. Sums of d = value - base become sums of deviations d quantum - rest [pm], where rest
// is the distance of the base from nominal.
bool Summary::take_block(const Block& block) noexcept {
  const Scale& scale = block.scale;
  const std::int32_t base = std::max(scale.last_not_above(thresholds_.nominal), 0);
  const BlockSums sums =
      sum_block(block.values, {base, scale.last_not_above(thresholds_.intermediate.value_or(thresholds_.nominal)),
                               scale.last_not_above(thresholds_.largest.value_or(thresholds_.nominal))});
  const Length smallest = scale.reading(sums.smallest), largest = scale.reading(sums.largest);
  if (!is_reading(smallest) || !is_reading(largest)) return false;
  three_values_ = three_values_ || (smallest != largest && has_third_value(block.values, sums.smallest, sums.largest));
  note_step(block);

  const std::int64_t count = static_cast<std::int64_t>(block.values.size());
  const int128 quantum = scale.quantum;
  const int128 rest = (thresholds_.nominal - scale.reading(base)).pm();
  const int128 scaled = quantum * sums.sum_of_deviations;
  sum_ += scaled - count * rest;
  squares_ += quantum * quantum * sums.sum_of_squared_deviations - 2 * rest * scaled + count * rest * rest;

  note_value(smallest);
  count_ += count;
  note_value(largest);
  if (thresholds_.intermediate) above_intermediate_ += sums.count_above_intermediate;
  if (thresholds_.largest) above_largest_ += sums.count_above_largest;
  return true;
}

void Summary::note_step(const Block& block) noexcept {
  constexpr std::int64_t k_largest_step = std::int64_t{1} << 40;
  if (step_pm_ == 1) return;
  const auto& [quantum, offset] = block.scale;
  const std::int64_t step = step_pm_ / quantum;
  if (step > 0 && step < k_largest_step && step_pm_ % quantum == 0 && offset % quantum == 0 &&
      are_multiples(block.values, offset / quantum % step, step)) {
    return;
  }
  for (const std::int32_t value : block.values) note_step(block.scale.reading(value).pm());
}

void Summary::note_step(std::int64_t pm) noexcept {
  if (step_pm_ != 1 && (step_pm_ == 0 || pm % step_pm_ != 0)) step_pm_ = coarse_divisor(step_pm_, pm);
}

// Updates the extremes, and whether a third value was seen; count_ is still that of the previous readings.
void Summary::note_value(Length value) noexcept {
  if (count_ == 0) {
    minimum_ = maximum_ = value;
    return;
  }
  if (value == minimum_ || value == maximum_) return;
  three_values_ = three_values_ || minimum_ != maximum_;
  minimum_ = std::min(minimum_, value);
  maximum_ = std::max(maximum_, value);
}

Summary::Figures Summary::figures() const noexcept {
  return {count_, sum_, squares_, minimum_, maximum_, above_intermediate_, above_largest_, step_pm_, three_values_};
}

std::optional<Summary> Summary::from_figures(const Thresholds& thresholds, const Figures& figures) noexcept {
  if (!possible(thresholds, figures)) return std::nullopt;
  Summary summary(thresholds);
  summary.count_ = figures.count;
  summary.sum_ = figures.sum_of_deviations;
  summary.squares_ = figures.sum_of_squared_deviations;
  summary.minimum_ = figures.minimum;
  summary.maximum_ = figures.maximum;
  summary.above_intermediate_ = figures.above_intermediate;
  summary.above_largest_ = figures.above_largest;
  summary.step_pm_ = figures.divisor_pm;
  summary.three_values_ = figures.three_values;
  return summary;
}

std::optional<double> Summary::mean_um() const {
  if (empty()) return std::nullopt;
  return nearest_um(int512(thresholds_.nominal.pm()) * count_ + int512(sum_), count_);
}

std::optional<double> Summary::standard_deviation_um() const {
  if (count_ < 2) return std::nullopt;
  const int512 n = count_;
  const int512 pm_in_um = k_fine_pm;
  const int512 spread = n * int512(squares_) - int512(sum_) * int512(sum_);
  return nearest_root(spread, n * (n - 1) * pm_in_um * pm_in_um);
}

std::optional<Length> Summary::common_step() const noexcept {
  constexpr std::int64_t k_enough = 10;
  if (count_ < k_enough || !three_values_ || step_pm_ == 1) return std::nullopt;
  return Length::from_pm(step_pm_);
}

}  // namespace sievecloth
