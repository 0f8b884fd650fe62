#include "judgement/factor.hpp"

#include <cmath>

#include <boost/math/distributions/chi_squared.hpp>

#include "base/in_double.hpp"

namespace sievecloth {

double standard_deviation_factor(std::int64_t n, std::int32_t tail_millionths) {
  const double freedom = static_cast<double>(n - 1);
  const boost::math::chi_squared_distribution<double, InDouble> chi_squared(freedom);
  return std::sqrt(freedom / boost::math::quantile(chi_squared, tail_millionths / 1e6));
}

Length limit_without_factor(Length limit, double factor) {
  constexpr double k_accuracy = 1e-12;
  return Length::from_pm(static_cast<std::int64_t>(std::floor(static_cast<double>(limit.pm()) / factor * (1 - k_accuracy))));
}

}  // namespace sievecloth
