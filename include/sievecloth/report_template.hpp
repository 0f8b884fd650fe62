// A report in a custom layout.
#pragma once

#include <string>
#include <string_view>

#include "sievecloth/report.hpp"
#include "sievecloth/result.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// `html`: values filled in with `{{ }}` are escaped. `text`: they are inserted unchanged.
enum class TemplateKind { html, text };

/// Fills a Mustache template with the document of `to_json(report)` and with the report as it is shown: `shown.title`,
/// `shown.number`, `shown.subject`, `shown.verdict`, `shown.qualifiers`, `shown.facts` (`name`, `value`) and `shown.sections`
/// (`id`, `title` and the lists `paragraphs`, `notes`, `facts`, `tables` with `columns` and `rows`, `pictures` with `title`, `key`
/// and `svg`, `signatures`). docs/reports.md has an example. Errors: wrong_value (not a template).
Result<std::string> fill_template(const Report& report, std::string_view text, TemplateKind kind);

}  // namespace sievecloth
