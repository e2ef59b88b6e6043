// Speed of planning with 40 and 10 pastes, of a crosswalk, of a stack moved by hand, and of the
// optical engines. Run on one thread (MAMELON_THREADS=1).

#include <benchmark/benchmark.h>

#include "mamelon/crosswalk.h"
#include "mamelon/plan.h"

#include "plan_samples.h"

namespace mamelon {
namespace {

PlanRequest request_of(std::size_t pastes, double depth_mm, bool transport) {
  const PasteSet set = test::sample_set(pastes, 7);
  return test::sample_request(transport ? test::with_transport(set) : set,
                              test::target_lab({74, 2, 19}), depth_mm);
}

// Arguments: pastes, depth in tenths of a mm, role order, transport.
void plan_pastes(benchmark::State& state) {
  PlanRequest request = request_of(static_cast<std::size_t>(state.range(0)),
                                   0.1 * static_cast<double>(state.range(1)), state.range(3) != 0);
  request.max_layers = 3;
  request.alternatives = 1;
  request.role_order = state.range(2) != 0;
  for (auto _ : state) {
    benchmark::DoNotOptimize(plan(request));
  }
}
BENCHMARK(plan_pastes)
    ->ArgNames({"pastes", "depth_0_1_mm", "role_order", "transport"})
    ->ArgsProduct({{10, 40}, {20, 30}, {0, 1}, {0, 1}})
    ->Unit(benchmark::kMillisecond);

void crosswalk_16_tabs(benchmark::State& state) {
  TabSet tabs{.name = "sixteen", .tabs = {}, .viewing = test::d65(), .provenance = {}};
  for (int i = 0; i < 16; ++i) {
    const double step = i;
    tabs.tabs.push_back(
        {"tab " + std::to_string(i), {{64 + step, 0.3 * (15 - step), 24 - step}, {}, {}}, {}});
  }
  const PlanRequest request = request_of(10, 2, true);
  for (auto _ : state) {
    benchmark::DoNotOptimize(crosswalk(tabs, request));
  }
}
BENCHMARK(crosswalk_16_tabs)->Unit(benchmark::kMillisecond);

void predict_a_moved_plan(benchmark::State& state) {
  const PlanRequest request = request_of(40, 2.6, true);
  const auto& pastes = request.pastes.pastes;
  std::vector<PlannedLayer> layers{{pastes[1].name, Role::dentine, 1.1, 0, false},
                                   {pastes[2].name, Role::body, 0.9, 0, false},
                                   {pastes[3].name, Role::enamel, 0.6, 0, false}};
  for (auto _ : state) {
    layers[0].thickness_mm = 2.0 - layers[0].thickness_mm;
    benchmark::DoNotOptimize(predict_plan(request, layers));
  }
}
BENCHMARK(predict_a_moved_plan)->Unit(benchmark::kMillisecond);

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
