// Data shared by all parts of a report.
#pragma once

#include "report/shown.hpp"
#include "sievecloth/report.hpp"

namespace sievecloth {

struct ReportContext {
  explicit ReportContext(const Report& made)
      : report(made),
        assessment(made.assessment),
        job(made.source.job),
        row(*assessment.specification.row),
        edition(*assessment.specification.edition),
        words(made.source.wording, vocabulary_of(edition)),
        shown(assessment, words, made.source.readings) {}
  ReportContext(const ReportContext&) = delete;  // `shown` points into it
  ReportContext& operator=(const ReportContext&) = delete;

  const Report& report;
  const Assessment& assessment;
  const Job& job;
  const Row& row;
  const Edition& edition;
  Words words;
  Shown shown;
};

}  // namespace sievecloth
