// What is demanded of every report, whoever wrote its texts.
#pragma once

#include <nlohmann/json.hpp>

#include "fuzz.hpp"
#include "sievecloth/report.hpp"

namespace sievecloth::fuzz {

inline void demand_json(const std::string& json) { demand(nlohmann::json::accept(json), "JSON that others read"); }

// Every `<` in a report begins one of the tags that reports contain.
inline void demand_html(const std::string& html) {
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

inline void demand_text(const std::string& text) {
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    demand_plain(std::string_view(text).substr(at, end - at));
    at = end + 1;
  }
}

inline void demand_report(const Report& report) {
  demand_json(to_json(report));
  demand_html(to_html(report));
  demand_text(to_text(report));
  demand(!to_markdown(report).empty(), "it can be written");
}

}  // namespace sievecloth::fuzz
