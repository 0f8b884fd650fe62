#include "sievecloth/observations.hpp"

#include <algorithm>
#include <functional>
#include <optional>
#include <string>
#include <unordered_map>
#include <utility>

#include "diagnosis/gap_finder.hpp"
#include "diagnosis/tally.hpp"

namespace sievecloth {
namespace {

constexpr std::size_t k_most_extremes = 10;
// Places from which the turn of the wires is estimated before gaps are numbered.
constexpr std::size_t k_first_places = 4096;

constexpr std::int32_t k_no_group = -1;

/// A reading, and the groups that it lies in: field, gap by number, gap by position.
struct Observed {
  Length value;
  std::int64_t line = 0;
  std::int32_t field = k_no_group, gap = k_no_group, placed_gap = k_no_group;
};

/// Names as numbers, from 0 in order of appearance.
class FieldNumbers {
 public:
  std::int32_t of(std::string_view name) {
    if (name.empty()) return k_no_group;
    if (name != last_name_) {
      const auto [entry, is_new] = numbers_.try_emplace(std::string(name), static_cast<std::int32_t>(numbers_.size()));
      last_name_ = entry->first;
      last_ = entry->second;
    }
    return last_;
  }

 private:
  std::unordered_map<std::string, std::int32_t> numbers_;
  std::string_view last_name_;  // fields come in runs
  std::int32_t last_ = k_no_group;
};

/// Sums by group, as long as every reading has one.
class Grouped {
 public:
  bool complete() const noexcept { return complete_; }
  /// Some readings had a group, others had none.
  bool partial() const noexcept { return partial_; }
  const std::vector<GroupSums>& groups() const noexcept { return groups_; }

  /// Returns the group, or null from the first reading without one.
  GroupSums* of(std::int32_t number) {
    partial_ = partial_ || (number == k_no_group ? any_ : !complete_);
    any_ = any_ || number != k_no_group;
    if (!complete_) return nullptr;
    if (number == k_no_group) {
      complete_ = false;
      groups_ = {};
      return nullptr;
    }
    const auto at = static_cast<std::size_t>(number);
    if (at >= groups_.size()) groups_.resize(at + 1);
    return &groups_[at];
  }

 private:
  bool complete_ = true, partial_ = false, any_ = false;
  std::vector<GroupSums> groups_;  // by number; without a reading where only the other quantity was measured
};

}  // namespace

/// The readings of one quantity in one direction.
class Observations::Series {
 public:
  Series(const ObservationSettings& settings, bool thresholds) : settings_(settings), thresholds_(thresholds) {}

  void add(const Observed& reading) {
    tally_.add(reading.value);
    const double value_um = reading.value.um();
    if (n_++ == 0) reference_um_ = value_um;
    note_neighbour(value_um - reference_um_);
    if (n_ <= static_cast<std::int64_t>(k_most_extremes) || value_um < smallest_.back().value_um ||
        value_um > largest_.back().value_um)
      note_extreme({value_um, reading.line});
    if (GroupSums* const field = fields_.of(reading.field)) add_to(*field, reading, value_um);
    if (GroupSums* const gap = gaps_.of(reading.gap)) add_to(*gap, reading, value_um);
    if (settings_.keep_order && in_order_.size() < k_most_in_order) in_order_.push_back(value_um);
  }

  // Apart from `add`, since the gap of a position is known only after the turn of the wires.
  void add_placed(const Observed& reading, const Place& place, double x_um, double y_um) {
    GroupSums* const gap = placed_gaps_.of(reading.placed_gap);
    if (gap->n == 0) gap->place = place.across;
    gap->x_um += x_um;
    gap->y_um += y_um;
    add_to(*gap, reading, reading.value.um());
  }
  void add_without_position() { ++without_position_; }

  /// `place_of_gap`: the number that each gap has in the file.
  SeriesObservations observed(std::span<const std::int32_t> place_of_gap, double turn_degrees) const {
    SeriesObservations result{.n = n_, .reference_um = reference_um_, .values = tally_.sorted()};
    result.step_um = step_of(result.values);
    result.coarsened = tally_.coarsened();
    if (n_ == 0) return result;
    // Whatever is coarser than a complete grouping, or the only one, must be complete as well.
    result.incomplete = fields_.partial() || (!fields_.complete() && gaps_.partial()) ||
                        (!fields_.complete() && !gaps_.complete() && without_position_ > 0 && without_position_ < n_);
    if (fields_.complete()) result.fields = present(fields_);
    if (gaps_.complete()) {
      std::vector<GroupSums> gaps = gaps_.groups();
      for (std::size_t i = 0; i < gaps.size(); ++i) gaps[i].place = place_of_gap[i];
      result.gaps = in_order_of_place(std::move(gaps));
    } else if (without_position_ == 0) {
      result.gaps = in_order_of_place(placed_gaps_.groups());
      result.gaps_by_position = true;
      result.turn_degrees = turn_degrees;
    }
    if (result.gaps.empty() && in_order_.size() == static_cast<std::size_t>(n_)) result.in_order = in_order_;
    result.lag1_correlation = lag1_correlation();
    result.smallest = smallest_;
    result.largest = largest_;
    return result;
  }

 private:
  void add_to(GroupSums& group, const Observed& reading, double value_um) const {
    const double deviation = value_um - reference_um_;
    if (group.n++ == 0 || reading.line < group.first_line) {
      group.first_um = value_um;
      group.first_line = reading.line;
    }
    group.sum_um += deviation;
    group.squares_um2 += deviation * deviation;
    if (!thresholds_) return;
    if (settings_.intermediate) group.above_intermediate += reading.value > *settings_.intermediate ? 1 : 0;
    if (settings_.largest) group.above_largest += reading.value > *settings_.largest ? 1 : 0;
  }

  void note_neighbour(double deviation) {
    sum_ += deviation;
    squares_ += deviation * deviation;
    products_ += deviation * last_;  // 0 before the first
    if (n_ == 1) first_ = deviation;
    last_ = deviation;
  }

  // Sum of (x_i - m)(x_(i+1) - m) over the sum of (x_i - m)^2.
  std::optional<double> lag1_correlation() const {
    const double n = static_cast<double>(n_), mean = sum_ / n;
    const double squares = squares_ - n * mean * mean;
    if (n_ < 2 || !(squares > 0)) return std::nullopt;
    return (products_ - mean * (2 * sum_ - first_ - last_) + (n - 1) * mean * mean) / squares;
  }

  // Keeps the most extreme readings at both ends; of equal ones the first.
  void note_extreme(const Extreme& reading) {
    const auto insert = [&](std::vector<Extreme>& extremes, auto before) {
      const auto further = [&](const Extreme& a, const Extreme& b) { return before(a.value_um, b.value_um); };
      extremes.insert(std::upper_bound(extremes.begin(), extremes.end(), reading, further), reading);
      if (extremes.size() > k_most_extremes) extremes.pop_back();
    };
    insert(smallest_, std::less<>());
    insert(largest_, std::greater<>());
  }

  // An offset of the scale, or a pixel that is no round number, leaves no common divisor, but the same differences.
  static double step_of(const std::vector<Counted>& values) {
    double step = 0;
    for (std::size_t i = 1; i < values.size(); ++i) {
      const double difference = values[i].value_um - values[i - 1].value_um;
      step = step == 0 ? difference : std::min(step, difference);
    }
    return step;
  }

  static std::vector<GroupSums> present(const Grouped& grouped) {
    std::vector<GroupSums> groups = grouped.groups();
    std::erase_if(groups, [](const GroupSums& group) { return group.n == 0; });
    return groups;
  }

  static std::vector<GroupSums> in_order_of_place(std::vector<GroupSums> gaps) {
    std::erase_if(gaps, [](const GroupSums& gap) { return gap.n == 0; });
    std::sort(gaps.begin(), gaps.end(), [](const GroupSums& a, const GroupSums& b) { return a.place < b.place; });
    return gaps;
  }

  ObservationSettings settings_;
  bool thresholds_;
  std::int64_t n_ = 0;
  double reference_um_ = 0;
  double sum_ = 0, squares_ = 0, products_ = 0, first_ = 0, last_ = 0;  // of deviations from the reference
  Tally tally_;
  std::vector<Extreme> smallest_, largest_;
  Grouped fields_, gaps_, placed_gaps_;
  std::int64_t without_position_ = 0;
  std::vector<double> in_order_;
};

/// The rows of one direction: groups are numbered once for both quantities.
class Observations::Side {
 public:
  Side(const ObservationSettings& settings, Direction direction)
      : pitch_um_(settings.pitch.um()), direction_(direction), apertures_(settings, true), wires_(settings, false) {}

  struct Row {
    std::int64_t line = 0;
    Length aperture, wire;  // 0 where none was measured
    Length x = k_no_position, y = k_no_position;
    std::string_view field;
    std::int32_t gap = k_no_gap;
  };

  void add(const Row& row) {
    Observed reading{Length(), row.line, fields_.of(row.field), gap_number(row.gap), k_no_group};
    const bool placed = row.x != k_no_position;
    for (const auto& [length, series] : {std::pair(row.aperture, &apertures_), std::pair(row.wire, &wires_)}) {
      if (length == Length()) continue;
      reading.value = length;
      series->add(reading);
      if (!placed) series->add_without_position();
    }
    if (!placed) return;
    if (finder_) return add_placed(row);
    waiting_.push_back(row);
    waiting_.back().field = {};  // its text does not last
    if (waiting_.size() == k_first_places) find_turn();
  }

  SeriesObservations observed(ClothQuantity quantity) {
    if (!waiting_.empty()) find_turn();
    const Series& series = quantity == ClothQuantity::aperture ? apertures_ : wires_;
    return series.observed(places_of_gaps_, finder_ ? turn_degrees() : 0);
  }

 private:
  std::int32_t gap_number(std::int32_t gap) {
    if (gap == k_no_gap) return k_no_group;
    if (!places_of_gaps_.empty() && gap == last_gap_) return last_gap_number_;
    std::int32_t& number = gap_numbers_[gap];  // from 1, so that a new one is 0
    if (number == 0) {
      places_of_gaps_.push_back(gap);
      number = static_cast<std::int32_t>(places_of_gaps_.size());
    }
    last_gap_ = gap;
    last_gap_number_ = number - 1;
    return last_gap_number_;
  }

  // Gaps of a direction follow each other in y along the warp, in x along the weft.
  Place place_of(const Row& row) const {
    const double x = row.x.um(), y = row.y.um();
    return direction_ == Direction::warp ? Place{y, x} : Place{x, y};
  }

  // Counterclockwise in both directions.
  double turn_degrees() const { return direction_ == Direction::warp ? finder_->turn_degrees() : -finder_->turn_degrees(); }

  // Ends the wait. In order of place, so that the gaps do not depend on the order of the rows.
  void find_turn() {
    std::vector<Place> first;
    first.reserve(waiting_.size());
    for (const Row& row : waiting_) first.push_back(place_of(row));
    finder_.emplace(pitch_um_, first);
    const auto across = [&](const Row& row) { return finder_->across(place_of(row)); };
    std::stable_sort(waiting_.begin(), waiting_.end(), [&](const Row& a, const Row& b) { return across(a) < across(b); });
    for (const Row& row : std::exchange(waiting_, {})) add_placed(row);
  }

  void add_placed(const Row& row) {
    const Place place = place_of(row);
    Observed reading{Length(), row.line, k_no_group, k_no_group, finder_->gap_of(place)};
    const Place turned{finder_->across(place), place.along};
    for (const auto& [length, series] : {std::pair(row.aperture, &apertures_), std::pair(row.wire, &wires_)}) {
      if (length == Length()) continue;
      reading.value = length;
      series->add_placed(reading, turned, row.x.um(), row.y.um());
    }
  }

  double pitch_um_;
  Direction direction_;
  Series apertures_, wires_;
  FieldNumbers fields_;
  NumberMap<std::int32_t> gap_numbers_;
  std::vector<std::int32_t> places_of_gaps_;
  std::int32_t last_gap_ = k_no_gap, last_gap_number_ = k_no_group;  // gaps come in runs
  std::vector<Row> waiting_;                                         // before the turn is known
  std::optional<GapFinder> finder_;
};

Observations::Observations(const ObservationSettings& settings)
    : sides_{std::make_unique<Side>(settings, Direction::warp), std::make_unique<Side>(settings, Direction::weft)} {}

Observations::~Observations() = default;
Observations::Observations(Observations&&) noexcept = default;
Observations& Observations::operator=(Observations&&) noexcept = default;

void Observations::add(const ReadingColumns& rows) {
  Side::Row row;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    if (!rows.role.empty() && rows.role[i] != Role::sample) continue;
    row.line = rows.first_line + static_cast<std::int64_t>(i);
    if (!rows.aperture.empty()) row.aperture = rows.aperture[i];
    if (!rows.wire.empty()) row.wire = rows.wire[i];
    if (row.aperture == Length() && row.wire == Length()) continue;
    if (!rows.field.empty()) row.field = rows.field[i];
    if (!rows.gap.empty()) row.gap = rows.gap[i];
    if (!rows.x.empty()) {
      row.x = rows.x[i];
      row.y = rows.y[i];
    }
    sides_[rows.direction[i]]->add(row);
  }
}

void Observations::add(const Reading& reading) {
  if (reading.role != Role::sample || (!reading.aperture && !reading.wire)) return;
  const bool placed = reading.x && reading.y;
  sides_[reading.direction]->add({reading.line, reading.aperture.value_or(Length()), reading.wire.value_or(Length()),
                                  placed ? *reading.x : k_no_position, placed ? *reading.y : k_no_position, reading.field,
                                  reading.gap.value_or(k_no_gap)});
}

SeriesObservations Observations::series(ClothQuantity quantity, Direction direction) const {
  return sides_[direction]->observed(quantity);
}

}  // namespace sievecloth
