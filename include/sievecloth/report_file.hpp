// A laboratory's own face, and the words of a language, as YAML.
#pragma once

#include <string>
#include <string_view>

#include "sievecloth/report.hpp"
#include "sievecloth/result.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// What a laboratory's file says; names of files as written, relative to the folder of that file. Empty where not given.
struct LaboratoryFile {
  Letterhead letterhead;     ///< without the bytes of the logo
  std::string logo_file;     ///< of the picture
  std::string wording_file;  ///< of the words
};

/// Reads a laboratory's file: `schema: sievecloth-laboratory/1`, `name`, and optionally `address` (a list of lines),
/// `accreditation`, `logo` (a file that ends in .png or .svg) and `wording` (a file). No other file is opened. Errors: the 3xx
/// family.
Result<LaboratoryFile> read_laboratory(std::string_view yaml, const std::string& file);

/// Reads the words of a language: `schema: sievecloth-wording/1`, `language` (BCP 47), `decimal_mark` (point or comma) and `texts`,
/// a mapping that has every key of the English wording with the same {places}. Errors: the 3xx family.
Result<Wording> read_wording(std::string_view yaml, const std::string& file);

/// The English wording as such a file: what a translation begins with.
std::string wording_template();

}  // namespace sievecloth
