// Speed of planning with 40 pastes and up to three layers, and of the optical engines.

#include <benchmark/benchmark.h>

#include "mamelon/plan.h"

#include "plan_samples.h"

namespace mamelon {
namespace {

// Arguments: depth in tenths of a mm, thickness sd in hundredths, role order, certificate.
void plan_forty_pastes(benchmark::State& state) {
  PlanRequest request = test::sample_request(test::sample_set(40, 7), test::target_lab({74, 2, 19}),
                                             0.1 * static_cast<double>(state.range(0)));
  request.max_layers = 3;
  request.alternatives = 1;
  request.thickness_sd_mm = 0.01 * static_cast<double>(state.range(1));
  request.role_order = state.range(2) != 0;
  request.certify = state.range(3) != 0;
  for (auto _ : state) {
    benchmark::DoNotOptimize(plan(request));
  }
}
BENCHMARK(plan_forty_pastes)
    ->ArgNames({"depth_0_1_mm", "sd_0_01_mm", "role_order", "certify"})
    ->ArgsProduct({{20, 30}, {0, 15}, {0, 1}, {0, 1}})
    ->Unit(benchmark::kMillisecond);

void predict_three_layers(benchmark::State& state) {
  const PasteSet set = test::sample_set(5, 1);
  const Stack stack{test::flat_floor(0.3),
                    {{set.pastes[0], 0.5}, {set.pastes[1], 1}, {set.pastes[3], 0.7}},
                    false};
  for (auto _ : state) {
    benchmark::DoNotOptimize(predict(stack));
  }
}
BENCHMARK(predict_three_layers);

}  // namespace
}  // namespace mamelon

BENCHMARK_MAIN();
