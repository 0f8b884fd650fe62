// Whether what a job says of corrected readings agrees with the readings (ISO/IEC 17025:2017, 7.5.2).
#pragma once

#include <vector>

#include "sievecloth/job.hpp"
#include "sievecloth/result.hpp"

namespace sievecloth {

/// Looks for the values that readings were corrected to.
class Corrections {
 public:
  explicit Corrections(const Job& job);

  /// True if there is nothing, or nothing more, to look for.
  bool done() const noexcept { return missing_.empty(); }
  void add(const Reading& reading);
  void add(const ReadingColumns& rows);

  /// Error: wrong_value (no reading has the value of the first of those that are left).
  Result<void> check() const;

 private:
  void find(Length value);

  std::vector<const CorrectionRecord*> missing_;
};

}  // namespace sievecloth
