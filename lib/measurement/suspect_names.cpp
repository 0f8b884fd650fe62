#include "measurement/suspect_names.hpp"

#include <fmt/format.h>

#include "base/text.hpp"

namespace sievecloth {

void SuspectNames::add(const Reading& reading) {
  if (reading.role != Role::suspect || !reading.aperture || full()) return;
  if (!reading.field.empty()) {
    names_.insert("field " + lower_case(reading.field));
  } else if (reading.x && reading.y) {
    names_.insert(fmt::format("at {} {}", reading.x->pm(), reading.y->pm()));
  }
}

void SuspectNames::add(const ReadingColumns& rows) {
  for (std::size_t row = 0; row < rows.role.size(); ++row) {
    if (rows.role[row] == Role::suspect) add(rows.reading(row));
  }
}

}  // namespace sievecloth
