#include "judgement/predicates.hpp"

#include "base/exact.hpp"

namespace sievecloth {
namespace {

int512 floor_quotient(const int512& numerator, const int512& denominator) {
  const int512 quotient = numerator / denominator;  // towards zero
  return quotient * denominator > numerator ? int512(quotient - 1) : quotient;
}

}  // namespace

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

// A further reading is a whole number of picometres from 1 to w + X, its deviation from w a whole number from 1 - w to X. The sum
// of r of them takes every whole value from r (1 - w) to r X, so the final sum takes every whole value from S + r (1 - w) to S + r
// X. The final mean is within its limits exactly if the final sum is from -N Y to N Y. Two ranges of whole numbers intersect unless
// one ends before the other begins.
bool mean_can_come_back(const Summary& summary, Length tolerance, Length headroom, std::int64_t planned) {
  const int512 rest = planned - summary.count();
  const int512 sum(summary.sum_of_deviations());
  const int512 bound = int512(planned) * tolerance.pm();
  const int512 lowest = sum + rest * (1 - summary.thresholds().nominal.pm());
  const int512 highest = sum + rest * headroom.pm();
  return lowest <= bound && highest >= -bound;
}

// With S, Q the sums of the n deviations so far and of their squares, and R, T those of the r = N - n to come, s <= L means F = N
// (Q + T) - (S + R)^2 <= L^2 N (N - 1). For a given R, T is least if the r deviations are a or a + 1 with a = floor(R / r), as
// moving two of them closer lowers it. From one R to the next with the same a, T grows by 2a + 1 and F by N (2a + 1) - 2 (S + R) -
// 1, less at each step: F is concave between R = r a and R = r (a + 1), and least at one of those ends. So all readings to come may
// be taken as equal: F(a) = N (Q + r a^2) - (S + r a)^2 = N Q - S^2 + r (n a^2 - 2 S a), least at the whole number nearest to S /
// n. That is a possible reading: the mean of readings between 1 pm and w + X lies between them too, and if one was larger, the
// largest aperture rejects.
bool standard_deviation_can_come_back(const Summary& summary, Length limit, std::int64_t planned) {
  const int512 n = summary.count();
  const int512 all = planned;
  const int512 sum(summary.sum_of_deviations());
  const int512 nearest = floor_quotient(2 * sum + n, 2 * n);
  const int512 spread =
      all * int512(summary.sum_of_squared_deviations()) - sum * sum + (all - n) * (n * nearest * nearest - 2 * sum * nearest);
  return spread <= int512(limit.pm()) * limit.pm() * all * (all - 1);
}

}  // namespace sievecloth
