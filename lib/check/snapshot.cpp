#include "check/snapshot.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "base/checksum.hpp"

namespace sievecloth {
namespace {

__extension__ typedef unsigned __int128 uint128;

constexpr std::string_view k_mark = "SIEVSNAP";
constexpr std::uint32_t k_format = 2;
constexpr std::uint32_t k_first_format = 1;  // without conditions, lost readings, named suspects and parts
constexpr std::size_t k_first_format_size = 616;
constexpr std::int64_t k_no_plan = -1;
constexpr std::size_t k_checksum_size = 8;
constexpr std::int64_t k_readings_lost = 1;  // a flag

/// Writes whole numbers as bytes, least significant first.
class Writer {
 public:
  explicit Writer(std::span<std::byte> bytes) : rest_(bytes) {}

  template <class Number>
  void put(Number number) noexcept {
    auto bits = static_cast<uint128>(number);
    for (std::size_t i = 0; i < sizeof(Number); ++i, bits >>= 8) rest_[i] = static_cast<std::byte>(bits & 0xFF);
    rest_ = rest_.subspan(sizeof(Number));
  }
  void put(Length length) noexcept { put(length.pm()); }

 private:
  std::span<std::byte> rest_;
};

/// Reads them back. The caller has checked that there are enough bytes.
class Reader {
 public:
  explicit Reader(std::span<const std::byte> bytes) : rest_(bytes) {}

  template <class Number>
  Number take() noexcept {
    uint128 bits = 0;
    for (std::size_t i = sizeof(Number); i-- > 0;) bits = bits << 8 | static_cast<uint128>(rest_[i]);
    rest_ = rest_.subspan(sizeof(Number));
    return static_cast<Number>(bits);
  }
  Length take_length() noexcept { return Length::from_pm(take<std::int64_t>()); }

 private:
  std::span<const std::byte> rest_;
};

/// Checksum of a specification's names and numbers in a fixed order.
class Fingerprint {
 public:
  void add(std::string_view text) noexcept {
    add(static_cast<std::int64_t>(text.size()));
    sum_.add(std::as_bytes(std::span(text)));
  }
  void add(std::int64_t number) noexcept {
    std::array<std::byte, sizeof number> bytes{};
    Writer(bytes).put(number);
    sum_.add(bytes);
  }
  void add(const Basis& basis) noexcept { add(static_cast<std::int64_t>(basis.provenance)); }
  void add(const Limit& limit) noexcept {
    add(limit.value.pm());
    add(limit.basis);
  }
  void add(const Count& count) noexcept {
    add(count.value);
    add(count.basis);
  }
  void add(Length length) noexcept { add(length.pm()); }
  template <class Value>
  void add(const std::optional<Value>& value) noexcept {
    add(std::int64_t{value.has_value()});
    if (value) add(*value);
  }
  void add(const ShareRule& rule) noexcept {
    add(std::int64_t{rule.percent});
    add(rule.basis);
  }
  void add(const ResolutionRule& rule) noexcept {
    add(rule.floor);
    add(std::int64_t{rule.fraction_of_average});
    add(rule.basis);
  }
  void add(const Row& row) noexcept {
    add(row.designation);
    add(row.nominal);
    for (const Limit& limit :
         {row.average_tolerance, row.maximum_tolerance, row.wire.preferred, row.wire.minimum, row.wire.maximum})
      add(limit);
    add(row.intermediate_limit);
    for (const Grade grade : k_grades) {
      add(row.standard_deviation_limit[grade]);
      add(row.counts[grade]);
    }
  }
  void add(const Rules& rules) noexcept {
    add(std::int64_t{rules.graded});
    add(std::int64_t{rules.spread.factor});
    add(std::int64_t{rules.spread.settled});
    add(rules.spread.basis);
    add(rules.share);
    add(rules.resolution);
    add(rules.counts.basis);
    add(rules.wire_count);
    for (const Grade grade : k_grades) {
      add(std::int64_t{rules.spread.tail_millionths[grade]});
      add(static_cast<std::int64_t>(rules.counts.scale[grade]));
    }
  }
  void add(bool truth) noexcept { add(std::int64_t{truth}); }
  void add(const Frame& frame) noexcept {
    add(static_cast<std::int64_t>(frame.shape));
    add(frame.size);
  }
  void add(const Roll& roll) noexcept {
    add(roll.width);
    add(roll.length);
  }
  void add(const Conditions& conditions) noexcept {
    add(conditions.piece.frame);
    add(conditions.piece.roll);
    add(conditions.piece.apertures_in_piece);
    add(conditions.piece.all_apertures);
    add(conditions.resolution);
    add(conditions.suspects_recorded);
    add(conditions.agreed_count);
    add(conditions.measured_only);
    add(conditions.apertures_only);
    add(conditions.only_seen);
  }
  std::uint64_t value() const noexcept { return sum_.value(); }

 private:
  Checksum sum_;
};

void put(Writer& writer, const Summary::Figures& figures) noexcept {
  writer.put(figures.count);
  writer.put(figures.sum_of_deviations);
  writer.put(figures.sum_of_squared_deviations);
  writer.put(figures.minimum);
  writer.put(figures.maximum);
  writer.put(figures.above_intermediate);
  writer.put(figures.above_largest);
  writer.put(figures.divisor_pm);
  writer.put(std::int64_t{figures.three_values});
}

/// The figures and, as written, the flag that ends them. Members in byte order, which braced initialisation keeps.
struct WrittenFigures {
  Summary::Figures figures;
  std::int64_t three_values;
};
WrittenFigures take_figures(Reader& reader) noexcept {
  WrittenFigures written{
      {reader.take<std::int64_t>(), reader.take<int128>(), reader.take<int128>(), reader.take_length(), reader.take_length(),
       reader.take<std::int64_t>(), reader.take<std::int64_t>(), reader.take<std::int64_t>()},
      reader.take<std::int64_t>()};
  written.figures.three_values = written.three_values == 1;
  return written;
}

Error damaged(std::string message) {
  return {ErrorCode::snapshot_damaged, std::move(message), "", "the bytes of a snapshot, whole and unchanged", {}};
}

Error of_a_later_library(std::string found) {
  return {ErrorCode::snapshot_version,
          "a snapshot of a later library",
          std::move(found),
          fmt::format("format 1 or {}, without parts", k_format),
          {}};
}

std::uint64_t checksum(std::span<const std::byte> bytes) noexcept {
  Checksum sum;
  sum.add(bytes);
  return sum.value();
}

bool take_summary(Reader& reader, Summary& summary) noexcept {
  const WrittenFigures written = take_figures(reader);
  const std::optional<Summary> taken = Summary::from_figures(summary.thresholds(), written.figures);
  if (taken) summary = *taken;
  return taken.has_value() && (written.three_values == 0 || written.three_values == 1);
}

bool take_side(Reader& reader, DirectionSample& side) noexcept {
  for (Summary* summary : {&side.aperture, &side.wire, &side.suspect}) {
    if (!take_summary(reader, *summary)) return false;
  }
  side.refused_apertures = reader.take<std::int64_t>();
  side.refused_wires = reader.take<std::int64_t>();
  return side.refused_apertures >= 0 && side.refused_wires >= 0;
}

// Flags between the plan and the readings, in format 2 only.
bool take_flags(Reader& reader, Sample& sample) noexcept {
  const auto flags = reader.take<std::int64_t>();
  const auto named_suspects = reader.take<std::int64_t>();
  if (flags == k_readings_lost) sample.set_readings_lost();
  sample.set_named_suspects(named_suspects);
  return (flags == 0 || flags == k_readings_lost) && 0 <= named_suspects && named_suspects <= k_most_named_suspects + 1;
}

Result<SnapshotContent> read_content(Reader& reader, std::uint32_t format, const Specification& specification) {
  SnapshotContent content{.fingerprint = reader.take<std::uint64_t>(), .sample = make_sample(specification)};
  if (content.fingerprint != (format == k_format ? fingerprint(specification) : first_format_fingerprint(specification)))
    return Error{ErrorCode::snapshot_mismatch, "the snapshot was taken for another edition, table set, size or grade", "", "", {}};
  if (format == k_format) content.conditions = reader.take<std::uint64_t>();
  const PerDirection<std::int64_t> planned{reader.take<std::int64_t>(), reader.take<std::int64_t>()};
  if (planned.warp != k_no_plan) content.planned = planned;
  const auto viewing = reader.take<std::int64_t>();
  if (viewing != 0) content.viewing_passed = viewing == 1;
  const bool is_plan = planned.warp >= 0 && planned.weft >= 0;
  const bool no_plan = planned.warp == k_no_plan && planned.weft == k_no_plan;
  if ((!is_plan && !no_plan) || viewing < 0 || viewing > 2) return damaged("what no snapshot was ever written with");
  if (format == k_first_format) {
    content.sample.set_readings_lost();  // format 1 does not record it
  } else if (!take_flags(reader, content.sample)) {
    return damaged("what no snapshot was ever written with");
  }
  for (const Direction direction : k_directions) {
    if (!take_side(reader, content.sample[direction])) return damaged("figures that no readings can give");
  }
  if (format == k_format && reader.take<std::int64_t>() != 0) return of_a_later_library("parts");
  return content;
}

}  // namespace

std::uint64_t fingerprint(const Specification& specification) noexcept {
  Fingerprint print;
  print.add(specification.edition->name);
  print.add(specification.edition->table_set);
  print.add(specification.edition->rules);
  print.add(*specification.row);
  print.add(specification.grade ? static_cast<std::int64_t>(*specification.grade) : k_no_plan);
  return print.value();
}

std::uint64_t fingerprint(const Conditions& conditions) noexcept {
  Fingerprint print;
  print.add(conditions);
  return print.value();
}

Snapshot write_snapshot(const SnapshotContent& content) noexcept {
  Snapshot bytes{};
  std::copy_n(std::as_bytes(std::span(k_mark)).begin(), k_mark.size(), bytes.begin());
  Writer writer{std::span(bytes).subspan(k_mark.size())};
  writer.put(k_format);
  writer.put(static_cast<std::uint32_t>(k_snapshot_size));
  writer.put(content.fingerprint);
  writer.put(content.conditions.value_or(0));
  for (const Direction direction : k_directions) writer.put(content.planned ? (*content.planned)[direction] : k_no_plan);
  writer.put(!content.viewing_passed ? std::int64_t{0} : *content.viewing_passed ? std::int64_t{1} : std::int64_t{2});
  writer.put(content.sample.readings_lost() ? k_readings_lost : 0);
  writer.put(content.sample.named_suspects());
  for (const Direction direction : k_directions) {
    const DirectionSample& side = content.sample[direction];
    for (const Summary* summary : {&side.aperture, &side.wire, &side.suspect}) put(writer, summary->figures());
    writer.put(side.refused_apertures);
    writer.put(side.refused_wires);
  }
  writer.put(std::int64_t{0});  // parts
  writer.put(checksum(std::span(bytes).first(k_snapshot_size - k_checksum_size)));
  return bytes;
}

Result<SnapshotContent> read_snapshot(std::span<const std::byte> bytes, const Specification& specification) {
  constexpr std::size_t k_least = k_mark.size() + 2 * sizeof(std::uint32_t) + k_checksum_size;
  if (bytes.size() < k_least) return damaged("too short for a snapshot");
  if (!std::ranges::equal(bytes.first(k_mark.size()), std::as_bytes(std::span(k_mark)))) return damaged("not a snapshot");
  if (Reader(bytes.last(k_checksum_size)).take<std::uint64_t>() != checksum(bytes.first(bytes.size() - k_checksum_size)))
    return damaged("the checksum does not fit: the snapshot was cut or changed");
  Reader reader(bytes.subspan(k_mark.size()));
  const auto format = reader.take<std::uint32_t>();
  if (format != k_format && format != k_first_format) return of_a_later_library(fmt::format("format {}", format));
  const std::size_t size = format == k_format ? k_snapshot_size : k_first_format_size;
  const auto stated = reader.take<std::uint32_t>();
  if (format == k_format && stated == bytes.size() && stated > size) return of_a_later_library("parts");
  if (stated != bytes.size() || stated != size) return damaged("not the size that it states");
  return read_content(reader, format, specification);
}

}  // namespace sievecloth
