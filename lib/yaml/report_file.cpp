#include "sievecloth/report_file.hpp"

#include <algorithm>
#include <array>
#include <set>

#include <fmt/format.h>

#include "base/text.hpp"
#include "report/english.hpp"
#include "sievecloth/edition.hpp"
#include "yaml/stated_uncertainty.hpp"
#include "yaml/yaml_file.hpp"

namespace sievecloth {
namespace {

std::set<std::string_view> places(std::string_view text) {
  std::set<std::string_view> found;
  while (true) {
    const std::size_t open = text.find('{');
    const std::size_t close = text.find('}', std::min(open, text.size()));
    if (open == std::string_view::npos || close == std::string_view::npos) return found;
    found.insert(text.substr(open, close - open + 1));
    text.remove_prefix(close + 1);
  }
}

// Times that each place stands in a text, and characters of a text, beyond those of the English one: no language needs more, and a
// document must not grow out of a wording file.
constexpr std::size_t k_most_repeats = 3;
constexpr std::size_t k_most_growth = 4, k_most_more = 400;

std::size_t count_of(std::string_view text, std::string_view place) {
  std::size_t count = 0;
  for (std::size_t at = 0; (at = text.find(place, at)) != std::string_view::npos; at += place.size()) ++count;
  return count;
}

bool is_bounded(std::string_view text, std::string_view english) {
  const std::set<std::string_view> in_english = places(english);
  return text.size() <= k_most_growth * english.size() + k_most_more &&
         std::all_of(in_english.begin(), in_english.end(),
                     [&](std::string_view place) { return count_of(text, place) <= count_of(english, place) + k_most_repeats; });
}

void read_texts(const YamlNode* node, Wording& wording, Complaints& complaints) {
  YamlKeys keys;
  for (const EnglishText& entry : k_english) keys.optional.push_back(entry.key);
  const YamlMapping texts(node, "texts", keys, complaints);
  for (const EnglishText& entry : k_english) {
    const YamlNode* const value = texts[entry.key];
    std::optional<std::string> text = yaml_text(value, complaints);
    if (!text) continue;
    if (places(*text) != places(entry.text)) {
      complaints.add(ErrorCode::wrong_value, value->mark.line, value->mark.column, "not the places of the English text", *text,
                     fmt::format("all of the places in '{}', and no others", entry.text));
    }
    if (!is_bounded(*text, entry.text)) {
      complaints.add(ErrorCode::wrong_value, value->mark.line, value->mark.column, "a text that is too long", *text,
                     fmt::format("at most {} bytes, and each place at most {} times more than in '{}'",
                                 k_most_growth * entry.text.size() + k_most_more, k_most_repeats, entry.text));
    }
    wording.texts.emplace(entry.key, *std::move(text));
  }
}

std::set<std::string_view> texts_of_tables() {
  std::set<std::string_view> texts;
  for (const Edition* edition : built_in_editions()) {
    texts.insert(edition->rests_on);
    for (const Source& source : edition->sources) texts.insert(source.title);
  }
  return texts;
}

void read_table_texts(const YamlNode* node, Wording& wording, Complaints& complaints) {
  const std::set<std::string_view> english = texts_of_tables();
  const YamlMapping texts(node, "table_texts", {{}, {english.begin(), english.end()}}, complaints);
  for (const std::string_view key : english) {
    const YamlNode* const value = texts[key];
    std::optional<std::string> text = yaml_text(value, complaints);
    if (!text) continue;
    const std::size_t most = k_most_growth * key.size() + k_most_more;
    if (text->size() > most)
      complaints.add(ErrorCode::wrong_value, value->mark.line, value->mark.column, "a text that is too long", *text,
                     fmt::format("at most {} bytes", most));
    wording.table_texts.emplace(key, *std::move(text));
  }
}

void check_schema(const YamlNode* node, std::string_view schema, Complaints& complaints) {
  yaml_choice(node, std::span(&schema, 1), complaints);
}

bool is_language(std::string_view text) {
  const auto letter = [](char c) { return (to_lower(c) >= 'a' && to_lower(c) <= 'z') || is_digit(c) || c == '-'; };
  return text.size() >= 2 && text.size() <= 35 && std::all_of(text.begin(), text.end(), letter);
}

StatedUncertainties read_figures(const YamlNode* node, std::string_view name, Complaints& complaints) {
  if (node == nullptr) return {};
  const YamlMapping figures(node, name, {{}, figure_keys()}, complaints);
  return read_stated_uncertainties(figures, complaints);
}

std::optional<AccreditedScope> read_scope(const YamlNode* node, Complaints& complaints) {
  if (node == nullptr) return std::nullopt;
  const YamlMapping mapping(node, "scope", {{}, {"standards", "smallest", "largest", "figures"}}, complaints);
  AccreditedScope scope;
  if (mapping["standards"] != nullptr) {
    for (const YamlNode& item : yaml_items(mapping["standards"], complaints))
      scope.standards.push_back(yaml_text(&item, complaints).value_or(""));
  }
  scope.smallest = yaml_length_with_unit(mapping["smallest"], complaints);
  scope.largest = yaml_length_with_unit(mapping["largest"], complaints);
  if (scope.smallest && scope.largest && *scope.smallest > *scope.largest) {
    const YamlNode& at = *mapping["largest"];
    complaints.add(ErrorCode::wrong_value, at.mark.line, at.mark.column, "a scope that holds no size", at.text,
                   fmt::format("{} or more", to_text(*scope.smallest)));
  }
  if (mapping["figures"] != nullptr) {
    const std::vector<std::string_view> keys = figure_keys();
    for (const YamlNode& item : yaml_items(mapping["figures"], complaints)) {
      if (const std::optional<std::size_t> figure = yaml_choice(&item, keys, complaints))
        scope.figures.push_back(k_certified_figures[*figure]);
    }
  }
  return scope;
}

}  // namespace

Result<LaboratoryFile> read_laboratory(std::string_view yaml, const std::string& file) {
  const Result<YamlNode> root = parse_yaml(yaml, file);
  if (!root.ok()) return root.errors();
  Complaints complaints(file);
  const YamlMapping laboratory(&root.value(), "a laboratory",
                               {{"schema", "name"}, {"address", "accreditation", "logo", "wording", "uncertainty", "cmc", "scope"}},
                               complaints);
  check_schema(laboratory["schema"], "sievecloth-laboratory/1", complaints);
  const auto text = [&](std::string_view key) { return yaml_text(laboratory[key], complaints).value_or(""); };
  LaboratoryFile result;
  result.letterhead.name = text("name");
  if (laboratory["address"] != nullptr) {
    for (const YamlNode& line : yaml_items(laboratory["address"], complaints))
      result.letterhead.address.push_back(yaml_text(&line, complaints).value_or(""));
  }
  result.letterhead.accreditation = text("accreditation");
  result.budget = read_figures(laboratory["uncertainty"], "uncertainty", complaints);
  result.record.capability = read_figures(laboratory["cmc"], "cmc", complaints);
  result.record.scope = read_scope(laboratory["scope"], complaints);
  result.logo_file = text("logo");
  result.wording_file = text("wording");
  const std::string ending =
      lower_case(result.logo_file).substr(result.logo_file.size() - std::min<std::size_t>(4, result.logo_file.size()));
  if (ending == ".png") result.letterhead.logo_kind = Letterhead::LogoKind::png;
  if (ending == ".svg") result.letterhead.logo_kind = Letterhead::LogoKind::svg;
  if (!ending.empty() && result.letterhead.logo_kind == Letterhead::LogoKind::none) {
    const YamlMark at = laboratory["logo"]->mark;
    complaints.add(ErrorCode::wrong_value, at.line, at.column, "not a logo", result.logo_file, "a file that ends in .png or .svg");
  }
  if (!complaints.none()) return complaints.take();
  return result;
}

Result<Wording> read_wording(std::string_view yaml, const std::string& file) {
  const Result<YamlNode> root = parse_yaml(yaml, file);
  if (!root.ok()) return root.errors();
  Complaints complaints(file);
  const YamlMapping mapping(&root.value(), "a wording", {{"schema", "language", "decimal_mark", "texts"}, {"table_texts"}},
                            complaints);
  check_schema(mapping["schema"], "sievecloth-wording/1", complaints);
  Wording wording;
  wording.language = yaml_text(mapping["language"], complaints).value_or("en");
  if (!is_language(wording.language)) {
    const YamlMark at = mapping["language"]->mark;
    complaints.add(ErrorCode::wrong_value, at.line, at.column, "not a language", wording.language, "a tag such as de or en-GB");
  }
  constexpr auto marks = std::to_array<std::string_view>({".", ","});
  if (const std::optional<std::size_t> mark = yaml_choice(mapping["decimal_mark"], marks, complaints))
    wording.decimal_mark = marks[*mark].front();
  read_texts(mapping["texts"], wording, complaints);
  read_table_texts(mapping["table_texts"], wording, complaints);
  if (!complaints.none()) return complaints.take();
  return wording;
}

std::vector<std::string> missing_texts(const Wording& wording) {
  std::vector<std::string> missing;
  for (const EnglishText& entry : k_english) {
    if (!wording.texts.contains(std::string(entry.key))) missing.emplace_back(entry.key);
  }
  return missing;
}

std::string wording_template() {
  std::string yaml = "schema: sievecloth-wording/1\nlanguage: en\ndecimal_mark: \".\"\ntexts:\n";
  for (const EnglishText& entry : k_english) {
    yaml += fmt::format("  {}: \"", entry.key);
    for (const char c : entry.text) yaml += c == '"' || c == '\\' ? std::string("\\") + c : std::string(1, c);
    yaml += "\"\n";
  }
  return yaml;
}

}  // namespace sievecloth
