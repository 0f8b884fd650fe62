#include "sievecloth/summary.hpp"

#include <algorithm>
#include <numeric>

#include "base/exact.hpp"

namespace sievecloth {
namespace {

constexpr std::int64_t k_fine_pm = picometres(Unit::micrometre);

// Once the divisor is fine it stays fine, and its exact value no longer matters: 1 stands for all of them.
std::int64_t coarse_divisor(std::int64_t a, std::int64_t b) noexcept {
  const std::int64_t divisor = std::gcd(a, b);
  return divisor <= k_fine_pm ? 1 : divisor;
}

}  // namespace

void Summary::add(Length reading) noexcept {
  const std::int64_t pm = reading.pm();
  const std::int64_t deviation = pm - thresholds_.nominal.pm();
  note_value(reading);
  if (step_pm_ != 1 && (step_pm_ == 0 || pm % step_pm_ != 0)) step_pm_ = coarse_divisor(step_pm_, pm);
  ++count_;
  sum_ += deviation;
  squares_ += static_cast<int128>(deviation) * deviation;
  above_intermediate_ += thresholds_.intermediate && reading > *thresholds_.intermediate ? 1 : 0;
  above_largest_ += thresholds_.largest && reading > *thresholds_.largest ? 1 : 0;
}

void Summary::merge(const Summary& other) noexcept {
  if (other.empty()) return;
  if (empty()) {
    *this = other;
    return;
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
}

// Extremes, and whether a third value was ever seen; count_ still holds what came before.
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
