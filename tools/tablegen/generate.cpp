#include "generate.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <utility>

namespace sievecloth::tablegen {
namespace {

constexpr std::string_view k_head = R"(// Written by tablegen from the tables; change those, not this.
#include "sievecloth/edition.hpp"

namespace sievecloth {
namespace {

using enum CountScale;

constexpr Basis b(int provenance, std::uint8_t source) { return {static_cast<Provenance>(provenance), source}; }
constexpr Limit l(std::int64_t pm, int provenance, std::uint8_t source) { return {Length::from_pm(pm), b(provenance, source)}; }
constexpr Count n(std::int64_t count, int provenance, std::uint8_t source) { return {count, b(provenance, source)}; }
constexpr std::nullopt_t none = std::nullopt;
)";

// Bytes that are not printable ASCII as three octal digits, which no character after them can lengthen.
std::string literal(std::string_view text) {
  std::string quoted = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') quoted += '\\';
    const auto byte = static_cast<unsigned char>(c);
    quoted += byte < 0x20 || byte > 0x7E ? fmt::format("\\{:03o}", byte) : std::string(1, c);
  }
  return quoted + "\"";
}

std::string of(const Basis& basis) { return fmt::format("{}, {}", static_cast<int>(basis.provenance), basis.source); }
std::string of(const Limit& limit) { return fmt::format("l({}, {})", limit.value.pm(), of(limit.basis)); }
std::string of(const Count& count) { return fmt::format("n({}, {})", count.value, of(count.basis)); }

template <class T>
std::string of(const std::optional<T>& value) {
  return value ? of(*value) : "none";
}

template <class T, class ToText>
std::string per_grade(const PerGrade<T>& values, ToText to_text) {
  return fmt::format("{{{{{}, {}, {}}}}}", to_text(values.values[0]), to_text(values.values[1]), to_text(values.values[2]));
}

template <class T>
std::string of(const PerGrade<std::optional<T>>& values) {
  return per_grade(values, [](const auto& value) { return of(value); });
}

std::string of(CountScale scale) {
  constexpr auto names = std::to_array<std::string_view>({"fixed", "sieving_area", "area_of_cloth"});
  return std::string(names[static_cast<std::size_t>(scale)]);
}

std::string of(const Row& row) {
  return fmt::format("    {{Length::from_pm({}), {}, {}, {}, {}, {}, {}, {}, {{{}, {}, {}}}}},\n", row.nominal.pm(),
                     literal(row.designation), literal(row.alternative), of(row.average_tolerance), of(row.maximum_tolerance),
                     of(row.intermediate_limit), of(row.standard_deviation_limit), of(row.counts), of(row.wire.preferred),
                     of(row.wire.minimum), of(row.wire.maximum));
}

std::string of(const Rules& rules) {
  const SpreadRule& spread = rules.spread;
  const auto tail = per_grade(spread.tail_millionths, [](std::int32_t millionths) { return fmt::format("{}", millionths); });
  const auto scale = per_grade(rules.counts.scale, [](CountScale value) { return of(value); });
  const std::string share =
      rules.share ? fmt::format("ShareRule{{{}, b({})}}", rules.share->percent, of(rules.share->basis)) : "none";
  const auto& resolution = rules.resolution;
  const std::string resolving = resolution ? fmt::format("ResolutionRule{{Length::from_pm({}), {}, b({})}}", resolution->floor.pm(),
                                                         resolution->fraction_of_average, of(resolution->basis))
                                           : "none";
  return fmt::format(
      "{{.graded = {}, .spread = {{{}, {}, {}, b({})}}, .share = {}, .resolution = {}, .counts = {{{}, b({})}}, "
      ".wire_count = {}}}",
      rules.graded, spread.factor, spread.settled, tail, of(spread.basis), share, resolving, scale, of(rules.counts.basis),
      of(rules.wire_count));
}

// An array may not be empty, so that an edition without errata has no array.
template <class T, class ToText>
std::string array(std::string_view type, std::string_view name, std::span<const T> items, ToText to_text) {
  if (items.empty()) return {};
  std::string text = fmt::format("\nconstexpr {} {}[] = {{\n", type, name);
  for (const T& item : items) text += to_text(item);
  return text + "};\n";
}

std::string of(const Edition& edition, std::size_t index) {
  const auto name = [&](std::string_view what) { return fmt::format("k_{}_{}", what, index); };
  const auto sizes_name = [&](std::size_t erratum) { return fmt::format("{}_{}", name("sizes"), erratum); };
  std::string text;
  text += array("Row", name("rows"), edition.rows, [](const Row& row) { return of(row); });
  text += array("Source", name("sources"), edition.sources,
                [](const Source& source) { return fmt::format("    {{{}, {}}},\n", literal(source.id), literal(source.title)); });
  for (std::size_t i = 0; i < edition.errata.size(); ++i) {
    text += array("Length", sizes_name(i), edition.errata[i].sizes,
                  [](Length size) { return fmt::format("    Length::from_pm({}),\n", size.pm()); });
  }
  std::size_t erratum = 0;
  text += array("Erratum", name("errata"), edition.errata, [&](const Erratum& e) {
    return fmt::format("    {{{}, {}, {}, {}, {},\n     {}, {}}},\n", sizes_name(erratum++), literal(e.value), literal(e.where),
                       literal(e.date), literal(e.printed), literal(e.used), literal(e.reason));
  });
  const std::string errata = edition.errata.empty() ? "{}" : name("errata");
  text += fmt::format("\nconstexpr Edition {} = {{\n    {}, {}, {}, {},\n    {},\n    {}, {}, {}}};\n", name("edition"),
                      literal(edition.name), literal(edition.title), literal(edition.rests_on), literal(edition.table_set),
                      of(edition.rules), name("rows"), name("sources"), errata);
  return text;
}

// `04` is 2004 and `98` is 1998: standards of sieves are not older than 1950.
int year_of(std::string_view edition) {
  int year = 0;
  std::from_chars(edition.data(), edition.data() + edition.size(), year);
  return year >= 100 ? year : year >= 50 ? year + 1900 : year + 2000;
}

bool earlier(const Edition* a, const Edition* b) {
  const auto place = [](std::string_view name) {
    const std::size_t hyphen = name.rfind('-');
    return std::pair(name.substr(0, hyphen), year_of(name.substr(hyphen + 1)));
  };
  return place(a->name) < place(b->name);
}

}  // namespace

std::string generate(std::vector<const Edition*> editions) {
  std::stable_sort(editions.begin(), editions.end(), earlier);
  std::string text(k_head);
  std::string list;
  for (std::size_t i = 0; i < editions.size(); ++i) {
    text += of(*editions[i], i);
    list += fmt::format("{}&k_edition_{}", i == 0 ? "" : ", ", i);
  }
  text += fmt::format("\nconstexpr const Edition* k_editions[] = {{{}}};\n\n}}  // namespace\n\n", list);
  text += "std::span<const Edition* const> built_in_editions() noexcept { return k_editions; }\n\n}  // namespace sievecloth\n";
  return text;
}

}  // namespace sievecloth::tablegen
