// Job files: an accepted file can be judged and reported, and none of its text escapes from its place in the report.
#include "report_demands.hpp"
#include "sievecloth/check.hpp"
#include "sievecloth/job_file.hpp"

using namespace sievecloth;
using namespace sievecloth::fuzz;

namespace {

// The piece as the tool would check it.
std::optional<Result<Assessment>> checked(const Job& job, std::vector<Reading>& readings) {
  if (!job.standard || !job.size || job.readings.text.empty()) return std::nullopt;
  const Result<const Edition*> edition = find_edition(job.standard->text);
  if (!edition.ok()) return std::nullopt;
  std::optional<Grade> grade;
  if (job.grade) {
    const Result<Grade> parsed = parse_grade(job.grade->text);
    if (!parsed.ok()) return std::nullopt;
    grade = *parsed;
  }
  const Result<Specification> specification = specify(**edition, job.size->text, grade);
  if (!specification.ok()) return std::nullopt;
  Sample sample = make_sample(*specification);
  CsvReader reader(csv_options_of(job, "job.yaml"), [&](const Reading& reading) {
    sample.add(reading).value();
    readings.push_back(reading);
  });
  reader.feed(job.readings.text);
  if (const Result<std::int64_t> rows = reader.finish(); !rows.ok()) {
    demand_complaints(rows.errors());
    return std::nullopt;
  }
  Conditions conditions{.piece = job.piece,
                        .resolution = job.measured.resolution,
                        .measured_only = job.measured_only,
                        .apertures_only = job.apertures_only,
                        .only_seen = job.only_seen};
  if (job.viewing) conditions.viewing_passed = job.viewing->passed;
  if (job.agreed_count) conditions.agreed_count = job.agreed_count->value;
  return assess(*specification, sample, conditions);
}

void check_report(const Assessment& assessment, Job job, std::vector<Reading> readings) {
  ReportSource source;
  source.job = std::move(job);
  source.readings = std::move(readings);
  source.annex = true;
  source.files = {{"job.yaml"}};
  demand_report(make_report(assessment, std::move(source)));
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const Result<Job> job = read_job(text, "job.yaml");
  if (!job.ok()) {
    demand_complaints(job.errors());
    demand_json(to_json(job.errors()));
    return 0;
  }
  std::vector<Reading> readings;
  const std::optional<Result<Assessment>> assessment = checked(*job, readings);
  if (!assessment) return 0;
  if (!assessment->ok()) {
    demand_complaints(assessment->errors());
    return 0;
  }
  check_report(**assessment, *job, std::move(readings));
  return 0;
}
