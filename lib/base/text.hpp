// Text functions shared by several modules. Independent of the locale.
#pragma once

#include <string>
#include <string_view>

namespace sievecloth {

/// The only spelling of a unit with the micro sign (U+00B5).
inline constexpr std::string_view k_um_symbol = "\u00b5m";

constexpr bool is_blank(char c) noexcept { return c == ' ' || c == '\t'; }
constexpr bool is_digit(char c) noexcept { return c >= '0' && c <= '9'; }
constexpr char to_lower(char c) noexcept { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

/// Returns `text` without blanks and tabs at either end.
std::string_view trimmed(std::string_view text) noexcept;

/// Returns `text` with ASCII letters in lower case and all other bytes unchanged.
std::string lower_case(std::string_view text);

/// True if `text` equals `word`, which is in lower case, ignoring the case of ASCII letters.
bool same_word(std::string_view text, std::string_view word) noexcept;

/// Returns the length in bytes (1 to 4) of the UTF-8 character that begins `text`, or 0 if there is none. Surrogates, overlong
/// forms and code points beyond U+10FFFF are invalid.
std::size_t utf8_length(std::string_view text) noexcept;

/// Returns the code point of one valid UTF-8 character.
char32_t code_point(std::string_view character) noexcept;

/// True for characters that show nothing, move the cursor or reorder the text around them: controls, line and paragraph separators,
/// zero-width spaces, bidirectional embeddings, overrides and isolates, and the like. Blanks are not among them.
bool is_invisible(char32_t character) noexcept;

/// True for blanks that look like a space and are none: U+00A0 and the spaces of other widths.
bool is_odd_blank(char32_t character) noexcept;

/// Returns the number of bytes before the first that is not UTF-8.
std::size_t utf8_prefix(std::string_view text) noexcept;

/// Returns the number of characters in `text`; a byte that is not UTF-8 counts as one.
std::size_t character_count(std::string_view text) noexcept;

/// Pads `text` with blanks to `width` characters, on the left if `right` is set; a longer text is returned unchanged.
std::string padded(std::string_view text, std::size_t width, bool right = false);

}  // namespace sievecloth
