#include "report/shown.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "base/text.hpp"

namespace sievecloth {
namespace {

bool is_small(const Assessment& assessment) { return assessment.specification.row->nominal < Length::of(1, Unit::millimetre); }

}  // namespace

Shown::Shown(const Assessment& assessment, const Words& words)
    : words_(words),
      unit_(is_small(assessment) ? Unit::micrometre : Unit::millimetre),
      symbol_(is_small(assessment) ? k_um_symbol : std::string_view("mm")),
      per_um_(is_small(assessment) ? 1 : 1e-3),
      decimals_(is_small(assessment) ? 3 : 5) {}

std::string Shown::computed(double um) const { return words_.number(fmt::format("{:.{}f}", um * per_um_, decimals_)); }

std::string Shown::uncertainty(double um) const {
  const double value = um * per_um_;
  if (!(value > 0)) return words_.number("0");
  const int place = static_cast<int>(std::floor(std::log10(value))) - 1;  // of the second significant digit
  const double step = std::pow(10.0, place);
  const double steps = std::ceil(value / step - 1e-9);
  return words_.number(fmt::format("{:.{}f}", steps * step, std::max(0, -place)));
}

std::string Shown::margin(double um) const {
  const std::string text = fmt::format("{:+.{}f}", um * per_um_, decimals_);
  const bool vanished = um != 0 && text.find_first_of("123456789") == std::string::npos;
  return words_.number(vanished ? fmt::format("{:+.1e}", um * per_um_) : text);
}

std::string Shown::exact(Length length) const { return words_.number(to_text(length, unit_)); }

std::string Shown::quantity(Length length) const { return fmt::format("{} {}", exact(length), symbol_); }

std::string Shown::count(std::int64_t n) const { return fmt::format("{}", n); }

std::string Shown::share(double percent) const { return words_.number(fmt::format("{:.2f}", percent)); }

}  // namespace sievecloth
