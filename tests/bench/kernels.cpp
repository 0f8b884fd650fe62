// The inner loops, compared with the limit set by reading the memory. Compare only figures from the same run.
#include <benchmark/benchmark.h>

#include <cstdint>
#include <random>
#include <vector>

#include "sievecloth/summary.hpp"

namespace sievecloth {
namespace {

constexpr std::size_t k_readings = 32u << 20;  // larger than any cache
const Thresholds k_thresholds{Length::of(75, Unit::micrometre), Length::of(91, Unit::micrometre),
                              Length::of(103, Unit::micrometre)};

// Hundredths of a micrometre around 75 um.
const std::vector<std::int32_t>& quanta() {
  static const std::vector<std::int32_t> readings = [] {
    std::mt19937 random(5);
    std::vector<std::int32_t> values(k_readings);
    for (std::int32_t& value : values) value = 7'000 + static_cast<std::int32_t>(random() % 1'000);
    return values;
  }();
  return readings;
}

const std::vector<double>& micrometres() {
  static const std::vector<double> readings = [] {
    std::vector<double> values;
    values.reserve(k_readings);
    for (const std::int32_t reading : quanta()) values.push_back(reading / 100.0);
    return values;
  }();
  return readings;
}

// The read limit: plain summation, in as many sums as the memory can feed.
template <class Value>
void sum_alone(benchmark::State& state, const std::vector<Value>& values) {
  for (auto _ : state) {
    std::array<Value, 64> sums{};
    for (std::size_t i = 0; i + sums.size() <= values.size(); i += sums.size()) {
      for (std::size_t j = 0; j < sums.size(); ++j) sums[j] += values[i + j];
    }
    benchmark::DoNotOptimize(sums);
  }
  state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(values.size()));
}

void read_doubles(benchmark::State& state) { sum_alone(state, micrometres()); }
void read_int32(benchmark::State& state) { sum_alone(state, quanta()); }

void add_um(benchmark::State& state) {
  for (auto _ : state) {
    Summary summary(k_thresholds);
    if (!summary.add_um(micrometres()).ok()) state.SkipWithError("not taken");
    benchmark::DoNotOptimize(summary);
  }
  state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(k_readings));
}

void add_quanta(benchmark::State& state) {
  for (auto _ : state) {
    Summary summary(k_thresholds);
    if (!summary.add_quanta(quanta(), Length::from_pm(10'000)).ok()) state.SkipWithError("not taken");
    benchmark::DoNotOptimize(summary);
  }
  state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(k_readings));
}

BENCHMARK(read_doubles)->Unit(benchmark::kMillisecond);
BENCHMARK(add_um)->Unit(benchmark::kMillisecond);
BENCHMARK(read_int32)->Unit(benchmark::kMillisecond);
BENCHMARK(add_quanta)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace sievecloth

BENCHMARK_MAIN();
