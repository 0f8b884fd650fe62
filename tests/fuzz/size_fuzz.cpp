// Sizes and lengths as people write them: what is read can be written and read back, and numbers compare by value.
#include "fuzz.hpp"
#include "sievecloth/specification.hpp"
#include "standards/size_text.hpp"

using namespace sievecloth;
using namespace sievecloth::fuzz;

namespace {

// The same grammar implemented again in the slowest way: digit by digit from a 128-bit number.
std::optional<std::int64_t> slow_length(std::string_view text, Unit unit, char mark) {
  const bool negative = text.starts_with('-');
  if (negative) text.remove_prefix(1);
  const std::size_t mark_at = std::min(text.find(mark), text.size());
  while (text.size() > mark_at + 2 && text.ends_with('0')) text.remove_suffix(1);  // trailing zeros carry no information
  int128 value = 0;
  int digits_before = 0, digits_after = -1, significant = 0;
  for (const char c : text) {
    if (c == mark && digits_after < 0) {
      digits_after = 0;
    } else if (is_digit(c)) {
      (digits_after < 0 ? digits_before : digits_after) += 1;
      if (significant > 0 || c != '0') ++significant;
      if (significant > 36) return std::nullopt;  // the value would not fit
      value = 10 * value + (c - '0');
    } else {
      return std::nullopt;
    }
  }
  if (digits_after == 0 || (digits_before == 0 && digits_after < 0)) return std::nullopt;
  for (; digits_after > 0 && value % 10 == 0; --digits_after) value /= 10;
  int128 pm = value;
  for (const char zero : std::to_string(picometres(unit)).substr(1)) {
    if (unit == Unit::inch || zero != '0') break;
    if (digits_after > 0)
      --digits_after;
    else if (pm < int128{1} << 90)
      pm *= 10;
    else
      return std::nullopt;
  }
  if (unit == Unit::inch) {
    if (pm > int128{1} << 90) return std::nullopt;
    for (pm *= picometres(unit); digits_after > 0 && pm % 10 == 0; --digits_after) pm /= 10;
  }
  if (digits_after > 0 || pm > k_longest.pm()) return std::nullopt;
  return static_cast<std::int64_t>(negative ? -pm : pm);
}

void check_length(std::string_view text, Unit unit, DecimalMark mark) {
  const Result<Length> length = parse_length(text, unit, mark);
  // Numbers of 30 digits and more may be refused although they could be read.
  const std::optional<std::int64_t> expected = slow_length(text, unit, static_cast<char>(mark));
  demand(!length.ok() || (expected && length->pm() == *expected), "the same length digit by digit");
  demand(length.ok() || !expected || text.size() > 15, "a short number is not refused");
  if (!length.ok()) return demand_complaints(length.errors());
  if (unit == Unit::inch) return;
  const Result<Length> again = parse_length(to_text(*length, unit), unit);
  demand(again.ok() && *again == *length, "a length written and read again is the same");
}

void check_size(const Edition& edition, std::string_view text) {
  const Result<const Row*> row = find_size(edition, text);
  if (!row.ok()) return demand_complaints(row.errors());
  const Result<const Row*> again = find_size(edition, (*row)->designation);
  demand(again.ok() && *again == *row, "a row is found by its designation");
  if ((*row)->alternative.empty()) return;
  const Result<const Row*> other = find_size(edition, (*row)->alternative);
  demand(other.ok() && *other == *row, "a row is found by its alternative designation");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  for (const Unit unit : {Unit::micrometre, Unit::millimetre, Unit::inch}) {
    for (const DecimalMark mark : {DecimalMark::point, DecimalMark::comma}) check_length(text, unit, mark);
  }
  if (const Result<Length> length = parse_length_with_unit(text); length.ok()) {
    demand(*length > Length() && *length <= k_longest, "a length with its unit is above 0 and at most 10 km");
    const Result<Length> again = parse_length_with_unit(to_text(*length));
    demand(again.ok() && *again == *length, "a length with its unit written and read again is the same");
  }
  if (const Result<SizeText> parsed = parse_size(text); !parsed.ok()) demand_complaints(parsed.errors());
  for (const Edition* edition : built_in_editions()) check_size(*edition, text);
  if (const Result<Length> nominal = find_nominal(text); !nominal.ok()) demand_complaints(nominal.errors());
  return 0;
}
