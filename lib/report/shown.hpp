// Numbers as shown in a report: in the unit in which the standards print the size, with the decimal mark of the language.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "report/words.hpp"
#include "sievecloth/assessment.hpp"

namespace sievecloth {

/// The expanded measurement uncertainty of the compared value [um], of K s where that is compared; empty if it is not fully known.
std::optional<double> expanded_uncertainty_um(const Assessment& assessment, const Criterion& criterion);

/// um below 1 mm, mm from there: one unit for the whole report, chosen by nominal size. A computed figure ends at the place of its
/// uncertainty (JCGM 100:2008, 7.2.6), or one place after the resolution if none is known; later, if it would otherwise round to a
/// limit or beyond it.
class Shown {
 public:
  /// `readings`: those that are shown, if any; like the extremes they tell how many digits were read.
  Shown(const Assessment& assessment, const Words& words, std::span<const Reading> readings = {});

  std::string_view unit() const noexcept { return symbol_; }
  double per_um() const noexcept { return 1 / um_per_unit_; }
  /// The length that is compared, without its unit.
  std::string observed(const Criterion& criterion) const;
  /// An acceptance limit of this criterion, ending where the compared value does; later, if it would otherwise not show on which
  /// side of it the value lies.
  std::string acceptance(const Criterion& criterion, Length limit) const;
  /// The signed distance to a limit; one that rounds to zero shows more digits.
  std::string margin(const Criterion& criterion) const;
  /// A computed figure that a criterion of this direction judges: ends at the same place as there.
  std::string figure(double um, CriterionId judged_by, Direction direction) const;
  /// A computed figure that nothing judges.
  std::string figure(double um) const;
  /// An expanded uncertainty with two significant digits, rounded up (JCGM 100:2008, 7.2.6), without its unit.
  std::string uncertainty(double um) const;
  /// A reading with the digits that were read: those of the resolution, more where some reading has more. Without its unit.
  std::string reading(Length length) const;
  /// A limit with every digit, without its unit.
  std::string exact(Length length) const;
  /// The same with the unit.
  std::string quantity(Length length) const;
  /// A count, or a share with two decimals.
  std::string count(std::int64_t n) const;
  std::string share(double percent) const;

 private:
  int decimals_needed(Length length) const;
  int decimals_of(const Criterion& criterion) const;
  int least_decimals(const Criterion& criterion) const;
  std::string fixed(double um, int decimals) const;
  bool keeps_its_side(const Criterion& criterion, int decimals) const;

  const Assessment& assessment_;
  const Words& words_;
  Unit unit_;
  std::string_view symbol_;
  double um_per_unit_;
  int decimals_read_ = 0;        // of readings
  int decimals_resolution_ = 0;  // of the instrument; if it is not known, of the readings
};

}  // namespace sievecloth
