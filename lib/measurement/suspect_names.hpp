// The distinct suspects: apertures, each of which may have readings in both directions.
#pragma once

#include <set>
#include <string>

#include "sievecloth/sample.hpp"

namespace sievecloth {

/// Distinguishes suspects by name: the content of the column `field` or, if that is empty, their position.
class SuspectNames {
 public:
  /// Records the name of a suspect that has an aperture; ignores other readings and suspects without a name.
  void add(const Reading& reading);
  /// The same for rows.
  void add(const ReadingColumns& rows);

  /// Number of suspects with a name; k_most_named_suspects + 1 if there are more than k_most_named_suspects.
  std::int64_t count() const noexcept { return static_cast<std::int64_t>(names_.size()); }

 private:
  bool full() const noexcept { return count() > k_most_named_suspects; }
  // Once it does not, a position is no name any more: it may be that of a field.
  bool knows_all_positions() const noexcept { return static_cast<std::int64_t>(named_positions_.size()) <= k_most_named_suspects; }

  std::set<std::string> names_;            // fields, and positions that no field names
  std::set<std::string> named_positions_;  // of fields
};

}  // namespace sievecloth
