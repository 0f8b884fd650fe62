// Links every C++ part: an invalid owner's table, and the report on a piece that was not measured.
#include <cstdio>

#include <sievecloth/job_file.hpp>
#include <sievecloth/report.hpp>
#include <sievecloth/sievecloth.hpp>
#include <sievecloth/table_file.hpp>

using namespace sievecloth;

int main() {
  if (read_table("nonsense: 1\n", "table.yaml").ok() || read_job("nonsense: 1\n", "job.yaml").ok()) return 1;
  const Specification size = specify(*find_edition("iso-3310-1-2016").value(), "75 um", Grade::inspection).value();
  const Assessment assessment = assess(size, make_sample(size), {}).value();
  try {
    (void)find_edition("no-such-edition").value();
    return 1;
  } catch (const ErrorException& error) {  // thrown in the library, caught here: the type must be identical
    if (error.errors().empty()) return 1;
  }
  std::printf("%s", to_text(assessment).c_str());
  return assessment.verdict == Verdict::undecided ? 0 : 1;
}
