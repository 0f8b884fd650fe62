// An assessment, and errors, as text and JSON.
#pragma once

#include <string>

#include "sievecloth/assessment.hpp"

namespace sievecloth {

/// One JSON document, `"schema": "sievecloth-assessment/1"`; docs/cli.md describes it. `*_um` are micrometres; every number is the
/// shortest decimal that gives back the nearest double.
std::string to_json(const Assessment& assessment);

/// Plain text: the verdict, a line for each criterion and direction, what was not examined, what makes it provisional.
std::string to_text(const Assessment& assessment);

/// Errors as one JSON document, `"schema": "sievecloth-error/1"`.
std::string to_json(const Errors& errors);

}  // namespace sievecloth
