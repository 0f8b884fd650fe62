// sievecloth transcribe: from the copy of a standard on the desk to an owner's table.
#include <memory>

#include <fmt/format.h>

#include "base/complaints.hpp"
#include "base/text.hpp"
#include "files.hpp"
#include "input.hpp"
#include "output.hpp"
#include "sievecloth/specification.hpp"
#include "transcription.hpp"
#include "verbs.hpp"
#include "yaml/yaml_file.hpp"

namespace sievecloth::tool {
namespace {

constexpr std::size_t k_longest_sheet = 16u << 20;

struct Options {
  std::vector<std::string> sheets, sizes;
  Transcription transcription;
  std::string order = "table", accept, output;
  bool blank = false, overwrite = false;
};

Error usage(ErrorCode code, std::string message, std::string expected) {
  return {code, std::move(message), "", std::move(expected), {}};
}

// ---- a blank sheet

Result<std::vector<Length>> sizes_of(const Options& options, const Edition* nearest) {
  std::vector<Length> sizes;
  for (const std::string& text : options.sizes) {
    const Result<Length> length = parse_length_with_unit(text);
    const Result<Length> size = length.ok() ? length : find_nominal(text);
    if (!size.ok()) return size.errors();
    sizes.push_back(*size);
  }
  if (!sizes.empty()) return sizes;
  if (nearest == nullptr)
    return usage(ErrorCode::option_missing, "no edition of this standard is built in, so that its sizes are not known",
                 "--size SIZE for each");
  for (const Row& row : nearest->rows) sizes.push_back(row.nominal);
  return sizes;
}

int print_blank(const Options& options, const Verb& verb) {
  const Edition* nearest = nearest_edition(options.transcription.standard);
  const Result<std::vector<Length>> sizes = sizes_of(options, nearest);
  if (!sizes.ok()) return complain(sizes.errors(), false, &verb);
  return answer(blank_sheet(nearest, *sizes, options.order == "shuffled"));
}

// ---- two filled sheets

/// A name that tables accept: a standard and its edition.
bool is_edition_name(std::string_view name) {
  const std::size_t hyphen = name.rfind('-');
  return hyphen != std::string_view::npos && hyphen > 0 && hyphen + 1 < name.size() &&
         name.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789-.") == std::string_view::npos;
}

bool is_plain(const std::string& text) { return !text.empty() && printable(text, 4096) == text; }

Result<void> check_options(const Options& options) {
  const Transcription& who = options.transcription;
  if (!is_edition_name(who.standard))
    return usage(ErrorCode::option_value, "--standard: not the name of an edition", "such as astm-e11-17 or astm-e11-24");
  if (options.blank) return {};
  if (options.sheets.size() != 2)
    return usage(ErrorCode::option_missing, "two sheets are compared", "FIRST.csv SECOND.csv, or --blank");
  if (who.by.size() != 2)
    return usage(ErrorCode::option_missing, "who copied is not said", "--by NAME for each sheet, in the same order");
  if (lower_case(trimmed(who.by[0])) == lower_case(trimmed(who.by[1])))
    return usage(ErrorCode::option_conflict, "--by: one person cannot check his own copy", "two people");
  if (!is_plain(who.copy) || !is_plain(who.by[0]) || !is_plain(who.by[1]))
    return usage(ErrorCode::option_missing, "--copy and --by: empty, or characters that do not show",
                 "--copy TEXT --by NAME --by NAME");
  const YamlNode date{.kind = YamlNode::Kind::scalar, .text = who.date};
  Complaints complaints("");
  if (!yaml_date(&date, complaints)) return usage(ErrorCode::option_value, "--date: not a date", "YYYY-MM-DD");
  if (options.output.empty()) return usage(ErrorCode::option_missing, "--output is missing", "--output FILE.yaml");
  return {};
}

/// The two sheets must be two copies: neither one file nor one text.
Result<CopiedRows> read_copies(const Options& options) {
  std::vector<std::string> texts;
  std::vector<CopiedRows> copies;
  for (const std::string& file : options.sheets) {
    const Result<std::string> text = read_whole(file, k_longest_sheet);
    if (!text.ok()) return text.errors();
    texts.push_back(*text);
    Result<CopiedRows> copy = read_sheet(*text, file);
    if (!copy.ok()) return copy.errors();
    copies.push_back(*std::move(copy));
  }
  if (texts[0] == texts[1])
    return Error{ErrorCode::option_conflict,
                 "the same text as the first sheet",
                 "",
                 "a second person's own copy",
                 {options.sheets[1], 0, 0}};
  if (const Result<void> same = compare_copies(copies[0], copies[1]); !same) return same.errors();
  return std::move(copies[0]);
}

Result<std::optional<FileState>> name_files(const Options& options) {
  Files files(options.overwrite);
  for (const std::string& sheet : options.sheets) files.add_input(sheet);
  files.add_input(options.accept);
  if (const Result<void> added = files.add_output(options.output); !added) return added.errors();
  return files.may_write(options.output);
}

Result<std::string> table_of(const Options& options) {
  const Result<CopiedRows> rows = read_copies(options);
  if (!rows.ok()) return rows.errors();
  std::vector<Accepted> accepted;
  if (!options.accept.empty()) {
    const Result<std::string> yaml = read_whole(options.accept, k_longest_sheet);
    if (!yaml.ok()) return yaml.errors();
    Result<std::vector<Accepted>> read = read_accepted(*yaml, options.accept);
    if (!read.ok()) return read.errors();
    accepted = *std::move(read);
  }
  return make_table(options.transcription, *rows, accepted);
}

int run(const Options& options, const Verb& verb) {
  if (const Result<void> complete = check_options(options); !complete) return complain(complete.errors(), false, &verb);
  if (options.blank) return print_blank(options, verb);
  const Result<std::optional<FileState>> replaced = name_files(options);
  if (!replaced.ok()) return complain(replaced.errors(), false);
  const Result<std::string> table = table_of(options);
  if (!table.ok()) {
    const int code = complain(table.errors(), false);
    say("nothing was written; look each place up in the standard again (see docs/tables.md for --accept)");
    return code;
  }
  if (const Result<void> written = write_file(options.output, *table, *replaced); !written)
    return complain(written.errors(), false);
  return answer(fmt::format("{} written; give it to any verb with --tables {}\n", options.output, options.output));
}

}  // namespace

Verb transcribe_verb() {
  const auto options = std::make_shared<Options>();
  Transcription& who = options->transcription;
  return {
      "transcribe",
      "Makes an owner's table of an edition that two people copied from the standard, each on a sheet of his own.",
      "  sievecloth transcribe --blank --standard astm-e11-17 > first.csv\n"
      "  sievecloth transcribe --blank --standard astm-e11-17 --order shuffled > second.csv\n"
      "  sievecloth transcribe first.csv second.csv --standard astm-e11-17 --copy \"controlled copy No. 3\" --by \"A. Example\" "
      "--by \"B. Example\" --date 2026-11-30 --output e11.yaml",
      {{"SHEET", &options->sheets, "Two filled sheets, as CSV"},
       {"--standard", &who.standard, "Edition that is copied; it need not be built in", {.required = true}},
       {"--blank", &options->blank, "Print a sheet to fill in"},
       {"--size",
        &options->sizes,
        "With --blank: a size; by default all of the edition, or of the latest of its standard",
        {.needs = {"--blank"}}},
       {"--order",
        &options->order,
        "With --blank: shuffled for the second sheet",
        {.one_of = {"table", "shuffled"}, .needs = {"--blank"}}},
       {"--copy", &who.copy, "The copy of the standard, such as \"controlled copy No. 3\""},
       {"--by", &who.by, "Who filled in the sheet; twice, in the order of the sheets"},
       {"--date", &who.date, "When, as YYYY-MM-DD"},
       {"--accept", &options->accept, "Findings that the standard bears out, each with its reason, as YAML"},
       {"--output", &options->output, "The owner's table to write"},
       {"--overwrite", &options->overwrite, "Replace a file that is there"}},
      [options](const Verb& verb) { return run(*options, verb); }};
}

}  // namespace sievecloth::tool
