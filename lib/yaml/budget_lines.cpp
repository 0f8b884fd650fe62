#include "yaml/budget_lines.hpp"

#include <array>
#include <cmath>
#include <utility>

#include <fmt/format.h>

namespace sievecloth {
namespace {

// Budgets are printed with few digits: 0.29 times 2 may stand as 0.6, and U = 0.95 as 1.0 or 0.94.
constexpr double k_rounding = 0.1, k_rounding_of_sum = 0.05;

/// A number and what stands behind it.
struct Quantity {
  double number = 0;
  std::string_view unit;
};

std::optional<Quantity> quantity_in(std::string_view text) {
  const std::size_t end = std::min(text.find_first_not_of("+-0123456789."), text.size());
  const Result<Length> number = parse_length(std::string(text.substr(0, end)), Unit::millimetre);  // a plain decimal
  if (!number.ok()) return std::nullopt;
  text.remove_prefix(std::min(text.find_first_not_of(' ', end), text.size()));
  return Quantity{number->um() / 1000, text};
}

// In micrometres; empty if it is no unit of length.
std::optional<double> length_unit(std::string_view unit) {
  constexpr std::array<std::pair<std::string_view, double>, 7> units{
      {{"um", 1}, {"\u00b5m", 1}, {"\u03bcm", 1}, {"nm", 0.001}, {"mm", 1000}, {"in", 25400}, {"in.", 25400}}};
  for (const auto& [name, size] : units) {
    if (unit == name) return size;
  }
  return std::nullopt;
}

// Value times sensitivity [um]; empty where their units do not tell.
std::optional<double> product(const Quantity& value, const Quantity& sensitivity) {
  const double number = value.number * sensitivity.number;
  if (sensitivity.unit.empty()) {
    const std::optional<double> unit = length_unit(value.unit);
    return unit ? std::optional(number * *unit) : std::nullopt;
  }
  const std::size_t slash = sensitivity.unit.find('/');
  const std::optional<double> unit = length_unit(sensitivity.unit.substr(0, slash));
  if (!unit) return std::nullopt;
  if (slash != std::string_view::npos && sensitivity.unit.substr(slash + 1) == value.unit) return number * *unit;
  if (slash != std::string_view::npos || (!value.unit.empty() && value.unit != "%")) return std::nullopt;
  return number * *unit * (value.unit == "%" ? 0.01 : 1);
}

class LineReader {
 public:
  explicit LineReader(Complaints& complaints) : complaints_(complaints) {}

  BudgetLine read(const YamlNode& item) {
    const YamlMapping line(&item, "a line of the budget", {{"source", "value"}, {"distribution", "sensitivity", "contribution"}},
                           complaints_);
    const auto text = [&](const char* key) { return yaml_text(line[key], complaints_).value_or(""); };
    BudgetLine read{text("source"), text("value"), text("distribution"), text("sensitivity"), text("contribution")};
    const std::optional<Quantity> value = quantity(line["value"]), sensitivity = quantity(line["sensitivity"]);
    const std::optional<double> contribution = length(line["contribution"]);
    all_known_ = all_known_ && contribution;
    if (!contribution) return read;
    squares_ += *contribution * *contribution;
    const std::optional<double> expected =
        value ? product(*value, line["sensitivity"] == nullptr ? Quantity{1, ""} : sensitivity.value_or(Quantity{0, "?"}))
              : std::nullopt;
    if (expected && std::fabs(std::fabs(*expected) - std::fabs(*contribution)) > k_rounding * std::fabs(*expected))
      complain(*line["contribution"], "a contribution that is not value times sensitivity", fmt::format("{:.3g} um", *expected));
    return read;
  }

  // The combined standard uncertainty [um]; empty where a line has no contribution.
  std::optional<double> combined() const { return all_known_ ? std::optional(std::sqrt(squares_)) : std::nullopt; }

 private:
  std::optional<Quantity> quantity(const YamlNode* node) {
    if (node == nullptr || node->kind != YamlNode::Kind::scalar) return std::nullopt;  // said already
    const std::optional<Quantity> read = quantity_in(node->text);
    if (!read) complain(*node, "no number", "a number, and its unit, such as 0.2 um");
    return read;
  }

  std::optional<double> length(const YamlNode* node) {
    const std::optional<Quantity> read = quantity(node);
    if (!read) return std::nullopt;
    const std::optional<double> unit = length_unit(read->unit);
    if (!unit) complain(*node, "a contribution is a length", "a number and um, nm, mm or in");
    return unit ? std::optional(read->number * *unit) : std::nullopt;
  }

  void complain(const YamlNode& node, std::string message, std::string expected) {
    complaints_.add(ErrorCode::wrong_value, node.mark.line, node.mark.column, std::move(message), node.text, std::move(expected));
  }

  Complaints& complaints_;
  double squares_ = 0;
  bool all_known_ = true;
};

}  // namespace

std::vector<BudgetLine> read_budget_lines(const YamlNode* node, const std::optional<StatedUncertainty>& mean,
                                          Complaints& complaints) {
  std::vector<BudgetLine> lines;
  if (node == nullptr) return lines;
  LineReader reader(complaints);
  for (const YamlNode& item : yaml_items(node, complaints)) lines.push_back(reader.read(item));
  const std::optional<double> combined = reader.combined();
  if (!combined || lines.empty() || !mean) return lines;
  const double expanded = mean->coverage_factor * *combined;
  if (mean->expanded.um() < (1 - k_rounding_of_sum) * expanded) {
    complaints.add(ErrorCode::wrong_value, node->mark.line, node->mark.column,
                   "an expanded uncertainty of the mean smaller than the lines of its budget give", to_text(mean->expanded),
                   fmt::format("at least {:.3g} um, {:.3g} times the root of the sum of their squares", expanded,
                               mean->coverage_factor));
  }
  return lines;
}

}  // namespace sievecloth
