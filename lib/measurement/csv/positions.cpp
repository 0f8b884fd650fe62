#include "measurement/csv/positions.hpp"

#include <fmt/format.h>

#include "base/text.hpp"

namespace sievecloth {

std::size_t Positions::Hash::operator()(const Position& position) const noexcept {
  const auto mix = [](std::uint64_t value) { return (value ^ (value >> 29)) * 0x9E3779B97F4A7C15u; };
  return mix(mix(static_cast<std::uint64_t>(position.x.pm())) + static_cast<std::uint64_t>(position.y.pm())) +
         static_cast<std::size_t>(position.direction);
}

bool Positions::is_new(const Position& position, std::int64_t line) {
  return full() || places_.try_emplace(position, Place{files_.size(), line}).second;
}

std::string Positions::place_of(const Position& position) const {
  const Place& place = places_.at(position);
  if (place.file == files_.size()) return fmt::format("line {}", place.line);
  return fmt::format("line {} of {}", place.line, printable(files_[place.file - 1], 4096));
}

}  // namespace sievecloth
