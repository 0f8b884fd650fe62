// What Cairo cannot say about a document.
#pragma once

#include <string>

#include "sievecloth/report.hpp"

namespace sievecloth::pdf {

/// Names the language of the document, has its title shown, and takes out the date of creation where the report was not issued:
/// Cairo would write what the clock says.
std::string with_catalogue(const std::string& pdf, const Report& report);

}  // namespace sievecloth::pdf
