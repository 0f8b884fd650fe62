// Reports as one HTML file: no script, no external references, suitable for the screen and for A4 and Letter paper.
#include <algorithm>

#include <fmt/format.h>

#include "report/base64.hpp"
#include "report/escape.hpp"
#include "report/mark.hpp"
#include "report/words.hpp"
#include "sievecloth/report.hpp"

namespace sievecloth {
namespace {

constexpr std::string_view k_style = R"(
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 8mm 6mm; max-width: 200mm; background: #fff; color: #111;
  font: 10pt/1.4 "Liberation Sans", Arial, Helvetica, sans-serif; overflow-wrap: break-word; }
header { display: flex; flex-wrap: wrap; gap: 4mm 8mm; justify-content: space-between; align-items: flex-start;
  border-bottom: 1.5pt solid #111; padding-bottom: 4mm; }
header address { font-style: normal; font-size: 9pt; color: #333; }
header address strong { font-size: 11pt; color: #111; }
header img { max-height: 18mm; max-width: 60mm; }
h1 { font-size: 19pt; line-height: 1.2; font-weight: bold; margin: 6mm 0 3mm; }
h2 { font-size: 11pt; margin: 7mm 0 2mm; padding-bottom: 0.8mm; border-bottom: 0.5pt solid #999; break-after: avoid; }
p { margin: 1.5mm 0; }
.verdict { margin: 5mm 0; padding: 3mm 5mm; border: 0.5pt solid #111; border-left: 4pt solid #111; break-inside: avoid; }
.verdict p { margin: 0; }
.verdict .word { font-size: 15pt; font-weight: bold; line-height: 1.3; }
.verdict ul { margin: 1mm 0 0; }
ul { margin: 1mm 0; padding-left: 5mm; }
li { margin: 0.5mm 0; }
dl { margin: 0; display: grid; grid-template-columns: repeat(2, minmax(0, 1fr)); gap: 0.6mm 8mm; }
dl.wide { grid-template-columns: minmax(0, 1fr); }
dl div { display: grid; grid-template-columns: minmax(0, 38mm) minmax(0, 1fr); gap: 3mm; break-inside: avoid; }
dt { color: #444; }
dd { margin: 0; overflow-wrap: anywhere; }
.scroll { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; font-size: 9pt; font-variant-numeric: tabular-nums; }
th, td { text-align: left; vertical-align: baseline; padding: 0.7mm 2mm; border-bottom: 0.25pt solid #bbb; }
th:first-child, td:first-child { padding-left: 0; }
th:last-child, td:last-child { padding-right: 0; }
thead th { border-bottom: 0.75pt solid #111; font-weight: bold; vertical-align: bottom; }
tbody th { padding-top: 2mm; font-weight: bold; border-bottom: 0.25pt solid #666; }
tr.heading { break-after: avoid; }
td svg { display: block; max-width: none; }
.key { font-size: 8pt; color: #333; }
.side-by-side { columns: 46mm; column-gap: 6mm; }
.side-by-side td { padding-top: 0; padding-bottom: 0; }
.number { text-align: right; white-space: nowrap; }
thead .number { white-space: normal; }
tr, figure { break-inside: avoid; }
thead { display: table-header-group; }
figure.wide { grid-column: 1 / -1; }
.pictures { display: grid; grid-template-columns: repeat(2, minmax(0, 1fr)); gap: 3mm 6mm; margin: 2mm 0; }
figure { margin: 0; }
figure svg { display: block; width: 100%; height: auto; font-family: inherit; }
figcaption { font-size: 8pt; color: #333; }
figcaption strong { display: block; font-size: 9pt; color: #111; }
.signatures { display: grid; grid-template-columns: repeat(2, minmax(0, 1fr)); gap: 6mm; break-inside: avoid; }
.signatures p { margin-top: 16mm; padding-top: 1mm; border-top: 0.5pt solid #111; }
@media screen and (max-width: 600px) {
  body { padding: 4mm; }
  dl, .pictures, .signatures { grid-template-columns: minmax(0, 1fr); }
  dl div { grid-template-columns: minmax(0, 32mm) minmax(0, 1fr); }
  .scroll table { font-size: 7.5pt; }
  th, td { padding: 0.7mm 1mm; }
}
@media print {
  body { padding: 0; max-width: none; font-size: 9pt; }
  table { font-size: 8pt; }
  .scroll { overflow: visible; }
}
)";

// A short report is printed on one page.
constexpr std::string_view k_short_style = R"(
@media print {
  body { font-size: 7.4pt; line-height: 1.25; }
  header { padding-bottom: 2mm; }
  header address { font-size: 7.4pt; }
  h1 { font-size: 14pt; margin: 3mm 0 1.5mm; }
  h2 { font-size: 8.8pt; margin: 2.5mm 0 1mm; }
  p, ul { margin: 0.5mm 0; }
  li { margin: 0; }
  .verdict { margin: 2mm 0; padding: 1.5mm 4mm; }
  .verdict .word { font-size: 12pt; }
  dl { grid-template-columns: repeat(3, minmax(0, 1fr)); gap: 0.3mm 5mm; }
  dl div { grid-template-columns: minmax(0, 26mm) minmax(0, 1fr); }
  table { font-size: 7.2pt; }
  th, td { padding: 0.25mm 1.5mm; }
  tbody th { padding-top: 1mm; }
  .key { font-size: 6.8pt; }
  .signatures p { margin-top: 9mm; }
}
)";

// The page pattern as a list for `content`: words quoted, places replaced by counters.
std::string page_content(std::string_view pattern) {
  std::string content;
  while (!pattern.empty()) {
    const std::size_t open = std::min(pattern.find('{'), pattern.size());
    if (open > 0) content += quoted_css(pattern.substr(0, open)) + " ";
    pattern.remove_prefix(open);
    if (pattern.empty()) break;
    const std::size_t close = std::min(pattern.find('}'), pattern.size() - 1) + 1;
    content += pattern.substr(0, close) == "{pages}" ? "counter(pages) " : "counter(page) ";
    pattern.remove_prefix(close);
  }
  return content;
}

std::string page_style(const Report& report) {
  constexpr std::string_view k_small = "font: 8pt \"Liberation Sans\", Arial, Helvetica, sans-serif;";
  return fmt::format(
      "@page {{ margin: 16mm 15mm 18mm;\n  @top-center {{ content: {}; {} }}\n  @bottom-left {{ content: {}; {} }}\n  "
      "@bottom-right {{ "
      "content: {}; {} }}\n}}\n",
      quoted_css(report.page_head), k_small, quoted_css(report.title + " " + report.number), k_small,
      page_content(report.page_pattern), k_small);
}

struct HtmlWriter {
  std::string& html;

  void operator()(const Paragraph& paragraph) const { html += fmt::format("<p>{}</p>\n", escaped_html(paragraph.text)); }
  void operator()(const Notes& notes) const {
    html += "<ul>\n";
    for (const std::string& item : notes.items) html += fmt::format("<li>{}</li>\n", escaped_html(item));
    html += "</ul>\n";
  }
  void operator()(const Facts& facts) const {
    // Beside long values, one of the two columns would be mostly empty.
    const bool wide = std::any_of(facts.facts.begin(), facts.facts.end(), [](const Fact& fact) { return fact.value.size() > 80; });
    html += wide ? "<dl class=\"wide\">\n" : "<dl>\n";
    for (const Fact& fact : facts.facts)
      html += fmt::format("<div><dt>{}</dt><dd>{}</dd></div>\n", escaped_html(fact.name), escaped_html(fact.value));
    html += "</dl>\n";
  }
  void operator()(const Table& table) const {
    html += table.side_by_side ? "<div class=\"side-by-side\">" : "<div class=\"scroll\">";
    html += "<table>\n<thead><tr>";
    for (const TableColumn& column : table.columns)
      html += fmt::format("<th scope=\"col\"{}>{}</th>", number_class(column), escaped_html(column.title));
    html += "</tr></thead>\n<tbody>\n";
    bool fresh = true;  // no row in this body yet
    for (const auto& row : table.rows) {
      if (row.size() == 1) {
        if (!fresh) html += "</tbody>\n<tbody>\n";
        html += fmt::format("<tr class=\"heading\"><th scope=\"rowgroup\" colspan=\"{}\">{}</th></tr>\n", table.columns.size(),
                            escaped_html(row.front().text));
      } else {
        add_row(table, row);
      }
      fresh = false;
    }
    html += "</tbody>\n</table></div>\n";
    if (!table.key.empty()) html += fmt::format("<p class=\"key\">{}</p>\n", escaped_html(table.key));
  }
  void add_row(const Table& table, const std::vector<TableCell>& row) const {
    html += "<tr>";
    for (std::size_t i = 0; i < row.size(); ++i) {
      const std::string text = row[i].drawing ? to_svg(*row[i].drawing, "") : escaped_html(row[i].text);
      html += fmt::format("<td{}>{}</td>", number_class(table.columns[i]), row[i].strong ? "<strong>" + text + "</strong>" : text);
    }
    html += "</tr>\n";
  }
  static std::string_view number_class(const TableColumn& column) { return column.number ? " class=\"number\"" : ""; }

  void operator()(const Pictures& pictures) const {
    html += "<div class=\"pictures\">\n";
    for (const Picture& picture : pictures.pictures)
      html += fmt::format("<figure{}>\n{}<figcaption><strong>{}</strong>{}</figcaption>\n</figure>\n",
                          picture.wide ? " class=\"wide\"" : "", to_svg(picture.drawing, picture.title),
                          escaped_html(picture.title), escaped_html(picture.key));
    html += "</div>\n";
  }
  void operator()(const Signatures& signatures) const {
    html += "<div class=\"signatures\">\n";
    for (const std::string& name : signatures.names) html += fmt::format("<p>{}</p>\n", escaped_html(name));
    html += "</div>\n";
  }
};

std::string head(const Report& report) {
  const std::string title = escaped_html(fmt::format("{} {}: {}", report.title, report.number, report.subject));
  std::string html = fmt::format("<!DOCTYPE html>\n<html lang=\"{}\">\n<head>\n<meta charset=\"utf-8\">\n",
                                 escaped_html(report.source.wording.language));
  html += "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n";
  html += fmt::format("<meta name=\"sievecloth-report\" content=\"{}\">\n", report_mark(report.source.job));
  html += fmt::format("<title>{}</title>\n", title);
  const std::string& author = report.source.letterhead.name;
  if (!author.empty()) html += fmt::format("<meta name=\"author\" content=\"{}\">\n", escaped_html(author));
  return html + fmt::format("<style>{}{}{}</style>\n</head>\n", k_style, report.source.short_form ? k_short_style : "",
                            page_style(report));
}

std::string letterhead_html(const Letterhead& letterhead) {
  if (letterhead.name.empty() && letterhead.logo_kind == Letterhead::LogoKind::none) return "";
  std::string html = "<header>\n<address>";
  if (!letterhead.name.empty()) html += fmt::format("<strong>{}</strong>", escaped_html(letterhead.name));
  for (const std::string& line : letterhead.address) html += "<br>" + escaped_html(line);
  if (!letterhead.accreditation.empty()) html += "<br>" + escaped_html(letterhead.accreditation);
  html += "</address>\n";
  if (letterhead.logo_kind != Letterhead::LogoKind::none) {
    const std::string_view type = letterhead.logo_kind == Letterhead::LogoKind::png ? "image/png" : "image/svg+xml";
    html +=
        fmt::format("<img alt=\"{}\" src=\"data:{};base64,{}\">\n", escaped_html(letterhead.name), type, base64(letterhead.logo));
  }
  return html + "</header>\n";
}

std::string verdict_html(const Report& report) {
  std::string html = fmt::format("<div class=\"verdict\">\n<p>{}</p>\n<p class=\"word\">{}</p>\n", escaped_html(report.subject),
                                 escaped_html(report.verdict));
  if (!report.qualifiers.empty()) HtmlWriter{html}(Notes{report.qualifiers});
  return html + "</div>\n";
}

}  // namespace

std::string to_html(const Report& report) {
  std::string html = head(report) + "<body>\n" + letterhead_html(report.source.letterhead) + "<main>\n";
  if (!report.page_head.empty()) html += fmt::format("<p><strong>{}</strong></p>\n", escaped_html(report.page_head));
  html += fmt::format("<h1>{}</h1>\n", escaped_html(report.title));
  HtmlWriter{html}(Facts{report.facts});
  html += verdict_html(report);
  for (const Section& section : report.sections) {
    html += fmt::format("<section id=\"{}\">\n<h2>{}</h2>\n", escaped_html(section.id), escaped_html(section.title));
    for (const Block& block : section.blocks) std::visit(HtmlWriter{html}, block);
    html += "</section>\n";
  }
  return html + "</main>\n</body>\n</html>\n";
}

}  // namespace sievecloth
