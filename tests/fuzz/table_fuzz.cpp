// Owners' tables: an accepted table can be used for judging, is in order and free of contradictions.
#include "fuzz.hpp"
#include "sievecloth/assessment.hpp"
#include "sievecloth/report.hpp"
#include "sievecloth/table_file.hpp"

using namespace sievecloth;
using namespace sievecloth::fuzz;

namespace {

void check_row(const Edition& edition, const Row& row) {
  demand(row.nominal > Length() && row.average_tolerance.value > Length() && row.maximum_tolerance.value > Length(),
         "limits above 0");
  demand(row.smallest_mean() < row.largest_mean(), "a mean has room");
  demand(row.wire.minimum.value <= row.wire.preferred.value && row.wire.preferred.value <= row.wire.maximum.value,
         "wires in order");
  const Result<const Row*> found = find_size(edition, row.designation);
  demand(found.ok() && *found == &row, "a row is found by its designation");
  const Specification specification{&edition, &row, edition.rules.graded ? std::optional(Grade::inspection) : std::nullopt};
  Sample sample = make_sample(specification);
  for (const Direction direction : k_directions) {
    Reading reading;
    reading.direction = direction;
    reading.aperture = row.largest_mean();
    reading.wire = row.wire.preferred.value;
    for (int i = 0; i < 11; ++i) sample.add(reading).value();
  }
  const Result<Assessment> assessment = assess(specification, sample, {.viewing_passed = true});
  demand(assessment.ok(), "a row can be judged with");
  for (const Criterion& criterion : assessment->criteria) {
    demand(criterion.id != CriterionId::average_aperture || criterion.outcome != Outcome::not_met, "limits are included");
  }
  demand(!to_json(*assessment).empty() && !to_text(*assessment).empty(), "it can be written");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const Result<TableFile> table = read_table(text, "table.yaml");
  if (!table.ok()) {
    demand_complaints(table.errors());
    return 0;
  }
  const Edition& edition = table->edition();
  demand(!edition.rows.empty(), "a table has rows");
  for (std::size_t i = 0; i < edition.rows.size(); ++i) {
    demand(i == 0 || edition.rows[i].nominal < edition.rows[i - 1].nominal, "rows from the largest to the smallest");
    check_row(edition, edition.rows[i]);
  }
  return 0;
}
