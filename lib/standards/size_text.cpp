#include "standards/size_text.hpp"

#include <algorithm>
#include <array>
#include <initializer_list>
#include <optional>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "base/text.hpp"

namespace sievecloth {
namespace {

// `'No. 200'` for `Nr. 200` and `No. 200 mesh`: one number alone, and a word that says whose it is.
std::optional<std::string> sieve_number_meant(std::string_view plain) {
  constexpr std::array<std::string_view, 3> words{"no", "nr", "number"};
  if (std::none_of(words.begin(), words.end(), [&](auto word) { return plain.find(word) != std::string_view::npos; }))
    return std::nullopt;
  const std::size_t begin = plain.find_first_of("0123456789");
  if (begin == std::string_view::npos) return std::nullopt;
  const std::size_t end = std::min(plain.find_first_not_of("0123456789", begin), plain.size());
  if (plain.find_first_of("0123456789", end) != std::string_view::npos) return std::nullopt;
  return fmt::format("'No. {}'", plain.substr(begin, end - begin));
}

Error malformed(std::string_view text, std::string_view plain) {
  return {
      ErrorCode::malformed_size, "not a size", printable(text), sieve_number_meant(plain).value_or(std::string(k_spellings)), {}};
}

// Lower case, blanks as plain spaces, one spelling of the micrometre, fractions with their slash.
std::string normalised(std::string_view text) {
  constexpr std::array<std::pair<std::string_view, std::string_view>, 11> spellings{{
      {"\u00b5m", "um"},  // micro sign
      {"\u03bcm", "um"},  // Greek mu
      {"\u00a0", " "},
      {"\u202f", " "},
      {"\u00bc", " 1/4"},
      {"\u00bd", " 1/2"},
      {"\u00be", " 3/4"},
      {"\u215b", " 1/8"},
      {"\u215c", " 3/8"},
      {"\u215d", " 5/8"},
      {"\u215e", " 7/8"},
  }};
  std::string plain;
  while (!text.empty()) {
    const auto spelling =
        std::find_if(spellings.begin(), spellings.end(), [&](const auto& s) { return text.starts_with(s.first); });
    if (spelling == spellings.end()) {
      plain += to_lower(text.front());
      text.remove_prefix(1);
    } else {
      plain += spelling->second;
      text.remove_prefix(spelling->first.size());
    }
  }
  return std::string(trimmed(plain));
}

constexpr int k_most_digits = 15;

std::optional<std::int64_t> whole(std::string_view digits) {
  if (digits.empty() || digits.size() > k_most_digits || !std::all_of(digits.begin(), digits.end(), is_digit)) return std::nullopt;
  std::int64_t value = 0;
  for (const char c : digits) value = value * 10 + (c - '0');
  return value;
}

std::optional<Ratio> decimal(std::string_view text) {
  const std::size_t mark = text.find_first_of(".,");
  if (mark == std::string_view::npos) {
    const auto value = whole(text);
    return value ? std::optional(Ratio{*value, 1}) : std::nullopt;
  }
  const std::string_view decimals = text.substr(mark + 1);
  const auto units = whole(text.substr(0, mark));
  const auto all = whole(std::string(text.substr(0, mark)) + std::string(decimals));
  if (!units || !all || decimals.empty()) return std::nullopt;
  Ratio ratio{*all, 1};
  for (std::size_t i = 0; i < decimals.size(); ++i) ratio.denominator *= 10;
  return ratio;
}

// `3/8`, `3 1/2` and `3-1/2`.
std::optional<Ratio> fraction(std::string_view text) {
  const std::size_t slash = text.find('/');
  std::string_view before = trimmed(text.substr(0, slash));
  const auto denominator = whole(trimmed(text.substr(slash + 1)));
  std::optional<std::int64_t> units = 0;
  if (const std::size_t gap = before.find_first_of(" -"); gap != std::string_view::npos) {
    units = whole(before.substr(0, gap));
    before = trimmed(before.substr(gap + 1));
  }
  const auto numerator = whole(before);
  constexpr std::int64_t k_largest = 10'000;
  if (!units || !numerator || !denominator || *denominator == 0) return std::nullopt;
  if (*units > k_largest || *numerator > k_largest || *denominator > k_largest) return std::nullopt;
  return Ratio{*units * *denominator + *numerator, *denominator};
}

std::optional<Ratio> number(std::string_view text) {
  const auto value = text.find('/') == std::string_view::npos ? decimal(text) : fraction(text);
  return value && value->numerator > 0 ? value : std::nullopt;
}

std::optional<Length> length_in(std::string_view text, Unit unit) {
  const DecimalMark mark = text.find(',') == std::string_view::npos ? DecimalMark::point : DecimalMark::comma;
  const Result<Length> length = parse_length(text, unit, mark);
  return length && length->pm() > 0 ? std::optional(*length) : std::nullopt;
}

std::optional<SizeText> of_sieve_number(std::string_view text) {
  const auto value = number(trimmed(text));
  return value ? std::optional(SizeText{.kind = SizeText::Kind::sieve_number, .value = *value}) : std::nullopt;
}

bool is_one_of(std::string_view word, std::initializer_list<std::string_view> words) {
  return std::find(words.begin(), words.end(), word) != words.end();
}

std::optional<SizeText> of_mesh(std::string_view text) {
  const auto count = number(trimmed(text));
  return count ? std::optional(SizeText{.kind = SizeText::Kind::mesh, .value = *count}) : std::nullopt;
}

std::optional<SizeText> of_length(std::string_view digits, Unit unit, SizeText::Kind kind) {
  const auto length = length_in(digits, unit);
  return length ? std::optional(SizeText{.kind = kind, .length = *length}) : std::nullopt;
}

std::optional<SizeText> of_number_and_unit(std::string_view text) {
  const std::size_t end = std::min(text.find_first_not_of("0123456789.,/- \t"), text.size());
  const std::string_view digits = trimmed(text.substr(0, end));
  const std::string_view unit = text.substr(end);
  if (is_one_of(unit, {"um", "micrometre", "micrometres", "micrometer", "micrometers"}))
    return of_length(digits, Unit::micrometre, SizeText::Kind::length);
  if (is_one_of(unit, {"mm", "millimetre", "millimetres", "millimeter", "millimeters"}))
    return of_length(digits, Unit::millimetre, SizeText::Kind::length);
  if (is_one_of(unit, {"micron", "microns", "mic", "u", "\u00b5", "\u03bc"}))
    return of_length(digits, Unit::micrometre, SizeText::Kind::micron);
  if (is_one_of(unit, {"mesh", "#"})) return of_mesh(digits);
  const bool inch = is_one_of(unit, {"in.", "in", "inch", "inches", "\"", "\u2033"});
  const bool thousandth = is_one_of(unit, {"thou", "mil", "mils"});
  auto value = number(digits);
  if (!value || (!inch && !thousandth && !unit.empty())) return std::nullopt;
  if (thousandth) {
    value->denominator *= 1000;
    return SizeText{.kind = SizeText::Kind::measured_inch, .value = *value};
  }
  const bool is_fraction = digits.find('/') != std::string_view::npos;
  return SizeText{.kind = inch ? SizeText::Kind::inch : SizeText::Kind::bare, .value = *value, .fraction = is_fraction};
}

// `75,000 um` is 75 mm to one reader and 75 um to another. After a lone 0 a comma can only be the decimal mark.
Result<void> check_comma(std::string_view plain, std::string_view text) {
  const std::size_t comma = plain.find(',');
  if (comma == std::string_view::npos) return {};
  const std::size_t begin = plain.substr(0, comma).find_last_not_of("0123456789") + 1;
  const std::size_t end = std::min(plain.find_first_not_of("0123456789", comma + 1), plain.size());
  const std::string_view before = plain.substr(begin, comma - begin);
  std::string_view behind = plain.substr(comma + 1, end - comma - 1);
  if (before.empty() || before == "0" || behind.size() != 3) return {};
  const auto spelt = [&](const std::string& number) {
    return std::string(plain.substr(0, begin)) + number + std::string(plain.substr(end));
  };
  if (end < plain.size() && plain[end] == ',') {  // two commas cannot be decimal marks
    std::string whole(plain);
    std::erase(whole, ',');
    return Error{ErrorCode::ambiguous_size, "commas between digits", printable(text), fmt::format("'{}'", printable(whole)), {}};
  }
  const std::string thousands = spelt(std::string(before) + std::string(behind));
  while (behind.ends_with('0')) behind.remove_suffix(1);
  const std::string decimals = spelt(std::string(before) + (behind.empty() ? "" : ".") + std::string(behind));
  return Error{ErrorCode::ambiguous_size,
               "a comma before three digits",
               printable(text),
               fmt::format("'{}' or '{}'", printable(thousands), printable(decimals)),
               {}};
}

}  // namespace

Result<SizeText> parse_size(std::string_view text) {
  const std::string plain = normalised(text);
  if (const Result<void> comma = check_comma(plain, text); !comma) return comma.errors();
  std::optional<SizeText> size;
  const std::string_view view = plain;
  if (view.starts_with("no.")) {
    size = of_sieve_number(view.substr(3));
  } else if (view.starts_with("no")) {
    size = of_sieve_number(view.substr(2));
  } else if (view.starts_with("#")) {
    size = of_sieve_number(view.substr(1));
  } else if (view.starts_with("mesh")) {
    size = of_mesh(view.substr(4));
  } else {
    size = of_number_and_unit(view);
  }
  if (!size) return malformed(text, plain);
  return *size;
}

}  // namespace sievecloth
