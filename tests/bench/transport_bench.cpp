// Three layers, 31 bands, by discrete ordinates.

#include <array>
#include <vector>

#include <benchmark/benchmark.h>

#include "mamelon/transport.h"

namespace {

using namespace mamelon;

std::vector<Paste> three_pastes() {
  const Grid visible{400, 10, 31};
  const std::array<std::array<double, 3>, 3> constants{
      {{0.20, 3.0, 0.6}, {0.06, 1.8, 0.7}, {0.01, 0.9, 0.8}}};
  std::vector<Paste> pastes;
  for (const auto& [absorption, reduced, g] : constants) {
    Paste paste;
    paste.name = std::string(1, static_cast<char>('a' + pastes.size()));
    std::vector<double> a;
    std::vector<double> s;
    for (std::size_t i = 0; i < visible.count; ++i) {
      const double blue = (700 - visible.wavelength_nm(i)) / 300;
      a.push_back(absorption * (0.2 + blue * blue));
      s.push_back(reduced * (1 + 0.4 * blue));
    }
    paste.absorption = PerMm(visible, a);
    paste.scattering = PerMm(visible, s);
    paste.transport = TransportConstants{PerMm(visible, a), PerMm(visible, s), g};
    pastes.push_back(std::move(paste));
  }
  return pastes;
}

const Reflectance floor_curve({400, 10, 31}, std::vector<double>(31, 0.2));

void predict_once(benchmark::State& state) {
  const auto pastes = three_pastes();
  const Stack stack{floor_curve, {{pastes[0], 1.2}, {pastes[1], 0.8}, {pastes[2], 0.4}}, false};
  const auto streams = static_cast<int>(state.range(0));
  for (auto _ : state) {
    benchmark::DoNotOptimize(predict(stack, Engine::transport, streams));
  }
}
BENCHMARK(predict_once)->Arg(4)->Arg(6)->Arg(8)->Arg(16)->Arg(32)->Unit(benchmark::kMicrosecond);

void predict_prepared(benchmark::State& state) {
  const PreparedPastes prepared(three_pastes(), static_cast<int>(state.range(0)));
  const std::array<PreparedLayer, 3> layers{{{0, 1.2}, {1, 0.8}, {2, 0.4}}};
  for (auto _ : state) {
    benchmark::DoNotOptimize(prepared.predict(floor_curve, layers));
  }
}
BENCHMARK(predict_prepared)->Arg(4)->Arg(8)->Unit(benchmark::kMicrosecond);

void predict_kubelka_munk(benchmark::State& state) {
  const auto pastes = three_pastes();
  const Stack stack{floor_curve, {{pastes[0], 1.2}, {pastes[1], 0.8}, {pastes[2], 0.4}}, false};
  for (auto _ : state) benchmark::DoNotOptimize(predict(stack));
}
BENCHMARK(predict_kubelka_munk)->Unit(benchmark::kMicrosecond);

}  // namespace

BENCHMARK_MAIN();
