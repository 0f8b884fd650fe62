#include "judgement/predicates.hpp"

#include "base/exact.hpp"

namespace sievecloth {

bool mean_within(const Summary& summary, Length lower, Length upper) {
  const int512 n = summary.count();
  const int512 sum(summary.sum_of_deviations());
  const Length from = summary.thresholds().nominal;
  return n * (lower - from).pm() <= sum && sum <= n * (upper - from).pm();
}

bool standard_deviation_within(const Summary& summary, Length limit) {
  const int512 n = summary.count();
  const int512 sum(summary.sum_of_deviations());
  const int512 squared_limit = int512(limit.pm()) * limit.pm();
  return n * int512(summary.sum_of_squared_deviations()) - sum * sum <= squared_limit * n * (n - 1);
}

}  // namespace sievecloth
