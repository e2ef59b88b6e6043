#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <string>
#include <vector>

#include "mamelon/batch.h"
#include "mamelon/error.h"

#include "base/parallel.h"
#include "colour/batch_kernels.h"

#undef HWY_TARGET_INCLUDE
#define HWY_TARGET_INCLUDE "colour/lab_batch.cpp"
#include "hwy/foreach_target.h"
#include "hwy/highway.h"
// The kernels follow the instruction set.
#include "colour/lab_batch-inl.h"
#include "colour/nearest-inl.h"

HWY_BEFORE_NAMESPACE();
namespace mamelon::detail {
namespace HWY_NAMESPACE {

template <class Source, class T, class Decode>
void linear_kernel(const LinearTask<Source, T>& task, std::size_t begin, std::size_t end,
                   const Decode& decode) {
  LinearTile<T> linear;
  LabTile<T> lab;
  for (std::size_t i = begin; i < end; i += tile_size<T>) {
    const std::size_t count = std::min(tile_size<T>, end - i);
    linear.fill(task.rgb + 3 * i, count, decode);
    linear.to_lab(task.matrix, count, lab);
    interleave(lab, count, task.lab + 3 * i);
  }
}

void linear_kernel_float(const LinearTask<float, float>& task, std::size_t begin, std::size_t end) {
  linear_kernel(task, begin, end, [](float value) { return value; });
}
void linear_kernel_double(const LinearTask<double, double>& task, std::size_t begin,
                          std::size_t end) {
  linear_kernel(task, begin, end, [](double value) { return value; });
}
void linear_kernel_16(const LinearTask<std::uint16_t, float>& task, std::size_t begin,
                      std::size_t end) {
  linear_kernel(task, begin, end, [](std::uint16_t value) { return static_cast<float>(value); });
}
void srgb8_kernel(const LinearTask<std::uint8_t, float>& task, const float* table,
                  std::size_t begin, std::size_t end) {
  linear_kernel(task, begin, end, [table](std::uint8_t value) { return table[value]; });
}

void nearest_srgb8_kernel(const Srgb8Task& pixels, const NearestTask<float>& task,
                          std::size_t begin, std::size_t end) {
  const Weighting<float> weighting{static_cast<float>(task.weights.kl),
                                   static_cast<float>(task.weights.kc),
                                   static_cast<float>(task.weights.kh)};
  const std::vector<Candidate<float>> candidates = candidates_of(task.candidates, weighting);
  LinearTile<float> linear;
  LabTile<float> lab;
  NearestWork<float> work;
  for (std::size_t i = begin; i < end; i += tile_size<float>) {
    const std::size_t count = std::min(tile_size<float>, end - i);
    linear.fill(pixels.rgb + 3 * i, count,
                [&pixels](std::uint8_t value) { return pixels.linear[value]; });
    linear.to_lab(pixels.matrix, count, lab);
    nearest_tile<float>(lab.filled(count), candidates, weighting, task.squared, work, count,
                        task.index + i, task.de + i);
  }
}

// Four partial sums a component, added in a fixed order, whatever the vector's length.
void xyz_kernel(const XyzTask& task, std::size_t begin, std::size_t end) {
  constexpr std::size_t parts = 4;
  const std::size_t bands = task.weights.grid.count;
  const std::array<const double*, 3> weight{task.weights.x.data(), task.weights.y.data(),
                                            task.weights.z.data()};
  const hn::CappedTag<double, parts> d;
  const std::size_t lanes = hn::Lanes(d);
  for (std::size_t i = begin; i < end; ++i) {
    const double* reflectance = task.reflectances + i * bands;
    alignas(64) double sums[3][parts] = {};
    const std::size_t whole = bands / parts * parts;
    for (std::size_t lane = 0; lane < parts; lane += lanes) {
      auto x = hn::Zero(d);
      auto y = hn::Zero(d);
      auto z = hn::Zero(d);
      for (std::size_t k = lane; k < whole; k += parts) {
        const auto r = hn::LoadU(d, reflectance + k);
        x = hn::Add(x, hn::Mul(r, hn::LoadU(d, weight[0] + k)));
        y = hn::Add(y, hn::Mul(r, hn::LoadU(d, weight[1] + k)));
        z = hn::Add(z, hn::Mul(r, hn::LoadU(d, weight[2] + k)));
      }
      hn::Store(x, d, sums[0] + lane);
      hn::Store(y, d, sums[1] + lane);
      hn::Store(z, d, sums[2] + lane);
    }
    for (std::size_t c = 0; c < 3; ++c) {
      double sum = (sums[c][0] + sums[c][1]) + (sums[c][2] + sums[c][3]);
      for (std::size_t k = whole; k < bands; ++k) sum += reflectance[k] * weight[c][k];
      task.xyz[3 * i + c] = sum;
    }
  }
}

}  // namespace HWY_NAMESPACE
}  // namespace mamelon::detail
HWY_AFTER_NAMESPACE();

#if HWY_ONCE
namespace mamelon {
namespace detail {
namespace {

HWY_EXPORT(linear_kernel_float);
HWY_EXPORT(linear_kernel_double);
HWY_EXPORT(linear_kernel_16);
HWY_EXPORT(srgb8_kernel);
HWY_EXPORT(nearest_srgb8_kernel);
HWY_EXPORT(xyz_kernel);

constexpr std::size_t pixels_a_chunk = 8192;
constexpr std::size_t spectra_a_chunk = 1024;

// Divides by the white and by the value that stands for 1.
ScaledMatrix scaled(const LinearToLab& conversion, double one) {
  const std::array<double, 3> white{conversion.white.x, conversion.white.y, conversion.white.z};
  ScaledMatrix matrix{};
  for (std::size_t i = 0; i < 3; ++i) {
    if (!(white[i] > 0) || !std::isfinite(white[i])) {
      throw ArgumentError(
          "the white of a conversion to CIELAB must be positive and finite; one "
          "component is " +
          std::to_string(white[i]));
    }
    for (std::size_t j = 0; j < 3; ++j)
      matrix[3 * i + j] = conversion.to_xyz[i][j] / (white[i] * one);
  }
  return matrix;
}

// Pixels of interleaved RGB beside a CIELAB image of `lab` values.
std::size_t check_pixels(std::size_t rgb, std::size_t lab) {
  if (rgb % 3 != 0) {
    throw ArgumentError("interleaved RGB values must be a multiple of 3; there are " +
                        std::to_string(rgb));
  }
  if (rgb != lab) {
    throw ArgumentError("the CIELAB result has " + std::to_string(lab) + " values; it must have " +
                        std::to_string(rgb));
  }
  return rgb / 3;
}

// IEC 61966-2-1 for every 8-bit value.
const std::array<float, 256>& srgb8_linear() {
  static const std::array<float, 256> table = [] {
    std::array<float, 256> linear{};
    for (std::size_t i = 0; i < linear.size(); ++i) {
      const double v = static_cast<double>(i) / 255;
      linear[i] = static_cast<float>(v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4));
    }
    return linear;
  }();
  return table;
}

}  // namespace
}  // namespace detail

// Where there is one set of instructions only, Highway takes no qualified name.
using namespace detail;

LinearToLab srgb_to_lab() {
  // IEC 61966-2-1, 5.2; the white is the sum of each row, so that R = G = B has a* = b* = 0.
  LinearToLab conversion;
  conversion.to_xyz = {
      {{0.4124, 0.3576, 0.1805}, {0.2126, 0.7152, 0.0722}, {0.0193, 0.1192, 0.9505}}};
  conversion.white = {0.9505, 1.0, 1.0890};
  return conversion;
}

template <class T>
void lab_from_linear(std::span<const T> rgb, const LinearToLab& conversion, std::span<T> lab,
                     std::size_t threads) {
  const std::size_t pixels = detail::check_pixels(rgb.size(), lab.size());
  const detail::LinearTask<T, T> task{rgb.data(), detail::scaled(conversion, 1), lab.data()};
  detail::parallel_for(
      pixels, detail::pixels_a_chunk,
      [&task](std::size_t begin, std::size_t end) {
        if constexpr (sizeof(T) == 4) {
          HWY_DYNAMIC_DISPATCH(linear_kernel_float)(task, begin, end);
        } else {
          HWY_DYNAMIC_DISPATCH(linear_kernel_double)(task, begin, end);
        }
      },
      threads);
}
template void lab_from_linear(std::span<const float>, const LinearToLab&, std::span<float>,
                              std::size_t);
template void lab_from_linear(std::span<const double>, const LinearToLab&, std::span<double>,
                              std::size_t);

void lab_from_linear(std::span<const std::uint16_t> rgb, const LinearToLab& conversion,
                     std::span<float> lab, std::size_t threads) {
  const std::size_t pixels = detail::check_pixels(rgb.size(), lab.size());
  const detail::LinearTask<std::uint16_t, float> task{rgb.data(), detail::scaled(conversion, 65535),
                                                      lab.data()};
  detail::parallel_for(
      pixels, detail::pixels_a_chunk,
      [&task](std::size_t begin, std::size_t end) {
        HWY_DYNAMIC_DISPATCH(linear_kernel_16)(task, begin, end);
      },
      threads);
}

void lab_from_srgb8(std::span<const std::uint8_t> rgb, std::span<float> lab, std::size_t threads) {
  const std::size_t pixels = detail::check_pixels(rgb.size(), lab.size());
  const std::array<float, 256>& table = detail::srgb8_linear();
  const detail::LinearTask<std::uint8_t, float> task{rgb.data(), detail::scaled(srgb_to_lab(), 1),
                                                     lab.data()};
  detail::parallel_for(
      pixels, detail::pixels_a_chunk,
      [&](std::size_t begin, std::size_t end) {
        HWY_DYNAMIC_DISPATCH(srgb8_kernel)(task, table.data(), begin, end);
      },
      threads);
}

void nearest_srgb8(std::span<const std::uint8_t> rgb, const LabRows<float>& candidates,
                   std::span<std::uint32_t> index, std::span<float> de,
                   const BatchOptions& options) {
  const std::size_t pixels = detail::check_pixels(rgb.size(), rgb.size());
  detail::check_weights(options.weights);
  if (candidates.size() == 0) throw ArgumentError("there must be at least one candidate colour");
  detail::check_size("the index", index.size(), pixels);
  detail::check_size("the result", de.size(), pixels);
  const std::array<float, 256>& table = detail::srgb8_linear();
  const detail::Srgb8Task image{rgb.data(), detail::scaled(srgb_to_lab(), 1), table.data()};
  const detail::NearestTask<float> task{candidates,      candidates,   options.weights,
                                        options.squared, index.data(), de.data()};
  detail::parallel_for(
      pixels, detail::pixels_a_chunk,
      [&](std::size_t begin, std::size_t end) {
        HWY_DYNAMIC_DISPATCH(nearest_srgb8_kernel)(image, task, begin, end);
      },
      options.threads);
}

void xyz_rows(std::span<const double> reflectances, const Weights& weights, std::span<double> xyz,
              std::size_t threads) {
  const std::size_t bands = weights.grid.count;
  if (bands == 0 || weights.x.size() != bands || weights.y.size() != bands ||
      weights.z.size() != bands) {
    throw ArgumentError("the weights must hold one value a band of their grid");
  }
  if (reflectances.size() % bands != 0) {
    throw ArgumentError("the reflectances must be a multiple of the " + std::to_string(bands) +
                        " bands of the weights; there are " + std::to_string(reflectances.size()));
  }
  const std::size_t count = reflectances.size() / bands;
  detail::check_size("the tristimulus result", xyz.size() / 3, count);
  if (xyz.size() % 3 != 0) throw ArgumentError("the tristimulus result must hold 3 values a row");
  const detail::XyzTask task{reflectances.data(), weights, xyz.data()};
  detail::parallel_for(
      count, detail::spectra_a_chunk,
      [&task](std::size_t begin, std::size_t end) {
        HWY_DYNAMIC_DISPATCH(xyz_kernel)(task, begin, end);
      },
      threads);
}

}  // namespace mamelon
#endif  // HWY_ONCE
