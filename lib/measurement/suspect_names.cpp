#include "measurement/suspect_names.hpp"

#include <algorithm>
#include <array>
#include <string_view>

#include <fmt/format.h>

#include "base/text.hpp"

namespace sievecloth {
namespace {

// Blanks that spreadsheets and word processors leave behind, some of zero width.
constexpr auto k_blanks = std::to_array<std::string_view>({" ", "\t", "\u00a0", "\u2002", "\u2003", "\u2007", "\u2009", "\u200a",
                                                           "\u200b", "\u200c", "\u200d", "\u202f", "\u2060", "\u3000", "\ufeff"});

// Stands for letters beyond ASCII. What differs in them alone, as in case or in how an accent is written, is taken for one name.
constexpr char k_other = '\x7f';

std::string without_blanks(std::string text) {
  for (const std::string_view blank : k_blanks) {
    for (std::size_t at = 0; (at = text.find(blank, at)) != std::string::npos;) text.erase(at, blank.size());
  }
  return text;
}

// Lower case without blanks, since "S 2" and "s2" are the same to any reader; empty if no letter or digit is left.
std::string name_in(std::string_view field) {
  std::string name;
  for (const char c : without_blanks(lower_case(field))) {
    const auto byte = static_cast<unsigned char>(c);
    const bool is_accent = byte == 0xCC || byte == 0xCD;  // U+0300 to U+036F, which belong to the letter before
    if (is_accent && !name.empty()) name.pop_back();
    if (byte < 0x80) name += c;
    if (byte >= 0x80 && !name.ends_with(k_other)) name += k_other;
  }
  const auto is_sign = [](char c) { return is_digit(c) || (c >= 'a' && c <= 'z') || c == k_other; };
  return std::any_of(name.begin(), name.end(), is_sign) ? name : std::string();
}

std::string position_of(const Reading& reading) {
  return reading.x && reading.y ? fmt::format("at {} {}", reading.x->pm(), reading.y->pm()) : std::string();
}

}  // namespace

void SuspectNames::add(const Reading& reading) {
  if (reading.role != Role::suspect || !reading.aperture || full()) return;
  const std::string name = name_in(reading.field), position = position_of(reading);
  if (name.empty() && position.empty()) return;
  if (name.empty()) {
    if (!knows_all_positions() || named_positions_.contains(position)) return;
    names_.insert(position);
    return;
  }
  names_.insert("field " + name);
  if (position.empty()) return;
  names_.erase(position);
  if (knows_all_positions()) named_positions_.insert(position);
}

void SuspectNames::add(const ReadingColumns& rows) {
  for (std::size_t row = 0; row < rows.role.size(); ++row) {
    if (rows.role[row] == Role::suspect) add(rows.reading(row));
  }
}

}  // namespace sievecloth
