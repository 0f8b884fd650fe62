#include "sievecloth/edition.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <string>

#include "base/text.hpp"

namespace sievecloth {
namespace {

std::string known_names() {
  std::string names;
  for (const Edition* edition : built_in_editions()) names += fmt::format("{}{}", names.empty() ? "" : ", ", edition->name);
  return "one of " + names;
}

Error name_error(ErrorCode code, std::string_view found, std::string message) {
  return {code, std::move(message), printable(found), known_names(), {}};
}

// `ISO 3310-1:2016` becomes `iso-3310-1-2016`.
std::string hyphenated(std::string_view name) {
  std::string plain = lower_case(trimmed(name));
  std::replace_if(
      plain.begin(), plain.end(), [](char c) { return c == ' ' || c == ':' || c == '_' || c == '/'; }, '-');
  plain.erase(std::unique(plain.begin(), plain.end(), [](char a, char b) { return a == '-' && b == '-'; }), plain.end());
  return plain;
}

std::string_view standard_of(const Edition& edition) { return edition.name.substr(0, edition.name.rfind('-')); }

// True if `part` is the whole of `name`, or a prefix or suffix of it delimited by a hyphen.
bool begins(std::string_view name, std::string_view part) {
  return name == part || (name.starts_with(part) && name.size() > part.size() && name[part.size()] == '-');
}
bool ends(std::string_view name, std::string_view part) {
  return name == part || (name.ends_with(part) && name.size() > part.size() && name[name.size() - part.size() - 1] == '-');
}

}  // namespace

std::vector<const Erratum*> Edition::errata_of(const Row& row) const {
  std::vector<const Erratum*> of_row;
  for (const Erratum& erratum : errata) {
    if (erratum.concerns(row)) of_row.push_back(&erratum);
  }
  return of_row;
}

std::vector<const ImplausibleValue*> Edition::implausible_values_of(const Row& row) const {
  std::vector<const ImplausibleValue*> of_row;
  for (const ImplausibleValue& implausible : doubts) {
    if (implausible.nominal == row.nominal) of_row.push_back(&implausible);
  }
  return of_row;
}

Result<const Edition*> find_edition(std::string_view name, std::span<const Edition* const> owners) {
  Result<const Edition*> built_in = find_edition(name);
  const auto own = std::find_if(owners.begin(), owners.end(), [&](const Edition* edition) {
    return edition->name == name && (edition->transcribed || !built_in.ok());
  });
  return own == owners.end() ? built_in : Result<const Edition*>(*own);
}

Result<const Edition*> find_edition(std::string_view name) {
  const auto editions = built_in_editions();
  for (const Edition* edition : editions) {
    if (edition->name == name) return edition;
  }
  const std::string plain = hyphenated(name);
  for (const Edition* edition : editions) {
    if (!plain.empty() && ends(edition->name, plain)) {
      return name_error(ErrorCode::unknown_standard, name,
                        fmt::format("not the name of an edition; {} may be meant", edition->name));
    }
  }
  for (const Edition* edition : editions) {
    const std::string_view standard = standard_of(*edition);
    if (!plain.empty() && (begins(standard, plain) || ends(standard, plain))) {
      return name_error(ErrorCode::edition_missing, name, "a standard without its edition, and none is the latest by itself");
    }
    if (begins(plain, standard)) return name_error(ErrorCode::unknown_standard, name, "no table of this edition is built in");
  }
  return name_error(ErrorCode::unknown_standard, name, "unknown standard");
}

}  // namespace sievecloth
