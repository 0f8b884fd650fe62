#include "report/limit_scale.hpp"

#include <algorithm>

#include "report/plot.hpp"

namespace sievecloth {
namespace {

constexpr double k_width = 78;
constexpr double k_height = 11;
constexpr double k_middle = k_height / 2;
constexpr double k_edge = 4;  // room for an arrow
constexpr Grey k_accepted = 0.86;

// What is drawn, all in one unit.
struct ScaledValue {
  double value = 0;
  std::optional<double> lower, upper;                        // tolerance limits
  std::optional<double> acceptance_lower, acceptance_upper;  // as moved by the decision rule
  double allowance = 0;                                      // from the ideal value to a limit
  std::optional<double> uncertainty;
};

std::optional<ScaledValue> scaled_length(const ReportContext& of, const Criterion& criterion) {
  const std::optional<double> allowance = allowance_um(criterion, of.row);
  if (!criterion.observed_um || !allowance || *allowance <= 0) return std::nullopt;
  const auto um = [](const std::optional<Length>& limit) { return limit ? std::optional(limit->um()) : std::nullopt; };
  ScaledValue compared{*criterion.observed_um, um(criterion.lower), um(criterion.upper), {}, {}, *allowance, {}};
  compared.acceptance_lower = um(criterion.acceptance_lower);
  compared.acceptance_upper = um(criterion.acceptance_upper);
  compared.uncertainty = expanded_uncertainty_um(of.assessment, criterion);
  return compared;
}

std::optional<ScaledValue> scaled_value(const ReportContext& of, const Criterion& criterion) {
  const Compared kind = compared_by(criterion.id);
  if (kind == Compared::length) return scaled_length(of, criterion);
  if (!criterion.observed || !criterion.limit || *criterion.limit <= 0) return std::nullopt;
  const bool count = kind == Compared::count;
  return ScaledValue{*criterion.observed,
                     count ? criterion.limit : std::nullopt,
                     count ? std::nullopt : criterion.limit,
                     {},
                     {},
                     *criterion.limit,
                     {}};
}

Axis axis_of(const ScaledValue& compared) {
  const double inside = 1.2 * compared.allowance;
  const double beyond = 0.6 * compared.allowance;
  const double low = compared.lower ? *compared.lower - beyond : *compared.upper - inside;
  const double high = compared.upper ? *compared.upper + beyond : *compared.lower + inside;
  return {low, high, k_edge, k_width - k_edge};
}

class ScalePainter {
 public:
  explicit ScalePainter(const ScaledValue& compared) : compared_(compared), axis_(axis_of(compared)) {}

  Drawing draw() {
    const double left = at(compared_.acceptance_lower ? compared_.acceptance_lower : compared_.lower, axis_.low);
    const double right = at(compared_.acceptance_upper ? compared_.acceptance_upper : compared_.upper, axis_.high);
    if (left < right) add(AreaShape{{left, 2}, right - left, k_height - 4, k_accepted});
    add(LineShape{{axis_.from, k_middle}, {axis_.to, k_middle}, {0.6, 0.4, {}}});
    limit(compared_.lower, 0, 1.2);
    limit(compared_.upper, 0, 1.2);
    limit(compared_.acceptance_lower, 2, 0.5);
    limit(compared_.acceptance_upper, 2, 0.5);
    if (compared_.uncertainty) uncertainty(*compared_.uncertainty);
    value();
    return std::move(drawing_);
  }

 private:
  void add(Shape shape) { drawing_.shapes.push_back(std::move(shape)); }
  double at(const std::optional<double>& value, double otherwise) const {
    return axis_(std::clamp(value.value_or(otherwise), axis_.low, axis_.high));
  }

  void limit(const std::optional<double>& limit, double inset, double width) {
    if (!limit) return;
    add(LineShape{{axis_(*limit), inset}, {axis_(*limit), k_height - inset}, {0, width, {}}});
  }

  // A cap at an end says that it ends there.
  void uncertainty(double expanded) {
    const double low = compared_.value - expanded, high = compared_.value + expanded;
    if (high < axis_.low || low > axis_.high) return;
    add(LineShape{{at(low, low), k_middle}, {at(high, high), k_middle}, {0, 1, {}}});
    for (const double end : {low, high}) {
      if (end < axis_.low || end > axis_.high) continue;
      add(LineShape{{axis_(end), k_middle - 2.4}, {axis_(end), k_middle + 2.4}, {0, 0.8, {}}});
    }
  }

  void value() {
    if (compared_.value < axis_.low) return arrow(0, 1);
    if (compared_.value > axis_.high) return arrow(k_width, -1);
    add(CircleShape{{axis_(compared_.value), k_middle}, 1.9, true, {0, 0, {}}});
  }

  void arrow(double tip, double inwards) {
    add(LineShape{{tip, k_middle}, {tip + 9 * inwards, k_middle}, {0, 1.2, {}}});
    add(PathShape{{{tip + 3.5 * inwards, k_middle - 3}, {tip, k_middle}, {tip + 3.5 * inwards, k_middle + 3}}, {0, 1.2, {}}});
  }

  const ScaledValue& compared_;
  const Axis axis_;
  Drawing drawing_{k_width, k_height, {}};
};

}  // namespace

std::optional<Drawing> limit_scale(const ReportContext& of, const Criterion& criterion) {
  const std::optional<ScaledValue> known = scaled_value(of, criterion);
  if (!known || (!known->lower && !known->upper)) return std::nullopt;
  return ScalePainter(*known).draw();
}

}  // namespace sievecloth
