// Finds readings that are there twice.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <unordered_map>
#include <vector>

#include "sievecloth/length.hpp"
#include "sievecloth/sample.hpp"

namespace sievecloth {

/// Looks for 32 apertures of one direction that follow each other as they did before, which real readings do not do by chance: a
/// file that was saved while it grew, a block pasted twice, the readings of one direction given for the other. A sequence that
/// repeats itself within that length (all alike, or made up) shows nothing and is passed over. Only the first 20,000
/// apertures are compared: beyond, chance would have its say where readings are coarse.
class RepeatedRuns {
 public:
  /// Where a run ends that is there twice.
  struct Repeat {
    std::size_t earlier_file = 0;
    std::int64_t earlier_line = 0;
    std::int64_t line = 0;
  };

  void begin_file();
  /// True if it compares no more.
  bool full() const noexcept { return compared_ == k_most_compared; }
  void add(Direction direction, Length aperture, std::int64_t line);

  /// The first run of this file that an earlier file holds, in whichever direction.
  const std::optional<Repeat>& across_files() const noexcept { return across_files_; }
  /// The first run that its own file holds twice in one direction.
  const std::optional<Repeat>& within_file() const noexcept { return within_file_; }

 private:
  struct Place {
    std::size_t file = 0;
    Direction direction = Direction::warp;
    std::int64_t number = 0;  // of the aperture in its direction
    std::int64_t line = 0;
    bool shows_nothing = false;
  };
  /// The apertures of one direction of the file that is read.
  struct Sequence {
    std::vector<std::uint64_t> values;
    std::uint64_t hash = 0;  // of the last 32
  };

  static constexpr std::size_t k_most_compared = 20'000;

  std::size_t file_ = 0;  // counts from 1
  std::size_t compared_ = 0;
  PerDirection<Sequence> sequences_;
  std::unordered_map<std::uint64_t, Place> places_;  // by the hash of the run that ends there
  std::optional<Repeat> across_files_, within_file_;
};

}  // namespace sievecloth
