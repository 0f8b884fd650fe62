// Document metadata that Cairo cannot write.
#pragma once

#include <string>

#include "sievecloth/report.hpp"

namespace sievecloth::pdf {

/// Sets the document language, requests that the title be displayed, and removes the creation date if the report was not issued:
/// Cairo would write the current time.
std::string with_catalogue(const std::string& pdf, const Report& report);

}  // namespace sievecloth::pdf
