// Small pieces of text work that more than one module needs. No locale anywhere.
#pragma once

#include <string>
#include <string_view>

namespace sievecloth {

/// The one place where the micro sign (U+00B5) is spelt in a unit.
inline constexpr std::string_view k_um_symbol = "\u00b5m";

constexpr bool is_blank(char c) noexcept { return c == ' ' || c == '\t'; }
constexpr bool is_digit(char c) noexcept { return c >= '0' && c <= '9'; }
constexpr char to_lower(char c) noexcept { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

/// Without blanks and tabs at either end.
std::string_view trimmed(std::string_view text) noexcept;

/// ASCII letters in lower case, every other byte as it is.
std::string lower_case(std::string_view text);

/// Whether `text` is `word`, which is in lower case, without regard to the case of ASCII letters.
bool same_word(std::string_view text, std::string_view word) noexcept;

/// Bytes of the UTF-8 character that begins `text` (1 to 4), 0 where there is none. Surrogates, overlong forms and what lies
/// beyond U+10FFFF are none.
std::size_t utf8_length(std::string_view text) noexcept;

/// Bytes before the first that is not UTF-8.
std::size_t utf8_prefix(std::string_view text) noexcept;

/// Characters in `text`; a byte that is not UTF-8 counts as one.
std::size_t character_count(std::string_view text) noexcept;

/// Filled up with blanks to `width` characters, on the left where `right` is asked; a longer text as it is.
std::string padded(std::string_view text, std::size_t width, bool right = false);

}  // namespace sievecloth
