#include "sievecloth/plausibility.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <optional>

namespace sievecloth {
namespace {

/// No known edition requires fewer apertures or wires in a direction.
constexpr std::int64_t k_fewest = 10;
/// No known edition permits more than 6 % of the apertures above the intermediate limit.
constexpr std::int32_t k_largest_share = 10;

/// One value per row; empty where the row has none.
struct Column {
  std::string name;
  std::function<std::optional<double>(const Row&)> um;
};

std::optional<double> um(const std::optional<Limit>& limit) { return limit ? std::optional(limit->value.um()) : std::nullopt; }

std::vector<Column> columns_of_lengths() {
  std::vector<Column> columns{
      {"average_tolerance", [](const Row& row) { return row.average_tolerance.value.um(); }},
      {"maximum_tolerance", [](const Row& row) { return row.maximum_tolerance.value.um(); }},
      {"intermediate_limit", [](const Row& row) { return um(row.intermediate_limit); }},
      {"wire.preferred", [](const Row& row) { return row.wire.preferred.value.um(); }},
      {"wire.minimum", [](const Row& row) { return row.wire.minimum.value.um(); }},
      {"wire.maximum", [](const Row& row) { return row.wire.maximum.value.um(); }},
  };
  for (const Grade grade : k_grades) {
    columns.push_back({fmt::format("standard_deviation_limit.{}", to_text(grade)),
                       [grade](const Row& row) { return um(row.standard_deviation_limit[grade]); }});
  }
  return columns;
}

class Search {
 public:
  explicit Search(const Edition& edition) : edition_(edition) {}

  std::vector<Implausibility> run() {
    for (const Column& column : columns_of_lengths()) {
      check_falling(column);
      check_gaps(column);
    }
    for (const Grade grade : k_grades) check_counts(grade);
    check_tolerance("maximum_tolerance", largest_by_formula, [](const Row& row) { return row.maximum_tolerance.value.um(); });
    check_tolerance("average_tolerance", average_by_formula, [](const Row& row) { return row.average_tolerance.value.um(); });
    for (std::size_t i = 0; i < edition_.rows.size(); ++i) {
      check_wire(i);
      check_spread(edition_.rows[i]);
      check_intermediate(edition_.rows[i]);
      check_rules(edition_.rows[i]);
    }
    return std::move(findings_);
  }

  static double largest_by_formula(double w_um) { return 2.0 / 3 * std::pow(w_um, 0.75) + 4 * std::pow(w_um, 0.25); }
  static double average_by_formula(double w_um) { return std::pow(w_um, 0.98) / 27 + 1.6; }

 private:
  /// If two rows do not fit each other, either may be wrong: both are doubted.
  void find(const Row& row, std::string_view value, const std::string& text, const Row* other = nullptr) {
    const bool explained = is_explained(row, value) || (other != nullptr && is_explained(*other, value));
    add(row, value, text, explained);
    if (other != nullptr) add(*other, value, fmt::format("{}: {}", row.designation, text), explained);
  }

  bool is_explained(const Row& row, std::string_view value) const {
    return std::any_of(edition_.errata.begin(), edition_.errata.end(),
                       [&](const Erratum& erratum) { return speaks_of(erratum, row, value); });
  }

  void add(const Row& row, std::string_view value, std::string text, bool explained) {
    findings_.push_back({&row, std::string(value), std::move(text), explained});
  }

  /// An erratum of `wire` covers `wire.maximum` too.
  static bool speaks_of(const Erratum& erratum, const Row& row, std::string_view value) {
    const std::string_view named = erratum.value;
    return erratum.concerns(row) && (named == value || (value.starts_with(named) && value[named.size()] == '.'));
  }

  void check_falling(const Column& column) {
    const Row* last = nullptr;
    for (const Row& row : edition_.rows) {
      const auto value = column.um(row);
      if (!value) continue;
      if (last != nullptr && *value > *column.um(*last)) {
        find(row, column.name, fmt::format("{} is above {} of {}", *value, *column.um(*last), last->designation), last);
      }
      last = &row;
    }
  }

  /// A value that larger and smaller sizes have but this one lacks was probably forgotten.
  void check_gaps(const Column& column) {
    const auto has = [&](const Row& row) { return column.um(row).has_value(); };
    const auto first = std::find_if(edition_.rows.begin(), edition_.rows.end(), has);
    const auto last = std::find_if(edition_.rows.rbegin(), edition_.rows.rend(), has).base();
    if (first == edition_.rows.end()) return;
    for (auto row = first; row != last; ++row) {
      if (!has(*row)) find(*row, column.name, "is missing, though larger and smaller sizes have it");
    }
  }

  void check_counts(Grade grade) {
    const Row* last_row = nullptr;
    std::optional<std::int64_t> last;
    for (const Row& row : edition_.rows) {
      const std::optional<Count>& count = row.counts[grade];
      if (!count) continue;
      if (count->value < k_fewest) {
        find(row, fmt::format("counts.{}", to_text(grade)), fmt::format("{} is fewer than {}", count->value, k_fewest));
      }
      const bool first_number = last == k_all;
      if (last && !first_number && (count->value < *last || count->value == k_all)) {
        find(row, fmt::format("counts.{}", to_text(grade)), "does not go on from the next larger size", last_row);
      }
      last = count->value;
      last_row = &row;
    }
  }

  /// A rule of the edition applies to every row.
  void check_rules(const Row& row) {
    const std::int64_t count = edition_.rules.wire_count.value;
    if (count < k_fewest) find(row, "wire_count", fmt::format("{} is fewer than {}", count, k_fewest));
    const std::optional<ShareRule>& share = edition_.rules.share;
    if (share && share->percent > k_largest_share)
      find(row, "share", fmt::format("{} % is more than {} %", share->percent, k_largest_share));
  }

  /// Roughly half way from w + Y to w + X: Z = (X + Y) / 2.
  void check_intermediate(const Row& row) {
    if (!row.intermediate_limit) return;
    const double above_um = row.intermediate_limit->value.um() - row.nominal.um();
    const double ratio = 2 * above_um / (row.average_tolerance.value.um() + row.maximum_tolerance.value.um());
    if (ratio > 0.9 && ratio < 1.1) return;
    find(row, "intermediate_limit", fmt::format("lies {:.2f} (X + Y)/2 above the nominal aperture, not about 1", ratio));
  }

  void check_tolerance(std::string_view name, double (*formula)(double), const std::function<double(const Row&)>& tolerance) {
    std::vector<double> ratios;
    for (const Row& row : edition_.rows) ratios.push_back(tolerance(row) / formula(row.nominal.um()));
    std::vector<double> sorted = ratios;
    std::sort(sorted.begin(), sorted.end());
    const double middle = sorted[sorted.size() / 2];
    const double factor = middle > 0.75 && middle < 1.35 ? middle : 1;  // in a table of few rows most of them may be wrong
    for (std::size_t i = 0; i < ratios.size(); ++i) {
      const double off = ratios[i] / factor;
      if (off > 0.7 && off < 1.4) continue;
      find(edition_.rows[i], name, fmt::format("{:.2f} times the formula of ISO 3310-1, not about {:.2f}", ratios[i], factor));
    }
  }

  void check_wire(std::size_t index) {
    const Row& row = edition_.rows[index];
    const WireRange& wire = row.wire;
    const double preferred_um = wire.preferred.value.um();
    const double lower = wire.minimum.value.um() / preferred_um;
    const double upper = wire.maximum.value.um() / preferred_um;
    const double usual_um = 376 * std::pow(row.nominal.um() / 1000, 0.767);  // fits the wires of ISO 3310-1
    if (preferred_um < 0.4 * usual_um || preferred_um > 2.5 * usual_um)
      find(row, "wire.preferred", fmt::format("{} is far from the {:.0f} that this aperture usually has", preferred_um, usual_um));
    if (lower < 0.80) find(row, "wire.minimum", fmt::format("{:.3f} of the preferred wire, not 0.80 to 1", lower));
    if (upper > 1.22) find(row, "wire.maximum", fmt::format("{:.3f} of the preferred wire, not 1 to 1.22", upper));
    for (const Row& other : edition_.rows.subspan(index + 1)) {
      if (other.wire.preferred.value != wire.preferred.value) continue;
      const auto compare = [&](std::string_view name, const Limit& here, const Limit& there) {
        if (here.value == there.value) return;
        find(row, name, fmt::format("{} is {} at {} for the same wire", here.value.um(), there.value.um(), other.designation),
             &other);
      };
      compare("wire.minimum", wire.minimum, other.wire.minimum);
      compare("wire.maximum", wire.maximum, other.wire.maximum);
      return;  // that row is compared with the next one itself
    }
  }

  void check_spread(const Row& row) {
    const auto& limit = row.standard_deviation_limit;
    const auto compliance = um(limit[Grade::compliance]);
    const auto inspection = um(limit[Grade::inspection]);
    const auto calibration = um(limit[Grade::calibration]);
    if (compliance && inspection && *inspection > *compliance) {
      find(row, "standard_deviation_limit.inspection", "above the limit of compliance");
    }
    if (inspection && calibration && *inspection > *calibration) {
      find(row, "standard_deviation_limit.inspection", "above the limit of calibration");
    }
    if ((inspection && !compliance) || (calibration && !inspection)) {
      find(row, inspection ? "standard_deviation_limit.compliance" : "standard_deviation_limit.inspection",
           "is missing, though a grade of smaller samples has it");
    }
    // The limit for compliance follows the tolerances closely; those for smaller samples are up to half as strict again.
    check_ratio(row, Grade::compliance, compliance, 3.45);
    if (inspection != compliance) check_ratio(row, Grade::inspection, inspection, 5.2);
    if (calibration != compliance) check_ratio(row, Grade::calibration, calibration, 5.2);
  }

  void check_ratio(const Row& row, Grade grade, const std::optional<double>& limit_um, double most) {
    if (!limit_um) return;
    const double tolerances_um = row.average_tolerance.value.um() + row.maximum_tolerance.value.um();
    const double ratio = tolerances_um / *limit_um * (1 + row.nominal.um() / 125'000);
    if (ratio > 3.05 && ratio < most) return;
    const std::string value = fmt::format("standard_deviation_limit.{}", to_text(grade));
    const bool explained =
        is_explained(row, value) || is_explained(row, "average_tolerance") || is_explained(row, "maximum_tolerance");
    add(row, value, fmt::format("(X + Y)/s x (1 + w/125 mm) is {:.2f}, not 3.05 to {}", ratio, most), explained);
  }

  const Edition& edition_;
  std::vector<Implausibility> findings_;
};

std::string range(const Edition& edition, double (*formula)(double), Limit Row::*tolerance) {
  const auto ratio = [&](const Row& row) { return (row.*tolerance).value.um() / formula(row.nominal.um()); };
  const auto [low, high] = std::minmax_element(edition.rows.begin(), edition.rows.end(),
                                               [&](const Row& a, const Row& b) { return ratio(a) < ratio(b); });
  return fmt::format("{:.2f} to {:.2f}", ratio(*low), ratio(*high));
}

}  // namespace

std::vector<Implausibility> find_implausible(const Edition& edition) { return Search(edition).run(); }

std::string describe_tolerances(const Edition& edition) {
  return fmt::format("X is {} times 2/3 w^0.75 + 4 w^0.25, Y is {} times w^0.98 / 27 + 1.6 (um)",
                     range(edition, Search::largest_by_formula, &Row::maximum_tolerance),
                     range(edition, Search::average_by_formula, &Row::average_tolerance));
}

}  // namespace sievecloth
