#include "check/repeated_runs.hpp"

namespace sievecloth {
namespace {

constexpr std::size_t k_run = 32;
constexpr std::uint64_t k_base = 0x9e3779b97f4a7c15;  // odd: a rolling hash modulo 2^64

constexpr std::uint64_t power(std::uint64_t base, std::size_t exponent) {
  std::uint64_t value = 1;
  for (; exponent > 0; --exponent) value *= base;
  return value;
}

// Spreads the bits of a value, since lengths differ in few (the finalizer of splitmix64).
std::uint64_t mixed(std::uint64_t value) {
  value = (value ^ (value >> 30)) * 0xbf58476d1ce4e5b9;
  value = (value ^ (value >> 27)) * 0x94d049bb133111eb;
  return value ^ (value >> 31);
}

}  // namespace

void RepeatedRuns::begin_file() {
  ++file_;
  sequences_ = {};
}

void RepeatedRuns::add(Direction direction, Length aperture, std::int64_t line) {
  if (full()) return;
  ++compared_;
  Sequence& sequence = sequences_[direction];
  sequence.values.push_back(mixed(static_cast<std::uint64_t>(aperture.pm())));
  sequence.hash = sequence.hash * k_base + sequence.values.back();
  const std::size_t count = sequence.values.size();
  if (count < k_run) return;
  if (count > k_run) sequence.hash -= sequence.values[count - 1 - k_run] * power(k_base, k_run);
  const Place here{file_, direction, static_cast<std::int64_t>(count), line};
  const auto [found, is_new] = places_.try_emplace(sequence.hash, here);
  if (is_new) return;
  Place& earlier = found->second;
  const bool same_sequence = earlier.file == file_ && earlier.direction == direction;
  if (same_sequence && here.number - earlier.number < static_cast<std::int64_t>(k_run)) earlier.shows_nothing = true;
  if (earlier.shows_nothing) return;
  const Repeat repeat{earlier.file, earlier.line, line};
  if (earlier.file != file_ && !across_files_) across_files_ = repeat;
  if (same_sequence && !within_file_) within_file_ = repeat;
}

}  // namespace sievecloth
