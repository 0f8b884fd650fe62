#include "owners_table.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "base/text.hpp"
#include "files.hpp"
#include "input.hpp"
#include "sievecloth/digest.hpp"
#include "sievecloth/specification.hpp"

namespace sievecloth::tool {
namespace {

constexpr std::size_t k_longest_table = 64u << 20;
/// Begins the last line of a transcription.
constexpr std::string_view k_seal = "# SHA-256 of the lines above: ";

// What distinguishes names and titles: not blanks, dashes, colons or leading zeros.
std::string letters_of(std::string_view text) {
  std::string letters;
  char last = ' ';
  for (const char c : lower_case(text)) {
    const bool is_leading_zero = c == '0' && !is_digit(last);
    last = c;
    if (!is_leading_zero && (is_digit(c) || (c >= 'a' && c <= 'z'))) letters += c;
  }
  return letters;
}

// "No. 200" means 75 um in every standard.
Result<void> check_alternatives(const Edition& owners, const std::string& file) {
  for (const Row& row : owners.rows) {
    for (const Edition* edition : built_in_editions()) {
      const Result<const Row*> known = row.alternative.empty() ? nullptr : find_size(*edition, row.alternative);
      if (!known.ok() || *known == nullptr || (*known)->nominal == row.nominal) continue;
      return Error{ErrorCode::option_conflict,
                   fmt::format("{} stands at {}", row.alternative, row.designation),
                   printable(row.alternative),
                   fmt::format("{}, as in {}", (*known)->designation, edition->name),
                   {file, 0, 0}};
    }
  }
  return {};
}

std::string sha256(std::string_view bytes) {
  Sha256 digest;
  digest.add(bytes);
  return digest.hexadecimal();
}

/// What was edited by hand after two people had agreed on it is not what they copied.
Result<void> check_seal(std::string_view yaml, const std::string& file) {
  const std::size_t at = yaml.rfind(k_seal);
  if (at != std::string_view::npos && sealed(std::string(yaml.substr(0, at))) == yaml) return {};
  return Error{ErrorCode::wrong_value,
               "a transcription that was altered after `sievecloth transcribe` wrote it",
               "",
               "the file as it was written; to change a value, change both sheets and transcribe again",
               {file, 0, 0}};
}

/// A table that nobody verified must not pass for another one.
Result<void> check_name(const Edition& own, const std::vector<const Edition*>& others, const std::string& file) {
  const auto built_in = built_in_editions();
  for (const Edition* edition : others) {
    const bool theirs = std::find(built_in.begin(), built_in.end(), edition) == built_in.end();
    if (letters_of(edition->name) == letters_of(own.name)) {
      return Error{ErrorCode::option_conflict,
                   theirs ? "the table has the name of another one" : "the table has the name of an edition that is built in",
                   std::string(own.name),
                   fmt::format("a name that is not taken for {}", edition->name),
                   {file, 0, 0}};
    }
    if (!theirs && letters_of(own.title).find(letters_of(edition->title)) != std::string::npos) {
      return Error{ErrorCode::option_conflict,
                   fmt::format("the table has the title of {}, which is built in", edition->title),
                   printable(own.title),
                   "a title of its own",
                   {file, 0, 0}};
    }
  }
  return {};
}

}  // namespace

std::string sealed(std::string yaml) { return fmt::format("{}{}{}\n", yaml, k_seal, sha256(yaml)); }

Result<OwnersTables> read_owners_tables(const std::vector<std::string>& files) {
  OwnersTables owners;
  for (const std::string& file : files) {
    if (const Result<void> apart = keep_answer_apart(file); !apart) return apart.errors();
    const Result<std::string> yaml = read_whole(file, k_longest_table);
    if (!yaml.ok()) return yaml.errors();
    std::vector<const Edition*> beneath = owners_editions(owners);
    beneath.insert(beneath.end(), built_in_editions().begin(), built_in_editions().end());
    Result<TableFile> table = read_table(*yaml, file, Overlay{beneath, sha256(*yaml)});
    if (!table.ok()) return table.errors();
    const Edition& edition = table->edition();
    const Result<void> may = edition.transcribed ? check_seal(*yaml, file) : check_name(edition, beneath, file);
    if (!may) return may.errors();
    if (const Result<void> known = check_alternatives(edition, file); !known) return known.errors();
    owners.push_back(*std::move(table));
  }
  return owners;
}

std::vector<const Edition*> owners_editions(const OwnersTables& owners) {
  std::vector<const Edition*> editions;
  for (auto table = owners.rbegin(); table != owners.rend(); ++table) editions.push_back(&table->edition());
  return editions;
}

std::vector<const Edition*> known_editions(const OwnersTables& owners) {
  const auto built_in = built_in_editions();
  std::vector<const Edition*> editions(built_in.begin(), built_in.end());
  for (const TableFile& table : owners) {
    const Edition& own = table.edition();
    const auto base = std::find_if(editions.begin(), editions.end(), [&](const Edition* known) { return known->name == own.name; });
    if (base == editions.end()) {
      editions.push_back(&own);
    } else {
      *base = &own;
    }
  }
  return editions;
}

}  // namespace sievecloth::tool
