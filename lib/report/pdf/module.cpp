#include "report/pdf/module.hpp"

#include <cairo-pdf.h>

#include <exception>
#include <mutex>
#include <new>

#include <fmt/format.h>

#include "report/mark.hpp"
#include "report/pdf/canvas.hpp"
#include "report/pdf/catalogue.hpp"
#include "report/pdf/layout.hpp"
#include "report/pdf/logo.hpp"
#include "sievecloth/version.hpp"

namespace sievecloth {
namespace {

cairo_status_t append(void* closure, const unsigned char* data, unsigned int length) noexcept {
  try {
    static_cast<std::string*>(closure)->append(reinterpret_cast<const char*>(data), length);
    return CAIRO_STATUS_SUCCESS;
  } catch (const std::bad_alloc&) {
    return CAIRO_STATUS_NO_MEMORY;
  }
}

void set_metadata(cairo_surface_t* surface, const Report& report) {
  const auto set = [&](cairo_pdf_metadata_t what, const std::string& text) {
    if (!text.empty()) cairo_pdf_surface_set_metadata(surface, what, text.c_str());
  };
  set(CAIRO_PDF_METADATA_TITLE, fmt::format("{} {}: {}", report.title, report.number, report.subject));
  set(CAIRO_PDF_METADATA_AUTHOR, report.source.letterhead.name);
  set(CAIRO_PDF_METADATA_SUBJECT, report.verdict);
  set(CAIRO_PDF_METADATA_KEYWORDS, report_mark(report.source.job));
  set(CAIRO_PDF_METADATA_CREATOR, fmt::format("sievecloth {}", k_version));
  // The day of issue, never the clock. A report without one gets a placeholder day, which with_catalogue removes.
  const std::string& issued = report.source.job.paper.issued;
  set(CAIRO_PDF_METADATA_CREATE_DATE, (issued.empty() ? "2000-01-01" : issued) + "T00:00:00Z");
}

void draw_page(cairo_surface_t* surface, cairo_t* cairo, const pdf::Page& page, std::size_t number, const pdf::Fonts& fonts) {
  pdf::draw(cairo, page.drawing, fonts);
  for (const pdf::Page::Mark& mark : page.marks) {
    const std::string place = fmt::format("page={} pos=[{:.1f} {:.1f}]", number, pdf::k_margin, mark.y);
    cairo_pdf_surface_add_outline(surface, CAIRO_PDF_OUTLINE_ROOT, mark.title.c_str(), place.c_str(),
                                  static_cast<cairo_pdf_outline_flags_t>(0));
  }
  cairo_show_page(cairo);
}

// Returns an empty text, or the error.
std::string draw_pages(const Report& report, const std::vector<pdf::Page>& pages, const pdf::Fonts& fonts, std::string& drawn) {
  cairo_surface_t* const surface = cairo_pdf_surface_create_for_stream(append, &drawn, pdf::k_page_width, pdf::k_page_height);
  set_metadata(surface, report);
  cairo_t* const cairo = cairo_create(surface);
  std::string complaint = pdf::draw_logo(cairo, report.source.letterhead);
  for (std::size_t i = 0; i < pages.size(); ++i) draw_page(surface, cairo, pages[i], i + 1, fonts);
  const cairo_status_t drawn_status = cairo_status(cairo);  // after a failure it draws nothing more and reports it only here
  cairo_destroy(cairo);
  cairo_surface_finish(surface);
  const cairo_status_t written_status = cairo_surface_status(surface);
  cairo_surface_destroy(surface);
  for (const cairo_status_t status : {drawn_status, written_status}) {
    if (complaint.empty() && status != CAIRO_STATUS_SUCCESS) complaint = cairo_status_to_string(status);
  }
  return complaint;
}

std::u32string missing_characters(const std::vector<pdf::Page>& pages, const pdf::Fonts& fonts) {
  std::u32string missing;
  for (const pdf::Page& page : pages) {
    for (const Shape& shape : page.drawing.shapes) {
      if (const auto* text = std::get_if<TextShape>(&shape)) fonts.add_missing(text->text, missing);
    }
  }
  return missing;
}

// Returns an empty text, or the error.
std::string write(const Report& report, Pdf& pdf) {
  // Created once and kept: Cairo references fonts for longer than a document.
  static const pdf::Fonts& fonts = *new pdf::Fonts();
  const std::vector<pdf::Page> pages = pdf::lay_out(report, fonts);
  std::string drawn, again;
  for (std::string* const bytes : {&drawn, &again}) {
    if (std::string complaint = draw_pages(report, pages, fonts, *bytes); !complaint.empty()) return complaint;
  }
  // In a few places Cairo silently omits what it has no memory for, but not twice in the same place.
  if (drawn != again) return cairo_status_to_string(CAIRO_STATUS_NO_MEMORY);
  pdf.bytes = pdf::with_catalogue(drawn, report);
  pdf.missing = missing_characters(pages, fonts);
  return "";
}

// Returns an empty text, or what went wrong.
std::string try_logo(const Letterhead& letterhead) {
  std::string drawn;
  cairo_surface_t* const surface = cairo_pdf_surface_create_for_stream(append, &drawn, pdf::k_page_width, pdf::k_page_height);
  cairo_t* const cairo = cairo_create(surface);
  std::string complaint = pdf::draw_logo(cairo, letterhead);
  cairo_destroy(cairo);
  cairo_surface_finish(surface);
  const cairo_status_t status = cairo_surface_status(surface);
  cairo_surface_destroy(surface);
  return complaint.empty() && status != CAIRO_STATUS_SUCCESS ? cairo_status_to_string(status) : complaint;
}

// Calls `body` if the caller is of this version; exceptions become its complaint.
template <class Body>
std::string guarded(const char* version, Body body) {
  try {
    return version == k_version ? body() : fmt::format("it is of version {}, not {}", k_version, version);
  } catch (const std::bad_alloc&) {
    return "out of memory";
  } catch (const std::exception& error) {  // of the fonts, or of the library that completes the catalogue
    return error.what();
  }
}

}  // namespace
}  // namespace sievecloth

/// See module.hpp. One call at a time: the fonts are shared.
extern "C" __attribute__((visibility("default"))) void sievecloth_write_pdf(const char* version, const sievecloth::Report& report,
                                                                            sievecloth::Pdf& pdf, std::string& complaint) {
  static std::mutex mutex;
  const std::lock_guard lock(mutex);
  complaint = sievecloth::guarded(version, [&] { return sievecloth::write(report, pdf); });
}

/// See module.hpp.
extern "C" __attribute__((visibility("default"))) void sievecloth_draw_logo(const char* version,
                                                                            const sievecloth::Letterhead& letterhead,
                                                                            std::string& complaint) {
  complaint = sievecloth::guarded(version, [&] { return sievecloth::try_logo(letterhead); });
}
