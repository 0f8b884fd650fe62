#include "check/corrections.hpp"

#include <fmt/format.h>

namespace sievecloth {

Corrections::Corrections(const Job& job) {
  for (const CorrectionRecord& row : job.corrected) missing_.push_back(&row);
}

void Corrections::find(Length value) {
  std::erase_if(missing_, [&](const CorrectionRecord* row) { return row->value == value; });
}

void Corrections::add(const Reading& reading) {
  if (reading.aperture) find(*reading.aperture);
  if (reading.wire) find(*reading.wire);
}

void Corrections::add(const ReadingColumns& rows) {
  for (const auto& column : {rows.aperture, rows.wire}) {
    for (std::size_t row = 0; row < column.size() && !done(); ++row) find(column[row]);
  }
}

Result<void> Corrections::check() const {
  if (done()) return {};
  const CorrectionRecord& row = *missing_.front();
  return Error{ErrorCode::wrong_value, fmt::format("no reading is {}, to which one was corrected", to_text(row.value)), row.now,
               "the value as it now stands in the readings", row.where};
}

}  // namespace sievecloth
