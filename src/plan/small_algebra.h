#pragma once
// Vectors and matrices of three, as the bounds need them.

#include <cmath>

#include "mamelon/measured.h"

namespace mamelon::detail {

inline double norm(const Vec3& v) {
  return std::sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2]);
}
inline double dot(const Vec3& a, const Vec3& b) {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

inline Vec3 scale(double factor, const Vec3& v) {
  return {factor * v[0], factor * v[1], factor * v[2]};
}

// Upper triangular U with UᵀU = m, by Cholesky; m is positive definite but for rounding.
Mat3 upper_root(const Mat3& m);

// Inverse of an upper triangular matrix.
Mat3 inverse_upper(const Mat3& u);

// The least and the greatest stretch |m x| / |x|.
struct Stretch {
  double least = 0;
  double greatest = 0;
};
Stretch stretch_of(const Mat3& m);

}  // namespace mamelon::detail
