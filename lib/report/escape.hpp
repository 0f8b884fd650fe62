// Escapes external text for the format it is inserted into.
#pragma once

#include <string>
#include <string_view>

namespace sievecloth {

/// For HTML text and quoted attributes.
std::string escaped_html(std::string_view text);

/// For a quoted string in a style sheet within HTML.
std::string quoted_css(std::string_view text);

/// For a cell of a Markdown table, or for a line that begins with something else: nothing in it acts as markup.
std::string escaped_markdown(std::string_view text);

/// For one cell of a CSV file that may be opened in a spreadsheet: quoted where needed, and never interpreted as a formula.
std::string csv_cell(std::string_view text);

}  // namespace sievecloth
