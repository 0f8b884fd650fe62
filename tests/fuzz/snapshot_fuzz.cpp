// Snapshots: an accepted snapshot is saved again as the same bytes and can be judged; what an inspector saved is restored in full.
#include <algorithm>
#include <vector>

#include "base/checksum.hpp"
#include "check/snapshot.hpp"
#include "fuzz.hpp"
#include "sievecloth/report.hpp"
#include "support/outcome.hpp"

using namespace sievecloth;
using namespace sievecloth::fuzz;

namespace {

Specification specification_of(std::uint8_t choice) {
  const auto editions = built_in_editions();
  const Edition& edition = *editions[choice % editions.size()];
  Specification specification{&edition, &edition.rows[choice / 4 % edition.rows.size()], std::nullopt};
  if (edition.rules.graded) specification.grade = k_grades[choice % k_grades.size()];
  return specification;
}

std::string finished(const Inspector& inspector) {
  const Result<Assessment> assessment = inspector.finish();
  return assessment.ok() ? to_json(*assessment) : to_text(assessment.error());
}

void check_restored(const Specification& specification, const Conditions& conditions, std::span<const std::byte> bytes) {
  const Result<Inspector> restored = Inspector::restore(specification, conditions, bytes);
  if (!restored.ok()) return demand_complaints(restored.errors());
  const Snapshot saved = restored->save();
  const bool adds_viewing = conditions.viewing_passed.has_value();  // a failed viewing stays failed, whoever recorded it
  demand(adds_viewing || std::ranges::equal(saved, bytes), "what was restored is saved as it was");
  const Standing standing = restored->standing();
  const Result<Assessment> assessment = restored->finish();
  if (!assessment.ok()) return demand_complaints(assessment.errors());
  demand(!standing.rejected || assessment->verdict == Verdict::does_not_conform || conditions.only_seen,
         "what was rejected does not conform");
  demand(!to_json(*assessment).empty(), "it can be written");
}

// Arbitrary bytes as a snapshot, with the required magic, size, fingerprint and checksum.
void check_dressed(const Specification& specification, const Conditions& conditions, std::span<const std::byte> bytes) {
  Snapshot snapshot = write_snapshot({.fingerprint = fingerprint(specification), .sample = make_sample(specification)});
  constexpr std::size_t k_head = 24, k_sum = 8;
  for (std::size_t i = 0; i < bytes.size() && k_head + i < snapshot.size() - k_sum; ++i) snapshot[k_head + i] ^= bytes[i];
  Checksum sum;
  sum.add(std::span(snapshot).first(snapshot.size() - k_sum));
  for (std::size_t i = 0; i < k_sum; ++i) snapshot[snapshot.size() - k_sum + i] = static_cast<std::byte>(sum.value() >> (8 * i));
  check_restored(specification, conditions, snapshot);
}

void check_saved(const Specification& specification, const Conditions& conditions, Bytes bytes) {
  Result<Inspector> made = Inspector::create(specification, conditions);
  if (!made.ok()) return demand_complaints(made.errors());
  Inspector whole = *made, first = *made, second = *made;
  const std::uint32_t turned = bytes.take<std::uint16_t>();
  while (!bytes.empty()) {
    const std::uint8_t kind = bytes.take<std::uint8_t>();
    const Length reading = Length::from_pm(bytes.take<std::int32_t>() * std::int64_t{kind} * kind);
    const auto quantity = static_cast<Quantity>(kind % 3);
    const auto direction = static_cast<Direction>(kind / 3 % 2);
    const auto answer = test::code_of(whole.add(quantity, direction, reading));
    demand(test::code_of((kind % 5 == 0 ? first : second).add(quantity, direction, reading)) == answer,
           "the same reading, the same answer");
  }
  Snapshot snapshot = whole.save();
  check_restored(specification, conditions, snapshot);
  const Result<Inspector> restored = Inspector::restore(specification, conditions, snapshot);
  demand(restored.ok() && finished(*restored) == finished(whole), "a snapshot comes back whole");
  if (!conditions.planned) {
    demand(first.merge(second).ok() && finished(first) == finished(whole), "parts merged are the whole");
  }
  const std::size_t bit = turned % (8 * snapshot.size());
  snapshot[bit / 8] ^= std::byte{1} << (bit % 8);
  demand(!Inspector::restore(specification, conditions, snapshot).ok(), "a damaged bit is noticed");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  Bytes bytes(data, size);
  const std::uint8_t way = bytes.take<std::uint8_t>();
  const Specification specification = specification_of(bytes.take<std::uint8_t>());
  Conditions conditions;
  if ((way & 4) != 0) conditions.viewing_passed = (way & 8) != 0;
  if ((way & 16) != 0) conditions.planned = {bytes.take<std::uint8_t>(), bytes.take<std::uint8_t>()};
  if ((way & 32) != 0) conditions.piece.apertures_in_piece = 1 + bytes.take<std::uint8_t>();
  conditions.piece.all_apertures = (way & 96) == 96;
  conditions.only_seen = (way & 128) != 0;
  if (way % 3 == 0) check_restored(specification, conditions, bytes.bytes());
  if (way % 3 == 1) check_dressed(specification, conditions, bytes.bytes());
  if (way % 3 == 2) check_saved(specification, conditions, bytes);
  return 0;
}
