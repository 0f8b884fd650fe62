// Text from outside made harmless for what it is put into.
#pragma once

#include <string>
#include <string_view>

namespace sievecloth {

/// For HTML text and for attributes in quotes.
std::string escaped_html(std::string_view text);

/// For a string in a style sheet that stands in HTML, in quotes of its own.
std::string quoted_css(std::string_view text);

/// For a cell of a Markdown table, or within a line that begins with something else: nothing in it is markup.
std::string escaped_markdown(std::string_view text);

/// For one cell of a CSV file that a spreadsheet may open: quoted where needed, and never taken for a formula.
std::string csv_cell(std::string_view text);

}  // namespace sievecloth
