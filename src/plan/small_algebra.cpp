#include "plan/small_algebra.h"

#include <algorithm>
#include <numbers>

namespace mamelon::detail {

Mat3 upper_root(const Mat3& m) {
  Mat3 u{};
  for (std::size_t i = 0; i < 3; ++i) {
    for (std::size_t j = i; j < 3; ++j) {
      double sum = m[i][j];
      for (std::size_t k = 0; k < i; ++k) {
        sum -= u[k][i] * u[k][j];
      }
      u[i][j] = i == j ? std::sqrt(std::max(sum, 1e-12)) : sum / u[i][i];
    }
  }
  return u;
}

Mat3 inverse_upper(const Mat3& u) {
  Mat3 inverse{};
  for (std::size_t c = 0; c < 3; ++c) {
    for (std::size_t r = c + 1; r-- > 0;) {
      double sum = r == c ? 1 : 0;
      for (std::size_t k = r + 1; k <= c; ++k) {
        sum -= u[r][k] * inverse[k][c];
      }
      inverse[r][c] = sum / u[r][r];
    }
  }
  return inverse;
}

Stretch stretch_of(const Mat3& m) {
  // Eigenvalues of mᵀm by the trigonometric form of the cubic (Smith 1961, Commun ACM 4:168).
  Mat3 s{};
  for (std::size_t i = 0; i < 3; ++i) {
    for (std::size_t j = 0; j < 3; ++j) {
      s[i][j] = m[0][i] * m[0][j] + m[1][i] * m[1][j] + m[2][i] * m[2][j];
    }
  }
  const double mean = (s[0][0] + s[1][1] + s[2][2]) / 3;
  const double off = s[0][1] * s[0][1] + s[0][2] * s[0][2] + s[1][2] * s[1][2];
  const Vec3 d{s[0][0] - mean, s[1][1] - mean, s[2][2] - mean};
  const double scale = std::sqrt((dot(d, d) + 2 * off) / 6);
  if (!(scale > 0)) {
    return {std::sqrt(mean), std::sqrt(mean)};
  }
  const double determinant = d[0] * (d[1] * d[2] - s[1][2] * s[1][2]) -
                             s[0][1] * (s[0][1] * d[2] - s[1][2] * s[0][2]) +
                             s[0][2] * (s[0][1] * s[1][2] - d[1] * s[0][2]);
  const double turn =
      std::acos(std::clamp(determinant / (2 * scale * scale * scale), -1.0, 1.0)) / 3;
  const double most = mean + 2 * scale * std::cos(turn);
  const double least = mean + 2 * scale * std::cos(turn + 2 * std::numbers::pi / 3);
  return {std::sqrt(std::max(0.0, least)), std::sqrt(std::max(0.0, most))};
}

}  // namespace mamelon::detail
