// The words that tables, reports and people use for provenances and grades.
#include <fmt/format.h>

#include "base/text.hpp"
#include "sievecloth/edition.hpp"

namespace sievecloth {

std::string_view to_text(Provenance provenance) noexcept {
  constexpr auto names =
      std::to_array<std::string_view>({"seen", "confirmed", "second-hand", "computed", "inferred", "doubtful", "memory"});
  static_assert(names.size() == k_provenances.size());
  return names[static_cast<std::size_t>(provenance)];
}

std::string_view to_text(Grade grade) noexcept {
  constexpr auto names = std::to_array<std::string_view>({"compliance", "inspection", "calibration"});
  return names[static_cast<std::size_t>(grade)];
}

Result<Grade> parse_grade(std::string_view text) {
  for (const Grade grade : k_grades) {
    if (lower_case(trimmed(text)) == to_text(grade)) return grade;
  }
  return Error{ErrorCode::unknown_grade, "unknown grade", printable(text), "compliance, inspection or calibration", {}};
}

}  // namespace sievecloth
