// One row of a table as a list of values, each with its source.
#pragma once

#include <string>
#include <vector>

#include "report/json.hpp"
#include "sievecloth/edition.hpp"

namespace sievecloth::tool {

struct RowItem {
  std::string label;  ///< `average aperture`; a value that differs by grade names it
  std::string text;   ///< `70.9 to 79.1 um`, in the unit that the standards print the size in
  Basis basis;
};

/// In table order. A value common to all grades appears once.
std::vector<RowItem> items_of(const Row& row);

/// `where`, `date`, `printed`, `used`, `reason`.
void write_erratum(JsonWriter& json, const Erratum& erratum);

/// `19 mm, wire.maximum: printed 3500, used 3600 (date). Reason.`
std::string erratum_text(const Erratum& erratum);

}  // namespace sievecloth::tool
