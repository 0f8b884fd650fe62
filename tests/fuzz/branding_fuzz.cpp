// A laboratory's files: its branding and the wording of its language. What is accepted makes a report that nothing escapes from,
// and that is not many times longer than the English one.
#include "report_demands.hpp"
#include "sievecloth/report_file.hpp"

using namespace sievecloth;
using namespace sievecloth::fuzz;

namespace {

// An undecided piece, so that most sentences are in its report.
const Assessment& piece() {
  static const Assessment assessment = [] {
    const Specification specification = specify(*find_edition("iso-3310-1-2016").value(), "75um", Grade::inspection).value();
    Sample sample = make_sample(specification);
    Reading reading;
    reading.aperture = Length::of(75, Unit::micrometre);
    sample.add(reading).value();
    return assess(specification, sample, Conditions{}).value();
  }();
  return assessment;
}

void check_report(Letterhead letterhead, Wording wording) {
  static const std::size_t english = to_text(make_report(piece(), ReportSource{})).size();
  ReportSource source;
  source.letterhead = std::move(letterhead);
  source.wording = std::move(wording);
  const Report report = make_report(piece(), std::move(source));
  demand_report(report);
  demand(to_text(report).size() < 100 * english, "a report does not grow out of a wording");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  Result<LaboratoryFile> laboratory = read_laboratory(text, "lab.yaml");
  Result<Wording> wording = read_wording(text, "de.yaml");
  demand(!laboratory.ok() || !wording.ok(), "no file is both");
  if (laboratory.ok()) {
    laboratory->letterhead.logo_kind = Letterhead::LogoKind::none;
    check_report(std::move(laboratory->letterhead), {});
  } else {
    demand_complaints(laboratory.errors());
  }
  if (wording.ok()) {
    check_report({}, *std::move(wording));
  } else {
    demand_complaints(wording.errors());
  }
  return 0;
}
