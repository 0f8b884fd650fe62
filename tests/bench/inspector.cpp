// The cost to a rig of each reading and of a look at the standing. Compare only figures from the same run.
#include <benchmark/benchmark.h>

#include <random>
#include <vector>

#include "sievecloth/c/sievecloth.h"
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

void field_of_lengths(benchmark::State& state) {
  Inspector inspector = an_inspector();
  std::vector<Length> readings;
  for (const double um : a_field(static_cast<std::size_t>(state.range(0))))
    readings.push_back(*round_to_length(um, Unit::micrometre));
  for (auto _ : state) benchmark::DoNotOptimize(inspector.add(Quantity::aperture, Direction::warp, readings));
  state.SetItemsProcessed(state.iterations() * state.range(0));
}

void field_in_c(benchmark::State& state) {
  sievecloth_inspector* inspector = nullptr;
  sievecloth_options options;
  sievecloth_options_init(&options);
  options.standard = "iso-3310-1-2016";
  options.size = "75 um";
  options.grade = "inspection";
  if (sievecloth_inspector_new(&inspector) != SIEVECLOTH_OK || sievecloth_inspector_begin(inspector, &options) != SIEVECLOTH_OK)
    return state.SkipWithError("no inspector");
  const std::vector<double> readings = a_field(static_cast<std::size_t>(state.range(0)));
  for (auto _ : state)
    benchmark::DoNotOptimize(
        sievecloth_inspector_add_um(inspector, SIEVECLOTH_APERTURE, SIEVECLOTH_WARP, readings.data(), readings.size()));
  state.SetItemsProcessed(state.iterations() * state.range(0));
  sievecloth_inspector_free(inspector);
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
BENCHMARK(field_of_lengths)->Arg(12)->Arg(1000);
BENCHMARK(field_in_c)->Arg(1)->Arg(12)->Arg(1000);
BENCHMARK(standing_with_a_plan);
BENCHMARK(save);

}  // namespace
}  // namespace sievecloth
