// The words that tables, reports and people use for provenances and grades.
#include <fmt/format.h>

#include "base/text.hpp"
#include "sievecloth/edition.hpp"

namespace sievecloth {

std::string_view to_text(Provenance provenance) noexcept {
  switch (provenance) {
    case Provenance::seen: return "seen";
    case Provenance::confirmed: return "confirmed";
    case Provenance::second_hand: return "second-hand";
    case Provenance::computed: return "computed";
    case Provenance::inferred: return "inferred";
    case Provenance::doubtful: return "doubtful";
    case Provenance::memory: break;
  }
  return "memory";
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
