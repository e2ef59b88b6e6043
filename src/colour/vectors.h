#pragma once
// Colours as vectors, and the one matrix that two files need.

#include "mamelon/colour.h"

#include "base/algebra.h"

namespace mamelon::detail {

// XYZ to the cone-like space of CAT16 and CAM16 (Li et al. 2017, Color Res Appl 42:703–718).
inline constexpr Mat3 cat16_matrix = {{{0.401288, 0.650173, -0.051461},
                                       {-0.250268, 1.204414, 0.045854},
                                       {-0.002079, 0.048952, 0.953127}}};

inline Vec3 vector_of(const Lab& v) {
  return {v.l, v.a, v.b};
}
inline Eigen::Vector3d to_eigen(const Lab& v) {
  return {v.l, v.a, v.b};
}
inline Eigen::Vector3d to_eigen(const Xyz& v) {
  return {v.x, v.y, v.z};
}
inline Xyz to_xyz(const Eigen::Vector3d& v) {
  return {v[0], v[1], v[2]};
}
inline Vec3 minus(const Lab& p, const Lab& q) {
  return {p.l - q.l, p.a - q.a, p.b - q.b};
}

}  // namespace mamelon::detail
