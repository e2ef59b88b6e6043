// How long ranking many readings against a large set takes. The set and the readings are drawn from
// the natural range of teeth; errors are those of a contact spectrophotometer and of a calibration
// of 45 readings a tab.

#include <benchmark/benchmark.h>

#include "mamelon/calibrate.h"
#include "mamelon/match.h"

#include "shade/sample.h"

namespace {

using namespace mamelon;

Lab tooth(detail::Generator& random) {
  return {72 + 5 * random.normal(), 1.5 + 1.6 * random.normal(), 17 + 4.5 * random.normal()};
}

TabSet tabs(std::size_t count) {
  detail::Generator random(1);
  TabSet set{
      .name = "bench", .tabs = {}, .viewing = viewing_from_string("D65/2"), .provenance = {}};
  for (std::size_t i = 0; i < count; ++i) {
    Tab tab;
    tab.name = "tab " + std::to_string(i);
    tab.lab.value = tooth(random);
    tab.lab.random = diagonal({0.0014, 0.0003, 0.0009});
    tab.lab.shared = diagonal({0.025, 0.005, 0.015});
    set.tabs.push_back(std::move(tab));
  }
  return set;
}

std::vector<Reading> readings(std::size_t count) {
  detail::Generator random(2);
  std::vector<Reading> made;
  for (std::size_t i = 0; i < count; ++i) {
    Reading reading{.label = "tooth",
                    .zone = {},
                    .lab = {},
                    .reflectance = {},
                    .viewing = viewing_from_string("D65/2"),
                    .count = 1,
                    .warnings = {},
                    .provenance = {}};
    reading.lab.value = tooth(random);
    reading.lab.random = diagonal({0.04, 0.01, 0.03});
    made.push_back(std::move(reading));
  }
  return made;
}

// 10 000 readings against 500 tabs; the argument is the number of draws behind each chance.
void match_many(benchmark::State& state) {
  const TabSet set = tabs(500);
  const auto teeth = readings(10000);
  MatchOptions options;
  options.draws = static_cast<std::size_t>(state.range(0));
  options.keep = 5;
  for (auto _ : state) benchmark::DoNotOptimize(match_all(teeth, set, options));
  state.SetItemsProcessed(state.iterations() * 10000);
}
BENCHMARK(match_many)
    ->Arg(256)
    ->Arg(512)
    ->Arg(1024)
    ->Arg(4096)
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime();

// One reading against the usual sixteen tabs, all of them reported.
void match_one(benchmark::State& state) {
  const TabSet set = tabs(16);
  const auto teeth = readings(1);
  for (auto _ : state) benchmark::DoNotOptimize(match(teeth[0], set));
}
BENCHMARK(match_one)->Unit(benchmark::kMicrosecond);

// A calibration of 16 tabs × 3 repeats × 5 days × 3 operators.
void calibrate_study(benchmark::State& state) {
  detail::Generator random(3);
  const auto tooth_labs = readings(16);
  std::vector<RepeatReading> rows;
  for (std::size_t d = 0; d < 5; ++d)
    for (std::size_t o = 0; o < 3; ++o)
      for (std::size_t t = 0; t < 16; ++t)
        for (std::size_t r = 0; r < 3; ++r) {
          RepeatReading row{.reading = tooth_labs[t],
                            .operator_name = std::to_string(o),
                            .day = std::to_string(d),
                            .instrument = {},
                            .row = rows.size() + 1};
          row.reading.label = "tab " + std::to_string(t);
          row.reading.lab.value.l += 0.25 * random.normal();
          row.reading.lab.value.a += 0.12 * random.normal();
          row.reading.lab.value.b += 0.2 * random.normal();
          rows.push_back(std::move(row));
        }
  for (auto _ : state) benchmark::DoNotOptimize(calibrate(rows));
}
BENCHMARK(calibrate_study)->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
