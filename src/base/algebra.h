#pragma once
// Vectors and 3×3 matrices: between the public arrays and Eigen, and what measured.h leaves out.

#include <Eigen/Dense>

#include "mamelon/measured.h"

namespace mamelon::detail {

inline Eigen::Vector3d to_eigen(const Vec3& v) {
  return {v[0], v[1], v[2]};
}
inline Eigen::Matrix3d to_eigen(const Mat3& m) {
  return Eigen::Map<const Eigen::Matrix<double, 3, 3, Eigen::RowMajor>>(m[0].data());
}
inline Vec3 to_vec3(const Eigen::Vector3d& v) {
  return {v[0], v[1], v[2]};
}
inline Mat3 to_mat3(const Eigen::Matrix3d& m) {
  Mat3 out{};
  Eigen::Map<Eigen::Matrix<double, 3, 3, Eigen::RowMajor>>(out[0].data()) = m;
  return out;
}

inline Vec3 minus(const Vec3& a, const Vec3& b) {
  return {a[0] - b[0], a[1] - b[1], a[2] - b[2]};
}
inline double trace(const Mat3& m) {
  return m[0][0] + m[1][1] + m[2][2];
}
// v vᵀ.
inline Mat3 outer_square(const Vec3& v) {
  Mat3 product{};
  for (std::size_t p = 0; p < 3; ++p)
    for (std::size_t q = 0; q < 3; ++q) product[p][q] = v[p] * v[q];
  return product;
}
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
