// The positions of a piece that have been read.
#pragma once

#include <cstdint>
#include <string>
#include <unordered_map>
#include <vector>

#include "sievecloth/readings_csv.hpp"

namespace sievecloth {

struct Position {
  Length x;
  Length y;
  Direction direction = Direction::warp;
  bool operator==(const Position&) const = default;
};

/// Positions in all files of one piece, up to k_most_positions; those beyond are not compared.
class Positions {
 public:
  /// The positions that follow are in this file.
  void begin_file(std::string name) { files_.push_back(std::move(name)); }
  /// Notes a position. Returns false if it has been noted before.
  bool is_new(const Position& position, std::int64_t line);
  /// Where a noted position stands: `line 3`, or `line 3 of a.csv` if that is not the present file.
  std::string place_of(const Position& position) const;
  /// True once no more are compared.
  bool full() const noexcept { return places_.size() >= k_most_positions; }

 private:
  struct Place {
    std::size_t file = 0;  // number of files begun
    std::int64_t line = 0;
  };
  struct Hash {
    std::size_t operator()(const Position& position) const noexcept;
  };

  std::vector<std::string> files_;
  std::unordered_map<Position, Place, Hash> places_;
};

/// As in readings_csv.hpp, for a file of a piece that may have others.
Result<ReadRows> read_readings(const ByteSource& source, const CsvOptions& options, const ColumnSink& sink, unsigned threads,
                               Positions& positions);

}  // namespace sievecloth
