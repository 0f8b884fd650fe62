// The words that tables, reports and people use for provenances and grades.
#include <fmt/format.h>

#include "base/text.hpp"
#include "standards/names.hpp"

namespace sievecloth {

std::string_view to_text(Provenance value) noexcept { return word_of(value); }
std::string_view to_text(Grade value) noexcept { return word_of(value); }

Result<Grade> parse_grade(std::string_view text) {
  for (const Grade grade : k_grades) {
    if (lower_case(trimmed(text)) == to_text(grade)) return grade;
  }
  return Error{ErrorCode::unknown_grade, "unknown grade", printable(text), "compliance, inspection or calibration", {}};
}

}  // namespace sievecloth
