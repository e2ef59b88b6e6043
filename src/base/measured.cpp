#include "mamelon/measured.h"

#include <cmath>

#include "mamelon/error.h"

namespace mamelon {

Mat3 diagonal(const Vec3& values) {
  Mat3 m{};
  for (std::size_t i = 0; i < 3; ++i) m[i][i] = values[i];
  return m;
}

Mat3 add(const Mat3& a, const Mat3& b) {
  Mat3 sum{};
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = 0; j < 3; ++j) sum[i][j] = a[i][j] + b[i][j];
  return sum;
}

Mat3 scale(const Mat3& a, double factor) {
  Mat3 scaled{};
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = 0; j < 3; ++j) scaled[i][j] = a[i][j] * factor;
  return scaled;
}

Mat3 multiply(const Mat3& a, const Mat3& b) {
  Mat3 product{};
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = 0; j < 3; ++j)
      for (std::size_t k = 0; k < 3; ++k) product[i][j] += a[i][k] * b[k][j];
  return product;
}

Vec3 multiply(const Mat3& a, const Vec3& v) {
  Vec3 product{};
  for (std::size_t i = 0; i < 3; ++i) product[i] = a[i][0] * v[0] + a[i][1] * v[1] + a[i][2] * v[2];
  return product;
}

Mat3 propagate(const Mat3& jacobian, const Mat3& covariance) {
  const Mat3 half = multiply(jacobian, covariance);
  Mat3 result{};
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = i; j < 3; ++j) {
      double sum = 0;
      for (std::size_t k = 0; k < 3; ++k) sum += half[i][k] * jacobian[j][k];
      result[i][j] = sum;
      result[j][i] = sum;
    }
  return result;
}

bool is_covariance(const Mat3& c) {
  double size = 0;
  for (const auto& row : c)
    for (const double value : row) {
      if (!std::isfinite(value)) return false;
      size = std::fmax(size, std::fabs(value));
    }
  const double slack = 1e-9 * size;
  for (std::size_t i = 0; i < 3; ++i) {
    if (c[i][i] < -slack) return false;
    for (std::size_t j = i + 1; j < 3; ++j) {
      if (std::fabs(c[i][j] - c[j][i]) > slack) return false;
      if (c[i][i] * c[j][j] - c[i][j] * c[j][i] < -slack * size) return false;
    }
  }
  const double determinant = c[0][0] * (c[1][1] * c[2][2] - c[1][2] * c[2][1]) -
                             c[0][1] * (c[1][0] * c[2][2] - c[1][2] * c[2][0]) +
                             c[0][2] * (c[1][0] * c[2][1] - c[1][1] * c[2][0]);
  return determinant >= -slack * size * size;
}

Vec3 standard_deviations(const Mat3& covariance) {
  Vec3 sd{};
  for (std::size_t i = 0; i < 3; ++i) sd[i] = std::sqrt(covariance[i][i]);
  return sd;
}

void check_covariances(const Mat3& random, const Mat3& shared, const std::string& where) {
  const auto refuse = [&](const char* which) {
    throw ArgumentError(where + "." + which +
                        ": expected a symmetric covariance matrix without negative variances");
  };
  if (!is_covariance(random)) refuse("random");
  if (!is_covariance(shared)) refuse("shared");
}

}  // namespace mamelon
