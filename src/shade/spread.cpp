#include "shade/spread.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include <Eigen/Dense>

#include "base/algebra.h"

namespace mamelon::detail {
namespace {

// Of the parts that were estimated.
struct ReciprocalDof {
  double squares = 0;  // Σ share²/ν
  double plain = 0;    // Σ share/ν
  double largest = 0;  // the largest share/ν
};
ReciprocalDof reciprocal_dof(std::span<const std::pair<double, double>> parts) {
  double sum = 0;
  for (const auto& [size, dof] : parts) sum += size;
  ReciprocalDof reciprocal;
  for (const auto& [size, dof] : parts) {
    if (!(dof > 0) || !(sum > 0)) continue;
    const double share = size / sum;
    reciprocal.squares += share * share / dof;
    reciprocal.plain += std::fabs(share) / dof;
    reciprocal.largest = std::max(reciprocal.largest, std::fabs(share) / dof);
  }
  return reciprocal;
}

}  // namespace

double effective_axes(const Mat3& metric, const Mat3& covariance) {
  const Mat3 product = multiply(metric, covariance);
  const Mat3 square = multiply(product, product);
  const double trace = product[0][0] + product[1][1] + product[2][2];
  const double of_square = square[0][0] + square[1][1] + square[2][2];
  return of_square > 0 ? std::clamp(trace * trace / of_square, 1.0, 3.0) : 1.0;
}

double satterthwaite_dof(std::span<const std::pair<double, double>> parts) {
  const double squares = reciprocal_dof(parts).squares;
  return squares > 0 ? std::max(1.0, 1 / squares) : std::numeric_limits<double>::infinity();
}

double careful_dof(std::span<const std::pair<double, double>> parts) {
  const auto [squares, plain, largest] = reciprocal_dof(parts);
  if (!(squares > 0)) return std::numeric_limits<double>::infinity();
  const double alone = 2 * largest / plain - 1;
  const double care = alone > 0 ? alone * alone : 0;
  return std::max(1.0, 1 / (std::pow(squares, 1 - care) * std::pow(plain, care)));
}

double difference_dof(const std::pair<double, double>& first,
                      const std::pair<double, double>& second) {
  const double sum = first.first + second.first;
  double squares = 0;
  for (const auto& [size, dof] : {first, second}) squares += size * size / (dof + 2);
  const double dof =
      squares > 0 ? sum * sum / squares - 2 : std::numeric_limits<double>::infinity();
  return std::clamp(dof, std::min(first.second, second.second), first.second + second.second);
}

Mat3 positive_part(const Mat3& symmetric) {
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> eigen(to_eigen(symmetric));
  const Eigen::Vector3d values = eigen.eigenvalues().cwiseMax(0.0);
  const Eigen::Matrix3d& axes = eigen.eigenvectors();
  const Eigen::Matrix3d back = axes * values.asDiagonal() * axes.transpose();
  return to_mat3((back + back.transpose()) / 2);
}

Mat3 covariance_inverse(const Mat3& covariance) {
  Eigen::Matrix3d m = to_eigen(covariance);
  m.diagonal().array() += 1e-12 * m.trace();
  return to_mat3(m.inverse());
}

}  // namespace mamelon::detail
