// Keeps some of many readings for charts, evenly over each direction.
#pragma once

#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

#include "sievecloth/sample.hpp"

namespace sievecloth {

/// Once it is full, every second reading of each direction is dropped and only every second one of those that follow is kept, and
/// so on. Suspects are kept as long as they fill less than half of the room.
class ChartReadings {
 public:
  explicit ChartReadings(std::size_t most) : most_(most) {}

  void add(const ReadingColumns& rows);
  void add(const Reading& reading);

  /// Rows with a reading that were added.
  std::int64_t rows() const noexcept { return rows_; }
  /// Returns what was kept, in order, and keeps nothing any more.
  std::vector<Reading> take();

 private:
  bool wants(Direction direction, Role role);
  void keep(Reading reading);

  std::size_t most_;
  std::int64_t rows_ = 0;
  std::int64_t stride_ = 1;
  std::size_t suspects_ = 0;
  PerDirection<std::int64_t> numbers_{};                // of the next reading
  std::vector<std::pair<Reading, std::int64_t>> kept_;  // with its number; suspects have 0, which every stride divides
};

}  // namespace sievecloth
