#include "capture/smooth_surface.h"

#include <algorithm>
#include <cmath>

namespace mamelon::detail {

Eigen::MatrixXd quadratic_basis(const std::vector<cv::Point>& places) {
  const auto count = static_cast<Eigen::Index>(places.size());
  Eigen::VectorXd u(count);
  Eigen::VectorXd v(count);
  for (Eigen::Index i = 0; i < count; ++i) {
    u[i] = places[static_cast<std::size_t>(i)].x;
    v[i] = places[static_cast<std::size_t>(i)].y;
  }
  const auto standardise = [](Eigen::VectorXd& t) {
    t.array() -= t.mean();
    t /= std::max(1.0, std::sqrt(t.squaredNorm() / static_cast<double>(t.size())));
  };
  standardise(u);
  standardise(v);
  Eigen::MatrixXd basis(count, 6);
  basis.col(0).setOnes();
  basis.col(1) = u;
  basis.col(2) = v;
  basis.col(3) = u.cwiseProduct(u);
  basis.col(4) = u.cwiseProduct(v);
  basis.col(5) = v.cwiseProduct(v);
  return basis;
}

Eigen::VectorXd quantile_surface(const Eigen::MatrixXd& basis, const Eigen::VectorXd& values,
                                 double share) {
  constexpr int rounds = 25;
  Eigen::VectorXd weights = Eigen::VectorXd::Ones(values.size());
  Eigen::VectorXd surface = values;
  std::vector<double> sizes(static_cast<std::size_t>(values.size()));
  for (int round = 0; round < rounds; ++round) {
    const Eigen::MatrixXd weighted = weights.asDiagonal() * basis;
    const Eigen::MatrixXd normal =
        basis.transpose() * weighted + 1e-6 * Eigen::MatrixXd::Identity(basis.cols(), basis.cols());
    surface = basis * normal.ldlt().solve(weighted.transpose() * values);
    const Eigen::VectorXd errors = values - surface;
    for (Eigen::Index i = 0; i < errors.size(); ++i) {
      sizes[static_cast<std::size_t>(i)] = std::abs(errors[i]);
    }
    const auto middle = sizes.begin() + static_cast<std::ptrdiff_t>(sizes.size() / 2);
    std::nth_element(sizes.begin(), middle, sizes.end());
    const double least = 0.3 * (*middle + 1e-6);
    for (Eigen::Index i = 0; i < errors.size(); ++i) {
      weights[i] = (errors[i] > 0 ? share : 1 - share) / std::max(std::abs(errors[i]), least);
    }
  }
  return surface;
}

}  // namespace mamelon::detail
