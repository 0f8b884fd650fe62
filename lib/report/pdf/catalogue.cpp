#include "report/pdf/catalogue.hpp"

#include <qpdf/QPDF.hh>
#include <qpdf/QPDFWriter.hh>

#include <stdexcept>

namespace sievecloth::pdf {

std::string with_catalogue(const std::string& pdf, const Report& report) {
  QPDF document;
  document.setSuppressWarnings(true);
  document.setAttemptRecovery(false);
  document.processMemoryFile("report", pdf.data(), pdf.size());
  QPDFObjectHandle root = document.getRoot();
  root.replaceKey("/Lang", QPDFObjectHandle::newUnicodeString(report.source.wording.language));
  QPDFObjectHandle preferences = QPDFObjectHandle::newDictionary();
  preferences.replaceKey("/DisplayDocTitle", QPDFObjectHandle::newBool(true));
  root.replaceKey("/ViewerPreferences", preferences);
  if (report.source.job.paper.issued.empty()) document.getTrailer().getKey("/Info").removeKey("/CreationDate");
  QPDFWriter writer(document);
  writer.setOutputMemory();
  writer.setDeterministicID(true);
  writer.write();
  // What cannot be read, for example for lack of memory, is dropped with a warning.
  for (const QPDFExc& warning : document.getWarnings()) {
    const bool svg = report.source.letterhead.logo_kind == Letterhead::LogoKind::svg;
    throw std::runtime_error("the PDF is not sound (" + warning.getMessageDetail() + ")" +
                             (svg ? "; a link in a logo does this" : ""));
  }
  const std::shared_ptr<Buffer> bytes = writer.getBufferSharedPointer();
  return std::string(reinterpret_cast<const char*>(bytes->getBuffer()), bytes->getSize());
}

}  // namespace sievecloth::pdf
