#include "report/wording.hpp"

#include <fmt/format.h>

namespace sievecloth {

std::string_view direction_phrase(Direction direction) noexcept {
  return direction == Direction::warp ? "along warp (between weft wires)" : "along weft (between warp wires)";
}

std::string reason_phrase(Reason reason, const Criterion& criterion, const Assessment& assessment) {
  const Rules& rules = assessment.specification.edition->rules;
  switch (reason) {
    case Reason::no_readings: return "nothing was measured";
    case Reason::single_reading: return "one reading has no standard deviation";
    case Reason::count_not_reached: return fmt::format("{} measured so far, {} asked", criterion.n, assessment.required->count);
    case Reason::all_apertures_needed:
      return "every full aperture must be measured; the job file has to say so (all_apertures, apertures_in_piece)";
    case Reason::too_few_wires: return fmt::format("{} wires measured so far, {} asked", criterion.n, rules.wire_count.value);
    case Reason::rule_not_seen: return "the factor K decides, and whether this edition keeps it was not seen";
    case Reason::share_of_few: return "so few apertures that a single one decides";
    case Reason::too_coarse:
      return fmt::format("read more coarsely than {} or a quarter of Y, whichever is greater", to_text(rules.resolution->floor));
    case Reason::viewing_not_recorded: return "the two viewing tests over all apertures are not recorded (--viewing passed|failed)";
    case Reason::left_out:
      return criterion.id == CriterionId::viewing ? "left out: measured quantities only" : "left out: apertures only";
    case Reason::not_in_edition: return "this edition does not ask it";
    case Reason::not_in_row: return "this edition does not ask it of this size and grade";
    case Reason::count_not_known: break;
  }
  return "how many apertures this edition asks is not in the table";
}

std::string warning_sentence(const Warning& warning, const Assessment& assessment) {
  const Row& row = *assessment.specification.row;
  switch (warning.kind) {
    case Warning::Kind::looks_like_inches:
      return fmt::format("the apertures would fit {} if inches and millimetres were mistaken for each other; check the unit",
                         row.designation);
    case Warning::Kind::looks_like_thousand:
      return fmt::format("the apertures would fit {} if they were a thousand times larger or smaller; check the unit",
                         row.designation);
    case Warning::Kind::looks_swapped: return "apertures and wires look swapped; check the columns";
    case Warning::Kind::fits_other_size: break;
  }
  return fmt::format("the apertures fit {} rather than {}; check the size asked for", warning.row->designation, row.designation);
}

std::string ground_phrase(const Ground& ground, const Edition& edition) {
  if (!ground.basis) return fmt::format("{}: not known", to_text(ground.kind));
  return fmt::format("{}: {} ({})", to_text(ground.kind), to_text(ground.basis->provenance), edition.source(*ground.basis).title);
}

std::vector<std::string> cautions(const Assessment& assessment) {
  const Specification& specification = assessment.specification;
  std::vector<std::string> sentences;
  if (assessment.required && assessment.required->size_assumed) {
    const CountScale scale = specification.edition->rules.counts.scale[specification.lookup_grade()];
    sentences.emplace_back(scale == CountScale::sieving_area
                               ? "The frame is not known: the count for a 200 mm sieve was asked."
                               : "The area of the cloth is not known: the count for 100 square feet was asked.");
  }
  if (specification.grade == Grade::compliance) {
    sentences.emplace_back("The compliance grade speaks of the cloth as inspected before mounting, not of the mounted sieve.");
  }
  sentences.emplace_back(
      "This does not replace the standard itself, the laboratory's accreditation or the purchaser's specification; it relates only "
      "to the piece measured.");
  return sentences;
}

}  // namespace sievecloth
