#pragma once
// What the batch functions hand to their kernels, whatever the instruction set.

// A processor without SSE4 or AES, or of another kind, runs the one-lane kernel.
#ifndef HWY_DISABLED_TARGETS
#define HWY_DISABLED_TARGETS MAMELON_LEFT_OUT_TARGETS
#endif

#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>

#include "mamelon/batch.h"

namespace mamelon::detail {

// Which way round the second of two colours is nearer in hue, as ±1: the sign of a1 b2 − a2 b1
// without error, and where that is 0 the direction from the lower hue in [0°, 360°) to the higher,
// so that their plain mean is the mean hue (Sharma, Wu, Dalal 2005, eq. 14).
inline double opposite_turn(double a1, double b1, double a2, double b2) {
  const double first = a1 * b2;
  const double second = a2 * b1;
  const double first_error = std::fma(a1, b2, -first);
  const double second_error = std::fma(a2, b1, -second);
  if (first != second) return first > second ? 1 : -1;
  if (first_error != second_error) return first_error > second_error ? 1 : -1;
  return b1 > 0 || (b1 == 0 && a1 > 0) ? 1 : -1;
}
// Products of floats are exact in double.
inline float opposite_turn(float a1, float b1, float a2, float b2) {
  return static_cast<float>(opposite_turn(static_cast<double>(a1), static_cast<double>(b1),
                                          static_cast<double>(a2), static_cast<double>(b2)));
}

// The sign of a1 b2 + a2 b1 where the rounded products cancel: what their rounding left out.
inline double rounding_error_of_sum(double a1, double b1, double a2, double b2) {
  return std::fma(a1, b2, -(a1 * b2)) + std::fma(a2, b1, -(a2 * b1));
}
inline float rounding_error_of_sum(float a1, float b1, float a2, float b2) {
  const double sum = static_cast<double>(a1) * static_cast<double>(b2) +
                     static_cast<double>(a2) * static_cast<double>(b1);
  return sum < 0 ? -1.0F : (sum > 0 ? 1.0F : 0.0F);
}

template <class T>
struct RowsTask {
  const LabRows<T>& reference;
  const LabRows<T>& sample;
  DifferenceWeights weights;
  bool squared;
  T* de;
};

template <class T>
struct NearestTask {
  const LabRows<T>& colours;
  const LabRows<T>& candidates;
  DifferenceWeights weights;
  bool squared;
  std::uint32_t* index;
  T* de;
};

// RGB to X/Xn, Y/Yn, Z/Zn, row by row.
using ScaledMatrix = std::array<double, 9>;

template <class Source, class T>
struct LinearTask {
  const Source* rgb;
  ScaledMatrix matrix;
  T* lab;
};

struct Srgb8Task {
  const std::uint8_t* rgb;
  ScaledMatrix matrix;
  const float* linear;  // of each of the 256 values
};

struct XyzTask {
  const double* reflectances;
  const Weights& weights;
  double* xyz;
};

// Throws ArgumentError unless `is` equals `should_be`; `what` names the array.
void check_size(const char* what, std::size_t is, std::size_t should_be);
// Throws ArgumentError unless the weights are positive and finite.
void check_weights(const DifferenceWeights& weights);

}  // namespace mamelon::detail
