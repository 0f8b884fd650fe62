#include "report/document_kind.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace sievecloth {

Key document_key(DocumentKind kind) noexcept {
  switch (kind) {
    case DocumentKind::declaration_of_compliance: return "document.declaration-of-compliance";
    case DocumentKind::inspection_certificate: return "document.inspection-certificate";
    case DocumentKind::calibration_certificate: return "document.calibration-certificate";
    case DocumentKind::certificate_3_1: return "document.certificate-3-1";
    case DocumentKind::by_grade: break;
  }
  return "title.report";
}

namespace {

// In the job, or of a figure in the laboratory's file.
bool has_budget(const ReportContext& of) {
  const auto from_budget = [&](Direction direction) {
    const FigureUncertainties& known = of.assessment.uncertainty[direction];
    return std::any_of(k_certified_figures.begin(), k_certified_figures.end(),
                       [&](CertifiedFigure figure) { return known[figure] && known[figure]->from_budget; });
  };
  return of.job.measured.uncertainty || from_budget(Direction::warp) || from_budget(Direction::weft);
}

}  // namespace

bool is_certificate(const ReportContext& of) {
  if (of.job.paper.document != DocumentKind::by_grade) return true;
  return of.assessment.specification.grade == Grade::calibration && has_budget(of);
}

std::string missing_for_document(const ReportContext& of) {
  DocumentKind kind = of.job.paper.document;
  if (kind == DocumentKind::by_grade && is_certificate(of)) kind = DocumentKind::calibration_certificate;
  if (kind == DocumentKind::by_grade) return "";
  const Job& job = of.job;
  std::vector<std::string> missing;
  const auto need = [&](bool there, Key fact) {
    if (!there) missing.push_back(of.words(fact));
  };
  need(!job.paper.number.empty(), "fact.number");
  need(!job.paper.issued.empty(), "fact.issued");
  need(!of.report.source.letterhead.name.empty(), "fact.laboratory");
  need(!of.report.source.letterhead.address.empty(), "fact.laboratory-address");
  need(!job.paper.customer.empty(), "fact.customer");
  need(!job.paper.customer_address.empty() || !job.paper.customer_contact.empty(), "fact.customer-address");
  need(!job.paper.authorised_by.empty(), "fact.authorised");
  need(job.paper.replaces.empty() || !job.paper.amendment.empty(), "fact.amendment");
  need(!job.piece_record.serial.empty() || !job.piece_record.identification.empty(), "fact.identification");
  if (kind != DocumentKind::declaration_of_compliance) {
    need(!job.measured.by.empty(), "fact.by");
    need(!job.measured.date.empty(), "fact.date");
    need(!job.measured.place.empty(), "fact.place");
    need(!job.measured.instrument.empty(), "fact.instrument");
  }
  if (kind == DocumentKind::calibration_certificate) {
    const FigureUncertainties& warp = of.assessment.uncertainty[Direction::warp];
    const FigureUncertainties& weft = of.assessment.uncertainty[Direction::weft];
    need(warp.mean && weft.mean && warp.mean->complete && weft.mean->complete, "section.uncertainty");
    need(job.measured.scale && !job.measured.scale->certificate.empty(), "fact.scale");
    need(job.measured.scale && !job.measured.scale->traceability.empty(), "fact.traceability");
    need(!job.measured.temperature.empty(), "fact.temperature");
  }
  if (kind == DocumentKind::declaration_of_compliance || kind == DocumentKind::certificate_3_1)
    need(of.assessment.verdict == Verdict::conforms, "need.conforms");
  if (kind == DocumentKind::certificate_3_1) {
    need(!job.piece_record.heat.empty(), "fact.heat");
    need(!job.piece_record.material.empty(), "fact.material");
    need(!job.paper.order.empty(), "fact.order");
    need(!job.paper.authorised_as.empty(), "fact.authorised-as");
  }
  return fmt::format("{}", fmt::join(missing, "; "));
}

}  // namespace sievecloth
