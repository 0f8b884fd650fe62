#include "yaml/stated_uncertainty.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <boost/math/distributions/students_t.hpp>

#include "base/in_double.hpp"

namespace sievecloth {
namespace {

// A plain decimal in quotes, strictly above 0.
std::optional<double> read_number(const YamlNode* node, double least, double most, std::string complaint, Complaints& complaints) {
  const std::optional<std::string> written = yaml_text(node, complaints);
  if (!written) return std::nullopt;
  const Result<Length> number = parse_length(*written, Unit::millimetre);  // a plain decimal; its unit does not matter
  const double value = number.ok() ? number->um() / 1000 : 0;
  if (number.ok() && value >= least && value <= most) return value;
  complaints.add(ErrorCode::wrong_value, node->mark.line, node->mark.column, std::move(complaint), *written,
                 fmt::format("a number from {} to {}, in quotes", least, most));
  return std::nullopt;
}

// No distribution that an uncertainty has covers more with less than the rectangular one: k is at least sqrt(3) p. With degrees of
// freedom it is Student's t (JCGM 100:2008, G.3), for which laboratories take 2 from about 25 on (common practice).
double least_factor(const StatedUncertainty& stated) {
  constexpr double k_rounded = 0.99, k_taken_for_t = 0.95;
  const double rectangular = k_rounded * std::sqrt(3.0) * *stated.coverage_probability;
  if (!stated.freedom) return rectangular;
  const boost::math::students_t_distribution<double, InDouble> student(*stated.freedom);
  return std::max(rectangular, k_taken_for_t * quantile(student, (1 + *stated.coverage_probability) / 2));
}

void check_coverage(const StatedUncertainty& stated, const YamlMapping& mapping, Complaints& complaints) {
  if (!stated.coverage_probability) return;
  const double least = least_factor(stated);
  if (stated.coverage_factor >= least) return;
  complaints.add(ErrorCode::wrong_value, mapping.mark().line, mapping.mark().column,
                 "a coverage factor too small for its probability",
                 fmt::format("k = {}, {:.4g} %", stated.coverage_factor, 100 * *stated.coverage_probability),
                 fmt::format("at least {:.3g}", least));
}

std::optional<StatedUncertainty> read_figure(const YamlNode* node, std::string_view name, Complaints& complaints) {
  if (node == nullptr) return std::nullopt;
  const YamlMapping figure(node, name, {{"expanded"}, {"coverage_factor", "coverage_probability", "degrees_of_freedom"}},
                           complaints);
  return read_stated_uncertainty(figure, complaints);
}

}  // namespace

std::optional<StatedUncertainty> read_stated_uncertainty(const YamlMapping& mapping, Complaints& complaints) {
  const std::optional<Length> expanded = yaml_length_with_unit(mapping["expanded"], complaints);
  StatedUncertainty stated;
  // 2 usually, about 14 at worst (Student's t with one degree of freedom is 12.7).
  const YamlNode* const factor = mapping["coverage_factor"];
  stated.coverage_factor = read_number(factor, 1, 100, "not a coverage factor", complaints).value_or(2);
  if (const std::optional<double> percent =
          read_number(mapping["coverage_probability"], 50, 99.99, "not a coverage probability in percent", complaints))
    stated.coverage_probability = *percent / 100;
  stated.freedom = read_number(mapping["degrees_of_freedom"], 1, 1e6, "not a number of degrees of freedom", complaints);
  if (factor == nullptr && (stated.coverage_probability || stated.freedom)) {
    complaints.add(ErrorCode::key_missing, mapping.mark().line, mapping.mark().column,
                   "a coverage probability or degrees of freedom without the factor they belong to", "", "coverage_factor");
  } else {
    check_coverage(stated, mapping, complaints);
  }
  if (!expanded) return std::nullopt;
  stated.expanded = *expanded;
  return stated;
}

std::vector<std::string_view> figure_keys() {
  std::vector<std::string_view> keys;
  for (const CertifiedFigure figure : k_certified_figures) keys.push_back(to_text(figure));
  return keys;
}

StatedUncertainties read_stated_uncertainties(const YamlMapping& mapping, Complaints& complaints) {
  StatedUncertainties stated;
  for (const CertifiedFigure figure : k_certified_figures)
    stated[figure] = read_figure(mapping[to_text(figure)], to_text(figure), complaints);
  return stated;
}

}  // namespace sievecloth
