// Which suspects there are: apertures, each of which may have readings in both directions.
#pragma once

#include <set>
#include <string>

#include "sievecloth/sample.hpp"

namespace sievecloth {

/// Tells suspects apart by their name: what the column `field` says of them or, where it is empty, their position.
class SuspectNames {
 public:
  /// Notes the name of a suspect that has an aperture; other readings, and suspects without a name, count for nothing.
  void add(const Reading& reading);
  /// The same of rows.
  void add(const ReadingColumns& rows);
  void merge(const SuspectNames& other);

  /// Suspects with a name; where there are more than k_most_named_suspects, one more than that.
  std::int64_t count() const noexcept { return static_cast<std::int64_t>(names_.size()); }

 private:
  bool full() const noexcept { return count() > k_most_named_suspects; }

  std::set<std::string> names_;
};

}  // namespace sievecloth
