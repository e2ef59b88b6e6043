#include "capture/residual_map.h"

#include <cmath>

#include "colour/vectors.h"

namespace mamelon::detail {
namespace {

constexpr double width = 22;
constexpr double noise_ratio = 0.3;

class ResidualMap : public ColourMap {
 public:
  explicit ResidualMap(const Training& training)
      : matrix_(fit_matrix(training)), white_(training.white) {
    const auto n = static_cast<Eigen::Index>(training.patches.size());
    fitted_.resize(n, 3);
    Eigen::MatrixXd residuals(n, 3);
    double weights = 0;
    for (Eigen::Index i = 0; i < n; ++i) {
      const TrainingPatch& p = training.patches[static_cast<std::size_t>(i)];
      fitted_.row(i) = lab_of((*matrix_)({p.rgb}).xyz);
      residuals.row(i) = to_eigen(p.lab).transpose() - fitted_.row(i);
      const double weight = tooth_weight(p.lab);
      variance_ += weight * residuals.row(i).cwiseAbs2().transpose();
      weights += weight;
    }
    variance_ /= weights;
    Eigen::MatrixXd kernel(n, n);
    for (Eigen::Index i = 0; i < n; ++i) {
      kernel.col(i) = kernel_at(fitted_.row(i).transpose());
    }
    kernel.diagonal().array() += noise_ratio * noise_ratio;
    solver_.compute(kernel);
    pull_ = solver_.solve(residuals);
  }

  [[nodiscard]] Eigen::Matrix3d common(const Seen& one, const Seen& other) const override {
    return matrix_->common(one, other);
  }

  [[nodiscard]] MapEstimate operator()(const Seen& seen) const override {
    const MapEstimate base = (*matrix_)(seen);
    const Eigen::Vector3d lab = lab_of(base.xyz);
    const Eigen::VectorXd k = kernel_at(lab);
    const Eigen::Vector3d moved = lab + pull_.transpose() * k;
    const Xyz xyz = to_xyz(Lab{moved[0], moved[1], moved[2]}, white_);
    const Eigen::Matrix3d from_lab = to_eigen(lab_jacobian(xyz, white_)).inverse();
    // The residual's own slope is small beside the matrix's.
    const Eigen::Matrix3d slope = from_lab * to_eigen(lab_jacobian(to_xyz(base.xyz), white_));
    const double unknown = std::max(0.0, 1 - k.dot(solver_.solve(k)));
    const Eigen::Matrix3d spread = (variance_ * unknown).asDiagonal();
    return {to_eigen(xyz), slope * base.jacobian,
            base.covariance + from_lab * spread * from_lab.transpose()};
  }

 private:
  [[nodiscard]] Eigen::Vector3d lab_of(const Eigen::Vector3d& xyz) const {
    return to_eigen(to_lab(to_xyz(xyz), white_));
  }
  [[nodiscard]] Eigen::VectorXd kernel_at(const Eigen::Vector3d& lab) const {
    const Eigen::VectorXd squares =
        (fitted_.rowwise() - lab.transpose()).rowwise().squaredNorm() / (width * width);
    return (-0.5 * squares).array().exp();
  }

  std::unique_ptr<ColourMap> matrix_;
  Xyz white_;
  Eigen::MatrixXd fitted_;
  Eigen::MatrixXd pull_;
  Eigen::Vector3d variance_ = Eigen::Vector3d::Zero();
  Eigen::LDLT<Eigen::MatrixXd> solver_;
};

}  // namespace

std::unique_ptr<ColourMap> fit_matrix_with_residual(const Training& training) {
  return std::make_unique<ResidualMap>(training);
}

}  // namespace mamelon::detail
