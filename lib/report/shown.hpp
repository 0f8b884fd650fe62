// Numbers as shown in a report: in the unit in which the standards print the size, with the decimal mark of the language.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "report/words.hpp"
#include "sievecloth/assessment.hpp"

namespace sievecloth {

/// um below 1 mm, mm from there: one unit for the whole report, chosen by nominal size.
class Shown {
 public:
  Shown(const Assessment& assessment, const Words& words);

  std::string_view unit() const noexcept { return symbol_; }
  double per_um() const noexcept { return per_um_; }
  /// A computed figure with fixed decimals (1 nm, or 10 nm from 1 mm), without its unit.
  std::string computed(double um) const;
  /// A signed distance to a limit; one that rounds to zero still shows on which side it is.
  std::string margin(double um) const;
  /// An expanded uncertainty with two significant digits, rounded up (JCGM 100:2008, 7.2.6), without its unit.
  std::string uncertainty(double um) const;
  /// A limit or a reading with every digit, without its unit.
  std::string exact(Length length) const;
  /// The same with the unit.
  std::string quantity(Length length) const;
  /// A count, or a share with two decimals.
  std::string count(std::int64_t n) const;
  std::string share(double percent) const;

 private:
  const Words& words_;
  Unit unit_;
  std::string_view symbol_;
  double per_um_;
  int decimals_;
};

}  // namespace sievecloth
