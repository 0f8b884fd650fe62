// Laboratory branding and report wording, as YAML.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "sievecloth/report.hpp"
#include "sievecloth/result.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// The contents of a laboratory file; file names as written, relative to its folder. Empty if not given.
struct LaboratoryFile {
  Letterhead letterhead;       ///< without the logo itself
  LaboratoryRecord record;     ///< capability and accredited scope
  StatedUncertainties budget;  ///< uncertainties that hold where a job states none
  std::string logo_file;       ///< image file of the logo
  std::string wording_file;    ///< file of the wording
};

/// Reads a laboratory file: `schema: sievecloth-laboratory/1`, `name`, and optionally `address` (a list of lines), `accreditation`,
/// `uncertainty` and `cmc` (each with `mean`, `largest`, `standard_deviation`, `wire`), `scope` (`standards`, `smallest`,
/// `largest`, `figures`), `logo` (a file that ends in .png or .svg) and `wording` (a file). No other file is opened. Errors: the
/// 3xx family.
Result<LaboratoryFile> read_laboratory(std::string_view yaml, const std::string& file);

/// Reads the wording of a language: `schema: sievecloth-wording/1`, `language` (BCP 47), `decimal_mark` (point or comma) and
/// `texts`, a mapping with keys of the English wording and the same {places} in each text. What is missing stays English.
/// `table_texts` may translate titles of sources and what a table rests on, by their English. Errors: the 3xx family.
Result<Wording> read_wording(std::string_view yaml, const std::string& file);

/// The keys of the English wording that `wording` lacks, in their order.
std::vector<std::string> missing_texts(const Wording& wording);

/// The English wording as such a file: the starting point of a translation.
std::string wording_template();

}  // namespace sievecloth
