#include "sievecloth/specification.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

#include "base/text.hpp"
#include "standards/size_text.hpp"

namespace sievecloth {
namespace {

Error size_error(ErrorCode code, std::string_view found, std::string message, std::string expected) {
  return {code, std::move(message), printable(found), std::move(expected), {}};
}

// `75 um (No. 200)`
std::string name_of(const Row& row) {
  return row.alternative.empty() ? std::string(row.designation) : fmt::format("{} ({})", row.designation, row.alternative);
}

const Row* row_with(const Edition& edition, Length nominal) {
  const auto found = std::find_if(edition.rows.begin(), edition.rows.end(), [&](const Row& row) { return row.nominal == nominal; });
  return found == edition.rows.end() ? nullptr : &*found;
}

// The alternative designation's value, where the row has one of this kind.
std::optional<Ratio> alternative_value(const Row& row, SizeText::Kind kind) {
  if (row.alternative.empty()) return std::nullopt;
  const Result<SizeText> size = parse_size(row.alternative);
  return size && size->kind == kind ? std::optional(size->value) : std::nullopt;
}

const Row* row_with(const Edition& edition, SizeText::Kind kind, const Ratio& value) {
  const auto fits = [&](const Row& row) { return alternative_value(row, kind) == value; };
  const auto found = std::find_if(edition.rows.begin(), edition.rows.end(), fits);
  return found == edition.rows.end() ? nullptr : &*found;
}

bool has_alternatives(const Edition& edition) {
  return std::any_of(edition.rows.begin(), edition.rows.end(), [](const Row& row) { return !row.alternative.empty(); });
}

// The rows on either side of a place among rows in falling order.
std::string neighbours(const Row* above, const Row* below) {
  if (above == nullptr) return fmt::format("the largest is {}", name_of(*below));
  if (below == nullptr) return fmt::format("the smallest is {}", name_of(*above));
  return fmt::format("the nearest are {} above and {} below", name_of(*above), name_of(*below));
}

Error no_such_size(const Edition& edition, const Row* above, const Row* below, std::string_view found) {
  return size_error(ErrorCode::unknown_size, found, fmt::format("{} has no such size; {}", edition.title, neighbours(above, below)),
                    "");
}

Error unknown_length(const Edition& edition, Length nominal, std::string_view found) {
  const auto below = std::find_if(edition.rows.begin(), edition.rows.end(), [&](const Row& row) { return row.nominal < nominal; });
  const Row* above = below == edition.rows.begin() ? nullptr : &*(below - 1);
  return no_such_size(edition, above, below == edition.rows.end() ? nullptr : &*below, found);
}

Error unknown_alternative(const Edition& edition, const SizeText& size, std::string_view found) {
  const Row* above = nullptr;  // of coarser cloth: a smaller sieve number, but a larger inch
  const Row* below = nullptr;
  for (const Row& row : edition.rows) {
    const auto value = alternative_value(row, size.kind);
    if (!value) continue;
    const bool coarser = size.kind == SizeText::Kind::inch ? *value > size.value : *value < size.value;
    if (coarser) above = &row;
    if (!coarser && below == nullptr) below = &row;
  }
  return no_such_size(edition, above, below, found);
}

// Editions that name sizes by aperture alone: what an alternative designation is elsewhere.
struct Elsewhere {
  const Edition* edition = nullptr;
  const Row* row = nullptr;
};

std::optional<Elsewhere> elsewhere(SizeText::Kind kind, const Ratio& value) {
  std::optional<Elsewhere> newest;  // the names of a standard's editions come in the order of their years
  for (const Edition* edition : built_in_editions()) {
    const Row* row = row_with(*edition, kind, value);
    if (row != nullptr) newest = {edition, row};
  }
  return newest;
}

Error no_alternatives(const Edition& edition, const SizeText& size, std::string_view found) {
  const std::string message = fmt::format("{} has no alternative designations", edition.title);
  const auto other = elsewhere(size.kind, size.value);
  if (!other) return size_error(ErrorCode::unknown_size, found, message, "a nominal aperture, such as 75 um or 4.75 mm");
  const Row* here = row_with(edition, other->row->nominal);
  const std::string meaning = fmt::format("{}; in {} this is {}", message, other->edition->title, other->row->designation);
  if (here == nullptr) return size_error(ErrorCode::unknown_size, found, meaning + ", a size that it does not have", "");
  return size_error(ErrorCode::unknown_size, found, meaning, fmt::format("'{}'", here->designation));
}

std::optional<Length> length_of(const Ratio& value, Unit unit) {
  const int128 pm = static_cast<int128>(value.numerator) * picometres(unit);
  if (pm % value.denominator != 0 || pm / value.denominator > k_longest.pm()) return std::nullopt;
  return Length::from_pm(static_cast<std::int64_t>(pm / value.denominator));
}

// Everything that a number without a unit can be in this edition, and what it names in another one.
Error ambiguous(const Edition& edition, const SizeText& size, std::string_view found) {
  std::vector<std::string> readings;
  for (const Unit unit : {Unit::micrometre, Unit::millimetre}) {
    const auto length = length_of(size.value, unit);
    const Row* row = !size.fraction && length ? row_with(edition, *length) : nullptr;
    if (row != nullptr) readings.push_back(name_of(*row));
  }
  for (const SizeText::Kind kind : {SizeText::Kind::sieve_number, SizeText::Kind::inch}) {
    const Row* row = row_with(edition, kind, size.value);
    const auto other = has_alternatives(edition) ? std::nullopt : elsewhere(kind, size.value);
    if (row != nullptr) readings.push_back(name_of(*row));
    if (other) readings.push_back(fmt::format("{} in {}", name_of(*other->row), other->edition->title));
  }
  return size_error(ErrorCode::ambiguous_size, found, "a size without a unit",
                    readings.empty() ? std::string(k_spellings) : fmt::format("{}", fmt::join(readings, " or ")));
}

}  // namespace

Result<const Row*> find_size(const Edition& edition, std::string_view size) {
  const Result<SizeText> asked = parse_size(size);
  if (!asked) return asked.errors();
  if (asked->kind == SizeText::Kind::bare) return ambiguous(edition, *asked, size);
  if (asked->kind == SizeText::Kind::length) {
    const Row* row = row_with(edition, asked->length);
    return row != nullptr ? Result<const Row*>(row) : unknown_length(edition, asked->length, size);
  }
  if (!has_alternatives(edition)) return no_alternatives(edition, *asked, size);
  const Row* row = row_with(edition, asked->kind, asked->value);
  return row != nullptr ? Result<const Row*>(row) : unknown_alternative(edition, *asked, size);
}

Result<Specification> specify(const Edition& edition, std::string_view size, std::optional<Grade> grade) {
  const Result<const Row*> row = find_size(edition, size);
  if (!row) return row.errors();
  if (edition.rules.graded && !grade) {
    return Error{ErrorCode::grade_missing,
                 fmt::format("{} asks for a grade", edition.title),
                 "",
                 "compliance, inspection or calibration",
                 {}};
  }
  if (!edition.rules.graded && grade) {
    return Error{ErrorCode::grade_not_in_edition,
                 fmt::format("{} has no grades", edition.title),
                 std::string(to_text(*grade)),
                 "no grade",
                 {}};
  }
  return Specification{&edition, *row, grade};
}

}  // namespace sievecloth
