#include "capture/correction.h"

#include <algorithm>

#include "mamelon/difference.h"

#include "base/parallel.h"
#include "capture/algebra.h"

namespace mamelon::detail {

std::vector<LeaveOneOut> leave_one_out(const Training& training, const MapFitter& fit) {
  std::vector<LeaveOneOut> errors(training.patches.size());
  parallel_for(errors.size(), 1, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) {
      const TrainingPatch& left_out = training.patches[i];
      const auto map = fit(training.without(i));
      const Lab fitted = to_lab(to_xyz(map->of_patch(left_out).xyz), training.white);
      errors[i] = {left_out.lab, to_eigen(fitted) - to_eigen(left_out.lab)};
    }
  });
  return errors;
}

Eigen::Matrix3d FittedCorrection::error_around(const Lab& lab) const {
  Eigen::Matrix3d sum = Eigen::Matrix3d::Zero();
  double weights = 0;
  for (const LeaveOneOut& e : errors_) {
    const double distance = de76(e.reference, lab) / 15;
    const double weight = 1 / (1 + distance * distance * distance * distance);
    sum += weight * e.error * e.error.transpose();
    weights += weight;
  }
  return weights > 0 ? Eigen::Matrix3d(sum / weights) : sum;
}

Measured<Lab> FittedCorrection::lab(const Vec3& rgb, const Mat3& rgb_cov, PointPx at) const {
  const double gain = light_.gain(at);
  const Eigen::Vector3d even = to_eigen(rgb) / gain;
  const MapEstimate estimate = (*map_)(even);
  const Eigen::Matrix3d to_lab_slope = to_eigen(lab_jacobian(to_xyz(estimate.xyz), white_));
  Measured<Lab> out;
  out.value = to_lab(to_xyz(estimate.xyz), white_);
  const Eigen::Matrix3d slope = to_lab_slope * estimate.jacobian / gain;
  out.random = to_mat3(slope * to_eigen(rgb_cov) * slope.transpose());
  const Eigen::Vector3d by_light = slope * to_eigen(rgb);
  Eigen::Matrix3d shared = to_lab_slope * estimate.covariance * to_lab_slope.transpose();
  shared += light_.log_variance(at) * by_light * by_light.transpose();
  shared += error_around(out.value);
  out.shared = to_mat3((shared + shared.transpose()) / 2);
  return out;
}

}  // namespace mamelon::detail
