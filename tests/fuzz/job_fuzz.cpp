// Job files: an accepted file can be judged and reported, and none of its text escapes from its place in the report.
#include <nlohmann/json.hpp>

#include "fuzz.hpp"
#include "sievecloth/job_file.hpp"
#include "sievecloth/report.hpp"

using namespace sievecloth;
using namespace sievecloth::fuzz;

namespace {

void demand_json(const std::string& json) { demand(nlohmann::json::accept(json), "JSON that others read"); }

// Every `<` in a report begins one of the tags that reports contain.
void demand_html(const std::string& html) {
  static constexpr std::string_view k_tags[] = {"!DOCTYPE", "address",    "body",   "br",    "circle", "dd",    "div",   "dl",
                                                "dt",       "figcaption", "figure", "g",     "h1",     "h2",    "head",  "header",
                                                "html",     "li",         "line",   "main",  "meta",   "p",     "path",  "polyline",
                                                "rect",     "section",    "strong", "style", "svg",    "table", "tbody", "td",
                                                "text",     "th",         "thead",  "title", "tr",     "ul"};
  for (std::size_t at = html.find('<'); at != std::string::npos; at = html.find('<', at + 1)) {
    const std::size_t begin = at + (html[at + 1] == '/' ? 2 : 1);
    const std::string_view name = std::string_view(html).substr(begin, html.find_first_of(" >/\n", begin) - begin);
    bool known = false;
    for (const std::string_view tag : k_tags) known = known || tag == name;
    if (!known) std::fprintf(stderr, "<%.*s\n", static_cast<int>(name.size()), name.data());
    demand(known, "no tag comes from outside");
  }
}

void demand_text(const std::string& text) {
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    demand_plain(std::string_view(text).substr(at, end - at));
    at = end + 1;
  }
}

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
  CsvReader reader({job.unit, job.ignore_columns, true, "job.yaml", job.readings.first_line, job.readings.indentation},
                   [&](const Reading& reading) {
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
  source.readings_file = "job.yaml";
  const Report report = make_report(assessment, std::move(source));
  demand_json(to_json(report));
  demand_html(to_html(report));
  demand_text(to_text(report));
  demand(!to_markdown(report).empty(), "it can be written");
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
