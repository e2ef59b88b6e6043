#pragma once
// Between the public arrays and Eigen.

#include <Eigen/Dense>

#include "mamelon/colour.h"
#include "mamelon/measured.h"

namespace mamelon::detail {

inline Eigen::Vector3d to_eigen(const Vec3& v) {
  return {v[0], v[1], v[2]};
}
inline Eigen::Vector3d to_eigen(const Lab& v) {
  return {v.l, v.a, v.b};
}
inline Eigen::Vector3d to_eigen(const Xyz& v) {
  return {v.x, v.y, v.z};
}
inline Eigen::Matrix3d to_eigen(const Mat3& m) {
  Eigen::Matrix3d out;
  for (int i = 0; i < 3; ++i) {
    for (int j = 0; j < 3; ++j) {
      out(i, j) = m[static_cast<std::size_t>(i)][static_cast<std::size_t>(j)];
    }
  }
  return out;
}

inline Vec3 to_vec3(const Eigen::Vector3d& v) {
  return {v[0], v[1], v[2]};
}
inline Xyz to_xyz(const Eigen::Vector3d& v) {
  return {v[0], v[1], v[2]};
}
inline Mat3 to_mat3(const Eigen::Matrix3d& m) {
  Mat3 out{};
  for (int i = 0; i < 3; ++i) {
    for (int j = 0; j < 3; ++j) {
      out[static_cast<std::size_t>(i)][static_cast<std::size_t>(j)] = m(i, j);
    }
  }
  return out;
}

}  // namespace mamelon::detail
