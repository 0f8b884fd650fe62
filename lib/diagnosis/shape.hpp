// Tests of the distribution of values: normality, outliers, two populations, an overly frequent value. Values are counted,
// ascending.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "sievecloth/observations.hpp"

namespace sievecloth {

/// Result of a test. `critical` is the critical value at the requested level.
struct TestResult {
  double statistic = 0;
  double critical = 0;
  double p_value = 1;
};

/// Anderson-Darling test for normality with estimated mean and deviation: A^2 (1 + 0.75 / n + 2.25 / n^2) is the statistic.
/// Requires 8 values with a spread. p to 2 digits. Source: D'Agostino and Stephens, Goodness-of-Fit Techniques (1986), table 4.9.
struct AndersonDarling {
  double a_squared = 0;  ///< as published, without the factor
  TestResult test;
};
std::optional<AndersonDarling> anderson_darling(std::span<const Counted> values, double level);

/// A normal distribution observed in steps: fitted by maximum likelihood to the bin counts, and compared with them by chi-square.
/// For readings in whole steps, which are not a sample of a continuous distribution.
struct BinnedNormal {
  double mean = 0;
  double deviation = 0;
  double distance = 0;             ///< greatest difference of the distribution functions at the bin edges
  std::optional<TestResult> test;  ///< empty below four bins with five expected values each
};
/// Empty without a spread. step > 0.
std::optional<BinnedNormal> binned_normal(std::span<const Counted> values, double step, double level);

/// Comparison of values with a normal distribution.
struct Normality {
  TestResult test;
  double distance = 0;  ///< greatest difference of the distribution functions
};
/// By Anderson-Darling; if the step of the readings is noticeable beside the spread, by the binned likelihood of `readings`: one
/// reading per value, since means are not multiples of the step. Empty if that test is.
std::optional<Normality> normality(std::span<const Counted> values, std::span<const Counted> readings, double step, double level);

/// Generalized extreme studentized deviate test, two-sided, for several outliers. Source: Rosner (1983), as in e-Handbook
/// 1.3.5.17.3.
struct ExtremeDeviates {
  struct Step {
    double value = 0;  ///< the one removed
    bool low = false;  ///< it was the smallest, else the largest
    double statistic = 0;
    double critical = 0;
  };
  std::vector<Step> steps;
  std::size_t outliers = 0;  ///< number of leading steps that are outliers
};
/// At most `most` outliers; requires most + 3 values.
ExtremeDeviates extreme_deviates(std::span<const Counted> values, std::size_t most, double level);

/// Probability that the `outliers` largest values (smallest, if `low`) lie as far from the rest by chance, if the tail of the rest
/// falls off no slower than an exponential distribution: the gap beside them, over the mean normalised spacing of the values next
/// to it, is then F with 2 and 2 k degrees of freedom. So a long or skewed tail is not taken for outliers. Source: normalised
/// spacings, David and Nagaraja, Order Statistics (2003), 2.7.
double spacing_probability(std::span<const Counted> values, std::size_t outliers, bool low);

/// Two normal populations of equal deviation against one: the likelihood ratio 2 log(L2 / L1), L1 that of the best of a normal, a
/// skewed (shifted lognormal or gamma), a heavy-tailed (Student's t) and a uniform distribution.
struct TwoPopulations {
  double lower_mean = 0;
  double upper_mean = 0;
  double deviation = 0;  ///< within each
  double upper_share = 0;
  TestResult test;
};
/// Requires 20 values with a spread. Accuracy of p: conservative, errs on the large side (docs/statistics.md).
std::optional<TwoPopulations> two_populations(std::span<const Counted> values, double level);

/// The value most significantly in excess of what a normal distribution observed in steps would give: binomial, times the number of
/// different values.
struct FrequentValue {
  double value = 0;
  std::int64_t count = 0;
  double expected = 0;
  TestResult test;  ///< the statistic is the count
};
std::optional<FrequentValue> frequent_value(std::span<const Counted> values, double step, double level);

}  // namespace sievecloth
