#include "sievecloth/sampling.hpp"

#include <algorithm>
#include <cmath>

#include <gtest/gtest.h>
#include <boost/math/distributions/chi_squared.hpp>

#include "support/observed.hpp"
#include "support/reference_data.hpp"

namespace sievecloth {
namespace {

std::vector<double> numbers(const std::string& file, int skip, int column = 0) {
  std::vector<double> values;
  for (const std::string& text : test::reference_column(file, skip, column)) values.push_back(std::stod(text));
  return values;
}

TEST(Lag1Correlation, CertifiedValues) {
  // source: NIST StRD, univariate summary statistics, certified lag-1 autocorrelations
  struct Certified {
    const char* file;
    int skip;
    double correlation, tolerance;
  };
  for (const Certified& certified :
       {Certified{"NUMACC2.DAT", 60, -0.999, 1e-12}, Certified{"NUMACC3.DAT", 60, -0.999, 1e-8},
        Certified{"NUMACC4.DAT", 60, -0.999, 1e-7},  // eight digits precede the decimal point
        Certified{"MICHELSO.DAT", 25, 0.535199668621283, 1e-12}, Certified{"MAVRO.DAT", 25, 0.937989183438248, 1e-11},
        Certified{"LEW.DAT", 25, -0.307304800605679, 1e-14}, Certified{"LOTTERY3.DAT", 25, -0.120948622967393, 1e-14}}) {
    EXPECT_NEAR(*lag1_correlation(numbers(certified.file, certified.skip)), certified.correlation, certified.tolerance)
        << certified.file;
  }
}

TEST(MeanInterval, Zarr13) {
  // source: e-Handbook 1.3.5.2: n 195, mean 9.261460, s 0.02278881, 95 % interval 9.258242 to 9.264679
  const Moments zarr = moments(numbers("ZARR13.DAT", 25));
  ASSERT_EQ(zarr.n, 195);
  EXPECT_NEAR(*zarr.mean, 9.261460, 1e-6);
  EXPECT_NEAR(*zarr.standard_deviation, 0.02278881, 2e-8);  // printed from single precision
  const MeanEstimate estimate = *mean_of(zarr);
  EXPECT_EQ(estimate.freedom, 194);
  const Interval interval = mean_interval(estimate, 0.95);
  EXPECT_NEAR(interval.lower, 9.258242, 1e-6);
  EXPECT_NEAR(interval.upper, 9.264679, 1e-6);
}

TEST(MeanOfGroups, EachGroupCountsOnce) {
  // oracle: the mean and the standard error of the group means, worked out from single readings; the sizes of the groups do not
  // matter
  const std::vector<double> values{70, 72, 74, 76, 80, 80, 80, 80};
  const std::vector<int> groups{1, 1, 2, 3, 4, 4, 4, 4};
  const MeanEstimate estimate = *mean_of_groups(test::sums_by_group<int>(values, groups, 70), 70);
  const std::vector<double> means{71, 74, 76, 80};
  EXPECT_NEAR(estimate.mean, 75.25, 1e-12);
  EXPECT_NEAR(estimate.standard_error, *moments(means).standard_deviation / 2, 1e-12);
  EXPECT_EQ(estimate.freedom, 3);
  EXPECT_FALSE(mean_of_groups(test::sums_by_group<int>(values, std::vector<int>(8, 1)), 0));
}

TEST(DifferenceOf, TakesTheSmallerFreedom) {
  // identity: errors add up in squares, and the smaller degrees of freedom of the two make the wider interval
  const MeanEstimate difference = difference_of({75, 0.3, 9}, {74, 0.4, 99});
  EXPECT_DOUBLE_EQ(difference.mean, 1);
  EXPECT_DOUBLE_EQ(difference.standard_error, 0.5);
  EXPECT_EQ(difference.freedom, 9);
}

TEST(ProbabilityWithin, AgreesWithTheInterval) {
  // identity: beyond either end of the 95 % interval lie 2.5 %; without an error the mean is within the limits or it is not
  const double far = 1e9;
  for (const double freedom : {1.0, 4.0, 30.0, 1e5}) {
    const MeanEstimate estimate{75, 0.7, freedom};
    const Interval interval = mean_interval(estimate, 0.95);
    EXPECT_NEAR(probability_within(estimate, interval.lower, interval.upper), 0.95, 1e-9);
    EXPECT_NEAR(probability_within(estimate, -far, interval.upper), 0.975, 1e-8);
    EXPECT_NEAR(probability_within(estimate, interval.lower, far), 0.975, 1e-8);
  }
  EXPECT_EQ(probability_within({75, 0, 5}, 75, 76), 1);
  EXPECT_EQ(probability_within({75, 0, 5}, 75.1, 76), 0);
}

// Probability that the interval of n normal values with deviation 1 ends above 0 if their mean is `margin`: an integral over their
// standard deviation.
double chance_to_clear(double margin, int n, double confidence) {
  const double freedom = n - 1;
  const double critical = mean_interval({0, 1, freedom}, confidence).upper;
  const double centre = margin * std::sqrt(n);
  double above = 0;
  double all = 0;
  const int cells = 200'000;
  for (int i = 0; i < cells; ++i) {
    const double s = (i + 0.5) * 6 / cells;
    const double density = std::exp((freedom - 1) * std::log(s) - freedom * (s * s - 1) / 2);
    all += density;
    above += density * std::erfc((critical * s - centre) / std::sqrt(2.0)) / 2;
  }
  return above / all;
}

TEST(UnitsToClear, Handbook) {
  // source: e-Handbook 7.2.2.2: one-sided risks of 5 % and 10 % for a shift of one standard deviation need 11 values
  EXPECT_EQ(*units_to_clear(1, 1, 2, 0.90, 0.90, 1000), 11);
}

TEST(UnitsToClear, IsTheFirstThatSuffices) {
  // oracle: an integral over the distribution of the standard deviation: the number found reaches 90 %, one fewer does not
  for (const double margin : {0.2, 0.45, 1.0, 2.5}) {
    const auto found = static_cast<int>(*units_to_clear(margin, 1, 2, 0.95, 0.9, 100'000));
    EXPECT_GE(chance_to_clear(margin, found, 0.95), 0.9) << margin;
    EXPECT_LT(chance_to_clear(margin, found - 1, 0.95), 0.9) << margin;
    EXPECT_EQ(*units_to_clear(3 * margin, 3, 2, 0.95, 0.9, 100'000), found);
  }
}

TEST(UnitsToClear, EndsWhereItIsTold) {
  // boundary: always more than there are already; the greatest permitted number is found, one less than needed is not
  EXPECT_EQ(*units_to_clear(1, 1, 500, 0.95, 0.9, 1000), 501);
  const std::int64_t needed = *units_to_clear(0.1, 1, 2, 0.95, 0.9, 1'000'000);
  EXPECT_EQ(*units_to_clear(0.1, 1, 2, 0.95, 0.9, needed), needed);
  EXPECT_FALSE(units_to_clear(0.1, 1, 2, 0.95, 0.9, needed - 1));
  EXPECT_EQ(*units_to_clear(0.1, 1, needed - 1, 0.95, 0.9, 1'000'000), needed);
  EXPECT_EQ(*units_to_clear(1, 1, 999, 0.95, 0.9, 1000), 1000);
  EXPECT_FALSE(units_to_clear(1, 1, 1000, 0.95, 0.9, 1000));
}

TEST(DeviationInterval, OfSingleValues) {
  // oracle: Bonett's formula worked out value by value: trimmed mean, kurtosis about it, and the logarithm of the variance
  std::vector<double> values = numbers("ZARR13.DAT", 25);
  const Interval found = deviation_interval(counted(values), 0, 0, 0.95);
  std::sort(values.begin(), values.end());
  const double n = 195;
  const int trimmed = static_cast<int>(n / (2 * std::sqrt(n - 4)));
  ASSERT_EQ(trimmed, 7);
  double middle = 0;
  for (int i = trimmed; i < 195 - trimmed; ++i) middle += values[static_cast<std::size_t>(i)] / (n - 2 * trimmed);
  const double mean = *moments(values).mean;
  double squares = 0;
  double fourth = 0;
  for (const double value : values) {
    squares += std::pow(value - mean, 2);
    fourth += std::pow(value - middle, 4);
  }
  const double kurtosis = n * fourth / (squares * squares);
  const double z = 1.959963984540054;
  const double c = n / (n - z);
  const double half = z * c * std::sqrt((kurtosis - (n - 3) / n) / (n - 1));
  EXPECT_NEAR(found.lower / std::sqrt(c * squares / (n - 1) * std::exp(-half)), 1, 1e-9);
  EXPECT_NEAR(found.upper / std::sqrt(c * squares / (n - 1) * std::exp(half)), 1, 1e-9);
  // source: e-Handbook 1.3.5.8 finds 0.00551 to 0.00729 for GEAR by chi-square: with its heavier tails the interval is wider
  const Interval gear = deviation_interval(counted(numbers("GEAR.DAT", 25)), 0, 0, 0.95);
  EXPECT_NEAR(gear.lower, 0.00551, 3e-4);
  EXPECT_NEAR(gear.upper, 0.00729, 6e-4);
}

TEST(VarianceInflation, AddsTheSquaresOfAllCorrelations) {
  // identity: 1 + 2 times the sum of the squared correlations at all distances: r^k if positive, r at distance 1 only if negative
  for (const double r : {-0.5, -0.2, 0.0, 0.3, 0.9}) {
    double sum = 1 + 2 * r * r;
    for (int k = 2; r > 0 && k < 2000; ++k) sum += 2 * std::pow(r, 2 * k);
    EXPECT_NEAR(variance_inflation(r), sum, 1e-9) << r;
  }
}

TEST(DeviationInterval, OfValuesThatFollowTheirNeighbours) {
  // identity: the interval widens by the root of that inflation, on the scale of the logarithm
  const std::vector<Counted> gear = counted(numbers("GEAR.DAT", 25));
  const auto width = [&](double r) {
    const Interval interval = deviation_interval(gear, 0, r, 0.95);
    return std::log(interval.upper / interval.lower);
  };
  for (const double r : {-0.4, 0.4}) EXPECT_NEAR(width(r) / width(0), std::sqrt(variance_inflation(r)), 1e-9);
}

// s^2 of readings in groups: variance of the group means and, with unweighted means, that within.
struct BetweenAndWithin {
  double between = 0, within = 0;  // within: with its weight
  explicit BetweenAndWithin(const std::vector<std::vector<double>>& groups) {
    std::vector<double> means;
    double squares = 0, freedom = 0, reciprocals = 0;
    for (const std::vector<double>& group : groups) {
      means.push_back(*moments(group).mean);
      for (const double value : group) squares += std::pow(value - means.back(), 2);
      freedom += static_cast<double>(group.size()) - 1;
      reciprocals += 1 / static_cast<double>(group.size());
    }
    between = std::pow(*moments(means).standard_deviation, 2);
    within = freedom > 0 ? (1 - reciprocals / static_cast<double>(groups.size())) * squares / freedom : 0;
  }
};

TEST(DeviationInterval, OfGroups) {
  // oracle: both intervals worked out from single readings, the jackknife by really leaving out one group after the other
  const std::vector<double> gear = numbers("GEAR.DAT", 25);
  std::vector<std::vector<double>> groups;
  std::vector<int> number;
  for (std::size_t i = 0; i < gear.size(); ++i) {
    if (i == 0 || groups.back().size() == 3 + groups.size() % 4) groups.emplace_back();
    groups.back().push_back(gear[i]);
    number.push_back(static_cast<int>(groups.size()));
  }
  const auto count = static_cast<double>(groups.size());
  ASSERT_GT(count, 15);
  const Interval found = deviation_interval(test::sums_by_group<int>(gear, number, gear.front()), 0, 0.95);

  const BetweenAndWithin all(groups);
  const auto squared_distance = [&](double probability) {
    double sum = 0;
    for (const auto& [part, freedom] : {std::pair(all.between, count - 1), std::pair(all.within, 100 - count)})
      sum += std::pow(part * (freedom / quantile(boost::math::chi_squared(freedom), probability) - 1), 2);
    return sum;
  };
  const double variance = all.between + all.within;
  std::vector<double> pseudo;
  for (std::size_t left_out = 0; left_out < groups.size(); ++left_out) {
    std::vector<std::vector<double>> rest = groups;
    rest.erase(rest.begin() + static_cast<std::ptrdiff_t>(left_out));
    const BetweenAndWithin of_rest(rest);
    pseudo.push_back(count * std::log(variance) - (count - 1) * std::log(of_rest.between + of_rest.within));
  }
  const Interval jackknife = mean_interval(*mean_of(moments(pseudo)), 0.95);
  const double lower = std::min(variance - std::sqrt(squared_distance(0.975)), std::exp(jackknife.lower));
  const double upper = std::max(variance + std::sqrt(squared_distance(0.025)), std::exp(jackknife.upper));
  EXPECT_NEAR(found.lower / std::sqrt(lower), 1, 1e-7);
  EXPECT_NEAR(found.upper / std::sqrt(upper), 1, 1e-7);
}

TEST(DeviationInterval, OfPairsThatAreAlike) {
  // source: e-Handbook 1.3.5.8: 0.00551 to 0.00729 for the 100 values of GEAR by chi-square; each read twice in a group of its own,
  // they are still 100, and the interval is that one or wider
  std::vector<double> twice;
  std::vector<int> number;
  for (const double value : numbers("GEAR.DAT", 25)) {
    twice.insert(twice.end(), 2, value);
    number.insert(number.end(), 2, static_cast<int>(twice.size()));
  }
  const Interval interval = deviation_interval(test::sums_by_group<int>(twice, number, 1), 0, 0.95);
  EXPECT_LT(interval.lower, 0.00551 + 5e-6);
  EXPECT_GT(interval.upper, 0.00729 - 5e-6);
  EXPECT_NEAR(interval.lower, 0.00551, 3e-4);
  EXPECT_NEAR(interval.upper, 0.00729, 6e-4);
}

TEST(DeviationInterval, WithoutTheStep) {
  // identity: a step of q has added q^2 / 12 to both ends, on the scale of the variance; less than nothing is not left
  const std::vector<double> gear = numbers("GEAR.DAT", 25);
  std::vector<int> number;
  for (int i = 0; i < 100; ++i) number.push_back(i / 5);
  const auto fine = test::sums_by_group<int>(gear, number, 1);
  const double q = 0.005;
  const auto without = [&](double end) { return std::sqrt(end * end - q * q / 12); };
  EXPECT_NEAR(deviation_interval(counted(gear), q, 0, 0.95).upper, without(deviation_interval(counted(gear), 0, 0, 0.95).upper),
              1e-12);
  EXPECT_NEAR(deviation_interval(counted(gear), q, 0, 0.95).lower, without(deviation_interval(counted(gear), 0, 0, 0.95).lower),
              1e-12);
  EXPECT_NEAR(deviation_interval(fine, q, 0.95).upper, without(deviation_interval(fine, 0, 0.95).upper), 1e-12);
  EXPECT_EQ(deviation_interval(counted(gear), 1, 0, 0.95).lower, 0);
}

TEST(ShareUpperBound, NoneInAHundred) {
  // identity: with none of n found the bound is 1 - 0.05^(1/n): 2.95 % for n = 100
  EXPECT_NEAR(share_upper_bound(0, 100, 0.95), 1 - std::pow(0.05, 0.01), 1e-12);
  EXPECT_NEAR(share_upper_bound(0, 100, 0.95), 0.0295, 5e-5);
  EXPECT_EQ(share_upper_bound(5, 5, 0.95), 1);
}

TEST(NumberUpperBound, AgainstCounting) {
  // oracle: the probability of the sample, computed by multiplication for each number in the lot
  const auto chance_of_none = [](int bad, int n, int total) {
    double chance = 1;
    for (int i = 0; i < n; ++i) chance *= std::max(0.0, static_cast<double>(total - bad - i) / (total - i));
    return chance;
  };
  for (const auto& [n, total] : {std::pair{10, 40}, std::pair{30, 40}, std::pair{40, 40}, std::pair{100, 1000}}) {
    int greatest = 0;
    for (int bad = 0; bad <= total - n; ++bad) {
      if (chance_of_none(bad, n, total) > 0.05) greatest = bad;
    }
    EXPECT_EQ(number_upper_bound(0, n, total, 0.95), greatest) << n << " of " << total;
  }
  EXPECT_EQ(number_upper_bound(3, 40, 40, 0.95), 3);  // all were measured
}

TEST(NumberUpperBound, ComesToTheShareOfALargeLot) {
  // identity: in a lot much larger than the sample the hypergeometric bound equals the binomial one
  EXPECT_NEAR(static_cast<double>(number_upper_bound(2, 100, 1'000'000, 0.95)) / 1e6, share_upper_bound(2, 100, 0.95), 1e-5);
}

TEST(ShareUpperBoundOfGroups, CountsGroups) {
  // identity: with none found the bound is 1 - 0.05^(1/groups): 45.07 % for 5 gaps, 25.9 % for 10 fields
  EXPECT_NEAR(share_upper_bound_of_groups(0, 5, 0.95), 1 - std::pow(0.05, 0.2), 1e-12);
  EXPECT_NEAR(share_upper_bound_of_groups(0, 5, 0.95), 0.4507, 5e-5);
  EXPECT_NEAR(share_upper_bound_of_groups(0, 10, 0.95), 0.259, 5e-4);
  // boundary: shares are added up and rounded up, but a whole number is not, whatever its last digit
  double sum = 0;
  for (int i = 0; i < 20; ++i) sum += 0.1;
  EXPECT_EQ(share_upper_bound_of_groups(sum, 20, 0.95), share_upper_bound(2, 20, 0.95));
  EXPECT_EQ(share_upper_bound_of_groups(0.05, 20, 0.95), share_upper_bound(1, 20, 0.95));
  EXPECT_EQ(share_upper_bound_of_groups(2.05, 20, 0.95), share_upper_bound(3, 20, 0.95));
  EXPECT_EQ(share_upper_bound_of_groups(20, 20, 0.95), 1);
}

TEST(MeanOfGroups, SirstvCertified) {
  // source: NIST StRD, analysis of variance, SiRstv: five groups of five with the certified sum of squares between them; the
  // squared standard error of the mean is its mean square over 25
  const std::vector<double> values = numbers("SIRSTV.DAT", 60, 1);
  std::vector<int> group;
  for (const std::string& text : test::reference_column("SIRSTV.DAT", 60, 0)) group.push_back(std::stoi(text));
  ASSERT_EQ(values.size(), 25u);
  const MeanEstimate mean = *mean_of_groups(test::sums_by_group<int>(values, group, values.front()), values.front());
  EXPECT_EQ(mean.freedom, 4);
  EXPECT_NEAR(mean.standard_error * mean.standard_error * 25 * 4 / 5.11462616000000E-02, 1, 1e-10);
}

TEST(Moments, OfCountedValues) {
  // identity: counting values changes neither mean nor deviation
  for (const auto& [file, skip] : {std::pair("GEAR.DAT", 25), std::pair("MICHELSO.DAT", 25), std::pair("NUMACC4.DAT", 60)}) {
    const std::vector<double> values = numbers(file, skip);
    const std::vector<Counted> groups = counted(values);
    EXPECT_LT(groups.size(), values.size());
    EXPECT_TRUE(std::is_sorted(groups.begin(), groups.end(), [](auto& a, auto& b) { return a.value_um <= b.value_um; }));
    EXPECT_EQ(moments(groups).n, moments(values).n);
    EXPECT_NEAR(*moments(groups).mean / *moments(values).mean, 1, 1e-14);
    EXPECT_NEAR(*moments(groups).standard_deviation / *moments(values).standard_deviation, 1, 1e-9);
  }
}

TEST(Moments, UndefinedIsSaid) {
  // boundary: nothing has no mean, one value no deviation and no standard error, equal values no correlation
  EXPECT_FALSE(moments(std::span<const double>()).mean);
  EXPECT_FALSE(moments(std::span<const Counted>()).mean);
  const std::vector<double> one{3};
  EXPECT_FALSE(moments(one).standard_deviation);
  EXPECT_FALSE(moments(counted(one)).standard_deviation);
  EXPECT_FALSE(mean_of(moments(one)));
  const std::vector<double> equal{3, 3, 3};
  EXPECT_FALSE(lag1_correlation(equal));
}

}  // namespace
}  // namespace sievecloth
