#include "report/shares.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "report/figures.hpp"

namespace sievecloth {
namespace {

constexpr double k_least = 1e-6;  // smallest share shown as a number

std::string percent(const std::string& number, const Words& words) { return words.number(number) + " %"; }

// Unit of the third significant digit, at least 1.
double unit_of(double number) { return number < 1000 ? 1 : std::pow(10, std::floor(std::log10(number)) - 2); }

// Four decimals, rounded down: 99.9999 is not all.
std::string nearly_all(double share) {
  std::string digits = fmt::format("{:.4f}", std::floor(share * 1e6) / 1e4);
  while (digits.back() == '0') digits.pop_back();
  if (digits.back() == '.') digits.pop_back();
  return digits;
}

}  // namespace

std::string shown_share(double share, const Words& words) {
  if (share <= 0 || share >= 1) return share <= 0 ? "0 %" : "100 %";
  if (share < k_least) return words("sure.less-than", {{"value", percent("0.0001", words)}});
  if (share > 1 - k_least) return words("sure.more-than", {{"value", percent("99.9999", words)}});
  return percent(share > 0.99 ? nearly_all(share) : shown_number(100 * share, 3), words);
}

std::string shown_share_bound(double share, const Words& words) {
  if (share <= 0 || share >= 1) return share <= 0 ? "0 %" : "100 %";
  return percent(shown_number(100 * std::max(share, k_least), 3), words);
}

std::string shown_probability(double probability, const Words& words) {
  return shown_share(std::clamp(probability, k_least / 10, 1 - k_least / 10), words);
}

std::string shown_count(double number) {
  if (number < 10 && number != std::floor(number)) return fmt::format("{:.1f}", number);
  return fmt::format("{:.0f}", std::round(number / unit_of(number)) * unit_of(number));
}

std::string shown_count_bound(double number) {
  return fmt::format("{:.0f}", std::ceil(number / unit_of(number)) * unit_of(number));
}

}  // namespace sievecloth
