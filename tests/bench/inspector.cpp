// What a rig pays for each reading, and for a look at the standing. Compare figures of one run only.
#include <benchmark/benchmark.h>

#include <random>
#include <vector>

#include "sievecloth/inspector.hpp"

namespace sievecloth {
namespace {

Inspector an_inspector(std::int64_t planned = 0) {
  Conditions conditions;
  if (planned > 0) conditions.planned = {planned, planned};
  return Inspector::create(specify(*find_edition("iso-3310-1-2016").value(), "75 um", Grade::inspection).value(), conditions)
      .value();
}

std::vector<double> a_field(std::size_t count) {
  std::mt19937 random(6);
  std::vector<double> readings(count);
  for (double& reading : readings) reading = 70 + static_cast<double>(random() % 10'000) / 1000;
  return readings;
}

void one_length(benchmark::State& state) {
  Inspector inspector = an_inspector();
  for (auto _ : state) benchmark::DoNotOptimize(inspector.add(Quantity::aperture, Direction::warp, Length::from_pm(75'310'001)));
}

void one_double(benchmark::State& state) {
  Inspector inspector = an_inspector();
  for (auto _ : state) benchmark::DoNotOptimize(inspector.add(Quantity::aperture, Direction::warp, 75.31, Unit::micrometre));
}

void field_of_doubles(benchmark::State& state) {
  Inspector inspector = an_inspector();
  const std::vector<double> readings = a_field(static_cast<std::size_t>(state.range(0)));
  for (auto _ : state) benchmark::DoNotOptimize(inspector.add(Quantity::aperture, Direction::warp, readings, Unit::micrometre));
  state.SetItemsProcessed(state.iterations() * state.range(0));
}

void standing_with_a_plan(benchmark::State& state) {
  Inspector inspector = an_inspector(1000);
  (void)inspector.add(Quantity::aperture, Direction::warp, a_field(500), Unit::micrometre);
  (void)inspector.add(Quantity::aperture, Direction::weft, a_field(500), Unit::micrometre);
  for (auto _ : state) benchmark::DoNotOptimize(inspector.standing());
}

void save(benchmark::State& state) {
  const Inspector inspector = an_inspector();
  for (auto _ : state) benchmark::DoNotOptimize(inspector.save());
}

BENCHMARK(one_length);
BENCHMARK(one_double);
BENCHMARK(field_of_doubles)->Arg(12)->Arg(1000)->Arg(100'000);
BENCHMARK(standing_with_a_plan);
BENCHMARK(save);

}  // namespace
}  // namespace sievecloth
