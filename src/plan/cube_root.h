#pragma once
// f of CIELAB (ISO/CIE 11664-4) as fast as bounds need it.

namespace mamelon::detail {

inline constexpr double cie_epsilon = 216.0 / 24389;
inline constexpr double cie_kappa = 24389.0 / 27;
// Below this f is linear.
inline constexpr double least_cube_root = 6.0 / 29;

// f and its slope in X (Y, Z) itself.
struct CubeRoot {
  double f = 0;
  double slope = 0;
};

// By Halley's steps, a third of the cost of std::cbrt; three steps from this start are exact to
// 1e-12 for a value between 0.005 and 2 of the white's.
inline CubeRoot cube_root(double value, double white) {
  const double t = value / white;
  if (!(t > cie_epsilon)) {
    return {(cie_kappa * t + 16) / 116, cie_kappa / 116 / white};
  }
  double f = (0.2 + t * (1.3 - 0.45 * t)) / (0.9 + 0.15 * t);
  for (int i = 0; i < 3; ++i) {
    const double cube = f * f * f;
    f *= (cube + 2 * t) / (2 * cube + t);
  }
  return {f, 1 / (3 * f * f * white)};
}

}  // namespace mamelon::detail
