#include "sievecloth/specification.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <map>
#include <utility>
#include <vector>

#include "base/text.hpp"
#include "standards/size_text.hpp"

namespace sievecloth {
namespace {

Error size_error(ErrorCode code, std::string_view found, std::string message, std::string expected) {
  return {code, std::move(message), printable(found), std::move(expected), {}};
}

/// The rows in which a size is searched for, from the largest to the smallest, and their owner.
struct Choice {
  std::string_view title;
  std::vector<const Row*> rows;
};

Choice rows_of(const Edition& edition) {
  Choice choice{edition.title, {}};
  for (const Row& row : edition.rows) choice.rows.push_back(&row);
  return choice;
}

// Each size once, preferably from an edition with an alternative designation for it; later editions of a standard take precedence.
Choice rows_of_all() {
  std::map<Length, const Row*, std::greater<>> by_size;
  for (const Edition* edition : built_in_editions()) {
    for (const Row& row : edition->rows) {
      const Row*& known = by_size[row.nominal];
      if (known == nullptr || !row.alternative.empty()) known = &row;
    }
  }
  Choice choice{"the set of tables built in", {}};
  for (const auto& [nominal, row] : by_size) choice.rows.push_back(row);
  return choice;
}

// `75 um (No. 200)`
std::string name_of(const Row& row) {
  return row.alternative.empty() ? std::string(row.designation) : fmt::format("{} ({})", row.designation, row.alternative);
}

template <class Fits>
const Row* first(const std::vector<const Row*>& rows, Fits fits) {
  const auto found = std::find_if(rows.begin(), rows.end(), [&](const Row* row) { return fits(*row); });
  return found == rows.end() ? nullptr : *found;
}

template <class Fits>
const Row* last(const std::vector<const Row*>& rows, Fits fits) {
  const auto found = std::find_if(rows.rbegin(), rows.rend(), [&](const Row* row) { return fits(*row); });
  return found == rows.rend() ? nullptr : *found;
}

const Row* row_with(const Choice& choice, Length nominal) {
  return first(choice.rows, [&](const Row& row) { return row.nominal == nominal; });
}

// The alternative designation's value, where the row has one of this kind.
std::optional<Ratio> alternative_value(const Row& row, SizeText::Kind kind) {
  if (row.alternative.empty()) return std::nullopt;
  const Result<SizeText> size = parse_size(row.alternative);
  return size && size->kind == kind ? std::optional(size->value) : std::nullopt;
}

const Row* row_with(const Choice& choice, SizeText::Kind kind, const Ratio& value) {
  return first(choice.rows, [&](const Row& row) { return alternative_value(row, kind) == value; });
}

bool has_alternatives(const Choice& choice) {
  return first(choice.rows, [](const Row& row) { return !row.alternative.empty(); }) != nullptr;
}

Error no_such_size(const Choice& choice, const Row* above, const Row* below, std::string_view found) {
  const std::string neighbours = above == nullptr ? fmt::format("the largest is {}", name_of(*below))
                                 : below == nullptr
                                     ? fmt::format("the smallest is {}", name_of(*above))
                                     : fmt::format("the nearest are {} above and {} below", name_of(*above), name_of(*below));
  return size_error(ErrorCode::unknown_size, found, fmt::format("{} has no such size; {}", choice.title, neighbours), "");
}

Error unknown_length(const Choice& choice, Length nominal, std::string_view found) {
  const Row* above = last(choice.rows, [&](const Row& row) { return row.nominal > nominal; });
  const Row* below = first(choice.rows, [&](const Row& row) { return row.nominal < nominal; });
  return no_such_size(choice, above, below, found);
}

// Compares sieve numbers, of which a coarser cloth has the smaller.
Error unknown_number(const Choice& choice, const Ratio& number, std::string_view found) {
  const auto value = [](const Row& row) { return alternative_value(row, SizeText::Kind::sieve_number); };
  const Row* above = last(choice.rows, [&](const Row& row) { return value(row) && *value(row) < number; });
  const Row* below = first(choice.rows, [&](const Row& row) { return value(row) && *value(row) > number; });
  if (above == nullptr && below == nullptr) {
    return size_error(ErrorCode::unknown_size, found, fmt::format("{} has no such size", choice.title), std::string(k_spellings));
  }
  return no_such_size(choice, above, below, found);
}

// Inches that are no designation: what they are in metric, so that the size that was meant can be found.
Error unknown_inch(const Choice& choice, const Ratio& inches, std::string_view found) {
  const int128 pm = static_cast<int128>(inches.numerator) * picometres(Unit::inch) / inches.denominator;
  const Length length = Length::from_pm(static_cast<std::int64_t>(std::min<int128>(pm, k_longest.pm())));
  const Row* above = last(choice.rows, [&](const Row& row) { return row.nominal >= length; });
  const Row* below = first(choice.rows, [&](const Row& row) { return row.nominal < length; });
  Error error = no_such_size(choice, above, below, found);
  error.message = fmt::format("inches name a designation, not a length, and this would be {}: {}", to_text(length), error.message);
  return error;
}

// For editions that name sizes by aperture only: what an alternative designation means elsewhere.
struct Elsewhere {
  const Edition* edition = nullptr;
  const Row* row = nullptr;
};

std::optional<Elsewhere> elsewhere(SizeText::Kind kind, const Ratio& value) {
  std::optional<Elsewhere> newest;  // editions of a standard are in order of year
  for (const Edition* edition : built_in_editions()) {
    const Row* row = row_with(rows_of(*edition), kind, value);
    if (row != nullptr) newest = {edition, row};
  }
  return newest;
}

Error no_alternatives(const Choice& choice, const SizeText& size, std::string_view found) {
  const std::string message = fmt::format("{} has no alternative designations", choice.title);
  const auto other = elsewhere(size.kind, size.value);
  if (!other && size.kind == SizeText::Kind::inch) return unknown_inch(choice, size.value, found);
  if (!other) return size_error(ErrorCode::unknown_size, found, message, "a nominal aperture, such as 75 um or 4.75 mm");
  const Row* here = row_with(choice, other->row->nominal);
  const std::string meaning = fmt::format("{}; in {} this is {}", message, other->edition->title, other->row->designation);
  if (here == nullptr) return size_error(ErrorCode::unknown_size, found, meaning + ", a size that it does not have", "");
  return size_error(ErrorCode::unknown_size, found, meaning, fmt::format("'{}'", here->designation));
}

std::optional<Length> length_of(const Ratio& value, Unit unit) {
  const int128 pm = static_cast<int128>(value.numerator) * picometres(unit);
  if (pm % value.denominator != 0 || pm / value.denominator > k_longest.pm()) return std::nullopt;
  return Length::from_pm(static_cast<std::int64_t>(pm / value.denominator));
}

// Lists all meanings of a number without a unit in this edition, and what it names in another.
Error ambiguous(const Choice& choice, const SizeText& size, std::string_view found) {
  std::vector<std::string> readings;
  for (const Unit unit : {Unit::micrometre, Unit::millimetre}) {
    const auto length = length_of(size.value, unit);
    const Row* row = !size.fraction && length ? row_with(choice, *length) : nullptr;
    if (row != nullptr) readings.push_back(name_of(*row));
  }
  for (const SizeText::Kind kind : {SizeText::Kind::sieve_number, SizeText::Kind::inch}) {
    const Row* row = row_with(choice, kind, size.value);
    const auto other = has_alternatives(choice) ? std::nullopt : elsewhere(kind, size.value);
    if (row != nullptr) readings.push_back(name_of(*row));
    if (other) readings.push_back(fmt::format("{} in {}", name_of(*other->row), other->edition->title));
  }
  return size_error(ErrorCode::ambiguous_size, found, "a size without a unit",
                    readings.empty() ? std::string(k_spellings) : fmt::format("{}", fmt::join(readings, " or ")));
}

double mesh_of(const Row& row) { return Length::of(1, Unit::inch).um() / (row.nominal + row.wire.preferred.value).um(); }

// `75 um (No. 200) with 203`
std::string name_with_mesh(const Row& row) {
  const double mesh = mesh_of(row);
  return fmt::format("{} with {:.{}f}", name_of(row), mesh, mesh < 10 ? 2 : mesh < 100 ? 1 : 0);
}

// The rows whose preferred wire gives about this count: within a tenth, or else the nearest on each side.
Error mesh_count(const Choice& choice, const Ratio& count, std::string_view found) {
  constexpr double k_about = 0.1;
  const double asked = static_cast<double>(count.numerator) / static_cast<double>(count.denominator);
  std::vector<std::string> names;
  for (const Row* row : choice.rows) {
    if (std::abs(mesh_of(*row) / asked - 1) <= k_about) names.push_back(name_with_mesh(*row));
  }
  const std::string_view how = names.empty() ? "the nearest are" : "about as many have";
  if (names.empty()) {
    const Row* coarser = last(choice.rows, [&](const Row& row) { return mesh_of(row) < asked; });
    const Row* finer = first(choice.rows, [&](const Row& row) { return mesh_of(row) > asked; });
    for (const Row* row : {coarser, finer}) {
      if (row != nullptr) names.push_back(name_with_mesh(*row));
    }
  }
  return size_error(ErrorCode::malformed_size, found, "a mesh count is no size, since it says nothing of how thick the wire is",
                    fmt::format("a size; of openings to the inch, with preferred wires, {} {}", how, fmt::join(names, ", ")));
}

Error microns(const Choice& choice, Length nominal, std::string_view found) {
  if (row_with(choice, nominal) == nullptr) return unknown_length(choice, nominal, found);
  return size_error(ErrorCode::malformed_size, found, "a micrometre is written um",
                    fmt::format("'{} um'", to_text(nominal, Unit::micrometre)));
}

Result<const Row*> find_row_by_one_name(const Choice& choice, std::string_view size) {
  const Result<SizeText> asked = parse_size(size);
  if (!asked) return asked.errors();
  if (asked->kind == SizeText::Kind::bare) return ambiguous(choice, *asked, size);
  if (asked->kind == SizeText::Kind::length) {
    const Row* row = row_with(choice, asked->length);
    return row != nullptr ? Result<const Row*>(row) : unknown_length(choice, asked->length, size);
  }
  if (asked->kind == SizeText::Kind::mesh) return mesh_count(choice, asked->value, size);
  if (asked->kind == SizeText::Kind::micron) return microns(choice, asked->length, size);
  if (asked->kind == SizeText::Kind::measured_inch) return unknown_inch(choice, asked->value, size);
  if (!has_alternatives(choice)) return no_alternatives(choice, *asked, size);
  const Row* row = row_with(choice, asked->kind, asked->value);
  if (row != nullptr) return row;
  return asked->kind == SizeText::Kind::inch ? unknown_inch(choice, asked->value, size)
                                             : unknown_number(choice, asked->value, size);
}

// By one name or, as it is printed, by two: `75 um (No. 200)`. An edition without alternative designations leaves those to the
// others.
Result<const Row*> find_row(const Choice& choice, std::string_view size) {
  const std::size_t open = size.find('(');
  if (open == std::string_view::npos || !size.ends_with(')')) return find_row_by_one_name(choice, size);
  std::array names{trimmed(size.substr(0, open)), trimmed(size.substr(open + 1, size.size() - open - 2))};
  if (!has_alternatives(choice) && names[0].find_first_of("#nN") != std::string_view::npos) std::swap(names[0], names[1]);
  const Result<const Row*> row = find_row_by_one_name(choice, names[0]);
  if (!row) return row;
  const Result<const Row*> other = find_row_by_one_name(has_alternatives(choice) ? choice : rows_of_all(), names[1]);
  if (!other) return other;
  if ((*other)->nominal == (*row)->nominal) return row;
  return size_error(ErrorCode::ambiguous_size, size, "names of two sizes",
                    fmt::format("{} or {}", name_of(**row), name_of(**other)));
}

}  // namespace

Result<const Row*> find_size(const Edition& edition, std::string_view size) { return find_row(rows_of(edition), size); }

Result<Length> find_nominal(std::string_view size) {
  const Result<const Row*> row = find_row(rows_of_all(), size);
  if (!row) return row.errors();
  return (*row)->nominal;
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
