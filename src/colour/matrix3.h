#pragma once
// The inverse of a 3×3 matrix, and the one matrix that two files need.

#include "mamelon/measured.h"

namespace mamelon::detail {

// XYZ to the cone-like space of CAT16 and CAM16 (Li et al. 2017, Color Res Appl 42:703–718).
inline constexpr Mat3 cat16_matrix = {{{0.401288, 0.650173, -0.051461},
                                       {-0.250268, 1.204414, 0.045854},
                                       {-0.002079, 0.048952, 0.953127}}};

// By cofactors; `m` must be well conditioned.
inline Mat3 inverse(const Mat3& m) {
  const auto minor = [&m](std::size_t i, std::size_t j) {
    const std::size_t a = (i + 1) % 3;
    const std::size_t b = (i + 2) % 3;
    const std::size_t c = (j + 1) % 3;
    const std::size_t d = (j + 2) % 3;
    return m[a][c] * m[b][d] - m[a][d] * m[b][c];
  };
  const double determinant = m[0][0] * minor(0, 0) + m[0][1] * minor(0, 1) + m[0][2] * minor(0, 2);
  Mat3 result{};
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = 0; j < 3; ++j) result[j][i] = minor(i, j) / determinant;
  return result;
}

}  // namespace mamelon::detail
