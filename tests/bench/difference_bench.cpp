// Cost of the batch kernels against the number of rows, one thread unless the name says otherwise.

#include <cstdint>
#include <vector>

#include <benchmark/benchmark.h>

#include "mamelon/batch.h"
#include "mamelon/difference.h"

#include "random_lab.h"

namespace {

using mamelon::BatchOptions;
using mamelon::LabRows;
using mamelon::bench::columns_of;
using mamelon::bench::tooth_colours;

template <class T>
LabRows<T> columns(const std::vector<T>& values) {
  const std::span<const T> all(values);
  const std::size_t n = values.size() / 3;
  return LabRows<T>::columns(all.first(n), all.subspan(n, n), all.last(n));
}

void count_items(benchmark::State& state, std::int64_t items) {
  state.SetItemsProcessed(state.iterations() * items);
}

template <class T, bool separate>
void de00_rows(benchmark::State& state) {
  const auto n = static_cast<std::size_t>(state.range(0));
  std::vector<T> a = tooth_colours<T>(n, 1);
  std::vector<T> b = tooth_colours<T>(n, 2);
  if (separate) {
    a = columns_of(a);
    b = columns_of(b);
  }
  const auto reference = separate ? columns(a) : LabRows<T>::interleaved(a);
  const auto sample = separate ? columns(b) : LabRows<T>::interleaved(b);
  std::vector<T> de(n);
  const BatchOptions options{.threads = static_cast<std::size_t>(state.range(1))};
  for ([[maybe_unused]] auto _ : state) {
    mamelon::de00_rows<T>(reference, sample, de, options);
    benchmark::ClobberMemory();
  }
  count_items(state, state.range(0));
}
BENCHMARK(de00_rows<float, true>)->RangeMultiplier(10)->Ranges({{1000, 10000000}, {1, 1}});
BENCHMARK(de00_rows<float, false>)->RangeMultiplier(10)->Ranges({{1000, 10000000}, {1, 1}});
BENCHMARK(de00_rows<double, true>)->RangeMultiplier(10)->Ranges({{1000, 10000000}, {1, 1}});
BENCHMARK(de00_rows<double, false>)->RangeMultiplier(10)->Ranges({{1000, 10000000}, {1, 1}});
BENCHMARK(de00_rows<float, true>)->Args({1000000, 2})->Args({10000000, 2})->UseRealTime();
BENCHMARK(de00_rows<double, true>)->Args({1000000, 2})->Args({10000000, 2})->UseRealTime();

void de00_scalar(benchmark::State& state) {
  const auto n = static_cast<std::size_t>(state.range(0));
  const auto a = tooth_colours<double>(n, 1);
  const auto b = tooth_colours<double>(n, 2);
  for ([[maybe_unused]] auto _ : state) {
    for (std::size_t i = 0; i < a.size(); i += 3) {
      benchmark::DoNotOptimize(
          mamelon::de00({a[i], a[i + 1], a[i + 2]}, {b[i], b[i + 1], b[i + 2]}));
    }
  }
  count_items(state, state.range(0));
}
BENCHMARK(de00_scalar)->Arg(100000);

template <class T>
void de00_table(benchmark::State& state) {
  const auto n = static_cast<std::size_t>(state.range(0));
  const auto m = static_cast<std::size_t>(state.range(1));
  const auto a = tooth_colours<T>(n, 1);
  const auto b = tooth_colours<T>(m, 2);
  std::vector<T> de(n * m);
  for ([[maybe_unused]] auto _ : state) {
    mamelon::de00_table<T>(LabRows<T>::interleaved(a), LabRows<T>::interleaved(b), de,
                           {.threads = 1});
    benchmark::ClobberMemory();
  }
  count_items(state, state.range(0) * state.range(1));
}
BENCHMARK(de00_table<float>)->Args({100000, 16})->Args({1000, 1000});
BENCHMARK(de00_table<double>)->Args({100000, 16})->Args({1000, 1000});

template <class T>
void nearest_rows(benchmark::State& state) {
  const auto n = static_cast<std::size_t>(state.range(0));
  const auto a = tooth_colours<T>(n, 1);
  const auto b = tooth_colours<T>(static_cast<std::size_t>(state.range(1)), 2);
  std::vector<T> de(n);
  std::vector<std::uint32_t> index(n);
  for ([[maybe_unused]] auto _ : state) {
    mamelon::nearest_rows<T>(LabRows<T>::interleaved(a), LabRows<T>::interleaved(b), index, de,
                             {.threads = 1});
    benchmark::ClobberMemory();
  }
  count_items(state, state.range(0));
}
BENCHMARK(nearest_rows<float>)->ArgsProduct({{100000}, {4, 16, 64}})->Args({24000000, 16});
BENCHMARK(nearest_rows<double>)->ArgsProduct({{100000}, {16}});

void lab_from_srgb8(benchmark::State& state) {
  std::vector<std::uint8_t> rgb(static_cast<std::size_t>(3 * state.range(0)));
  for (std::size_t i = 0; i < rgb.size(); ++i)
    rgb[i] = static_cast<std::uint8_t>(i * 2654435761U >> 24);
  std::vector<float> lab(rgb.size());
  for ([[maybe_unused]] auto _ : state) {
    mamelon::lab_from_srgb8(rgb, lab, 1);
    benchmark::ClobberMemory();
  }
  count_items(state, state.range(0));
}
BENCHMARK(lab_from_srgb8)->RangeMultiplier(10)->Range(1000, 10000000);

void xyz_rows(benchmark::State& state) {
  const auto table = mamelon::weights({400, 10, 31}, mamelon::viewing_from_string("D65/2"));
  const std::vector<double> spectra(static_cast<std::size_t>(31 * state.range(0)), 0.5);
  std::vector<double> xyz(static_cast<std::size_t>(3 * state.range(0)));
  for ([[maybe_unused]] auto _ : state) {
    mamelon::xyz_rows(spectra, *table, xyz, 1);
    benchmark::ClobberMemory();
  }
  count_items(state, state.range(0));
}
BENCHMARK(xyz_rows)->RangeMultiplier(10)->Range(1000, 1000000);

}  // namespace
