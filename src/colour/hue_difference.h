#pragma once
// Hue: the unit of its angles, and its part in a difference between two chromatic colours.

#include <cmath>
#include <numbers>

namespace mamelon::detail {

// In radians.
inline constexpr double degree = std::numbers::pi / 180;

// 2 √(c1 c2) sin(Δh/2), without the angle and in the half-angle form that does not cancel. Positive
// when the turn from colour 1 to colour 2 is counter-clockwise; +√(2(c1 c2 − dot)) for a half turn.
inline double hue_difference(double a1, double b1, double c1, double a2, double b2, double c2) {
  const double cross = a1 * b2 - a2 * b1;
  const double dot = a1 * a2 + b1 * b2;
  if (dot >= 0) {
    const double half = std::sqrt((c1 * c2 + dot) / 2);
    return half > 0 ? cross / half : 0;
  }
  const double size = std::sqrt(2 * (c1 * c2 - dot));
  return cross < 0 ? -size : size;
}

}  // namespace mamelon::detail
