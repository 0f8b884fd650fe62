#include "report/shown.hpp"

#include <fmt/format.h>

#include "base/text.hpp"
#include "report/figures.hpp"

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

std::string Shown::uncertainty(double um) const { return words_.number(rounded_up(um * per_um_)); }

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
