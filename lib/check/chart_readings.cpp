#include "check/chart_readings.hpp"

namespace sievecloth {

// Counts the reading.
bool ChartReadings::wants(Direction direction, Role role) {
  ++rows_;
  if (most_ == 0) return false;
  if (role == Role::suspect && 2 * suspects_ < most_) return true;
  return numbers_[direction]++ % stride_ == 0;
}

// Keeps the reading that was just counted.
void ChartReadings::keep(Reading reading) {
  const bool suspect = reading.role == Role::suspect && 2 * suspects_ < most_;
  if (suspect) ++suspects_;
  const std::int64_t number = suspect ? 0 : numbers_[reading.direction] - 1;
  kept_.emplace_back(std::move(reading), number);
  while (kept_.size() > most_) {
    stride_ *= 2;
    std::erase_if(kept_, [&](const auto& kept) { return kept.second % stride_ != 0; });
    if (stride_ > rows_) kept_.resize(most_);  // no more to choose from: the first of each direction, and suspects
  }
}

void ChartReadings::add(const ReadingColumns& rows) {
  for (std::size_t row = 0; row < rows.size(); ++row) {
    if (!rows.has_reading(row)) continue;
    if (wants(rows.direction[row], rows.role.empty() ? Role::sample : rows.role[row])) keep(rows.reading(row));
  }
}

void ChartReadings::add(const Reading& reading) {
  if (wants(reading.direction, reading.role)) keep(reading);
}

std::vector<Reading> ChartReadings::take() {
  std::vector<Reading> readings;
  readings.reserve(kept_.size());
  for (auto& [reading, number] : kept_) readings.push_back(std::move(reading));
  kept_ = {};
  return readings;
}

}  // namespace sievecloth
