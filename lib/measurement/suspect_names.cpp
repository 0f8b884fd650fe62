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

// Lower case without blanks, since "S 2" and "s2" are the same to any reader; empty if no letter or digit is left.
std::string name_in(std::string_view field) {
  std::string name = lower_case(field);
  for (const std::string_view blank : k_blanks) {
    for (std::size_t at = 0; (at = name.find(blank, at)) != std::string::npos;) name.erase(at, blank.size());
  }
  const bool has_sign = std::any_of(name.begin(), name.end(), [](char c) {
    return is_digit(c) || (c >= 'a' && c <= 'z') || static_cast<unsigned char>(c) >= 0x80;
  });
  return has_sign ? name : std::string();
}

}  // namespace

void SuspectNames::add(const Reading& reading) {
  if (reading.role != Role::suspect || !reading.aperture || full()) return;
  if (const std::string name = name_in(reading.field); !name.empty()) {
    names_.insert("field " + name);
  } else if (reading.x && reading.y) {
    names_.insert(fmt::format("at {} {}", reading.x->pm(), reading.y->pm()));
  }
}

void SuspectNames::add(const ReadingColumns& rows) {
  for (std::size_t row = 0; row < rows.role.size(); ++row) {
    if (rows.role[row] == Role::suspect) add(rows.reading(row));
  }
}

}  // namespace sievecloth
