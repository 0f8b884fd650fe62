#include "report/mark.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "sievecloth/digest.hpp"

namespace sievecloth {
namespace {

constexpr std::string_view k_prefix = "sievecloth-report/1 ";
constexpr std::string_view k_draft = "draft", k_unidentified = "unidentified";
constexpr std::size_t k_digits = 32;

// How a report begins and ends, and what is around its mark.
struct Place {
  std::string_view begin_of_document;
  std::string_view end_of_document;
  std::string_view before;
  std::string_view after;
};
constexpr Place k_places[] = {
    {"%PDF-", "%%EOF\n", "/Keywords (", ")"},
    {"<!DOCTYPE html>", "</html>\n", "<meta name=\"sievecloth-report\" content=\"", "\">"},
    {"{", "}\n", "\n  \"report\": {\n    \"mark\": \"", "\""},
    {"", "", "\n<!-- ", " -->\n"},  // Markdown, and below plain text: the last line
    {"", "", "\n", "\n"},
};

bool is_mark(std::string_view text) {
  if (!text.starts_with(k_prefix)) return false;
  text.remove_prefix(k_prefix.size());
  const auto is_hexadecimal = [](char c) { return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f'); };
  return text == k_draft || text == k_unidentified ||
         (text.size() == k_digits && std::all_of(text.begin(), text.end(), is_hexadecimal));
}

std::string_view last_line_of(std::string_view document) {
  const std::size_t end = document.substr(0, document.size() - 1).rfind('\n');
  return end == std::string_view::npos ? "" : document.substr(end);
}

std::string_view mark_at(const Place& place, std::string_view document) {
  if (!document.ends_with(place.end_of_document)) return "";
  if (place.begin_of_document.empty()) document = last_line_of(document);
  const std::size_t begin = document.find(place.before);
  if (begin == std::string_view::npos) return "";
  document.remove_prefix(begin + place.before.size());
  const std::string_view mark = document.substr(0, std::min(document.find(place.after), document.size()));
  return is_mark(mark) ? mark : "";
}

// Several reports in one file are none.
bool has_one_mark(std::string_view document) {
  std::size_t count = 0;
  for (std::size_t at = 0; (at = document.find(k_prefix, at)) != std::string_view::npos; at += k_prefix.size()) ++count;
  return count == 1;
}

}  // namespace

std::string report_mark(const Job& job) {
  const std::string& number = job.paper.number;
  if (number.empty()) return fmt::format("{}{}", k_prefix, k_draft);
  if (job.piece_record.identification.empty() && job.piece_record.serial.empty())
    return fmt::format("{}{}", k_prefix, k_unidentified);
  Sha256 digest;
  for (const std::string* part : {&number, &job.piece_record.identification, &job.piece_record.serial})
    digest.add(fmt::format("{}:{}", part->size(), *part));  // with its length: no two records run together
  return fmt::format("{}{}", k_prefix, digest.hexadecimal().substr(0, k_digits));
}

std::string_view mark_in(std::string_view document) {
  if (document.empty() || !has_one_mark(document)) return "";
  for (const Place& place : k_places) {
    if (!document.starts_with(place.begin_of_document)) continue;
    const std::string_view mark = mark_at(place, document);
    if (!mark.empty() || !place.begin_of_document.empty()) return mark;
  }
  return "";
}

bool may_replace(std::string_view existing, std::string_view mark) {
  if (!is_mark(existing)) return false;
  existing.remove_prefix(k_prefix.size());
  return existing == k_draft || (existing != k_unidentified && mark.ends_with(existing));
}

}  // namespace sievecloth
