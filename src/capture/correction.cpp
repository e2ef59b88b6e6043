#include "capture/correction.h"

#include <algorithm>
#include <cmath>

#include "mamelon/difference.h"

#include "base/parallel.h"
#include "capture/algebra.h"

namespace mamelon::detail {
namespace {

// Standard deviations that no fit sees: where the outline and the margin fall, and what is left of
// glare and texture. Found by simulation.
constexpr double placement_sd_l = 0.07;
constexpr double placement_sd_ab = 0.05;
// Of the logarithm of light: what a curve through a few neutrals is off by between them.
constexpr double tone_log_sd = 0.007;

}  // namespace

std::vector<LeaveOneOut> leave_one_out(const Training& training, const MapFitter& fit, bool toned) {
  std::vector<LeaveOneOut> errors(training.patches.size());
  parallel_for(errors.size(), 1, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) {
      TrainingPatch left_out = training.patches[i];
      Training rest = training.without(i);
      if (toned && left_out.neutral) {
        const Tone tone = fit_tone(rest.patches);
        apply_tone(tone, left_out);
        for (TrainingPatch& p : rest.patches) apply_tone(tone, p);
      }
      const auto map = fit(rest);
      const MapEstimate estimate = map->of_patch(left_out);
      const Lab fitted = to_lab(to_xyz(estimate.xyz), training.white);
      const Eigen::Vector3d miss = estimate.xyz - left_out.xyz;
      Eigen::Matrix3d covariance = estimate.covariance;
      covariance.diagonal().array() += 1e-9;
      errors[i] = {left_out.lab, to_eigen(fitted) - to_eigen(left_out.lab),
                   miss.dot(covariance.ldlt().solve(miss)) / 3};
    }
  });
  return errors;
}

Eigen::Matrix3d FittedCorrection::error_around(const Lab& lab) const {
  Eigen::Matrix3d sum = Eigen::Matrix3d::Zero();
  double weights = 0;
  for (const LeaveOneOut& e : parts_.errors) {
    const double distance = de76(e.reference, lab) / 15;
    const double weight = 1 / (1 + distance * distance * distance * distance);
    sum += weight * e.error * e.error.transpose();
    weights += weight;
  }
  return weights > 0 ? Eigen::Matrix3d(sum / weights) : sum;
}

double FittedCorrection::light_log_sd(PointPx at) const {
  return std::sqrt(parts_.light.log_variance(at));
}

Measured<Lab> FittedCorrection::lab(const Vec3& rgb, const Mat3& rgb_cov, PointPx at) const {
  const double gain = parts_.light.gain(at);
  Eigen::Vector3d even = to_eigen(rgb);
  Eigen::Vector3d tone_slope = Eigen::Vector3d::Ones();
  if (parts_.tone) {
    tone_slope = parts_.tone->slope(even);
    even = (*parts_.tone)(even);
  }
  even /= gain;
  const MapEstimate estimate = (*parts_.map)(even);
  const Eigen::Matrix3d to_lab_slope = to_eigen(lab_jacobian(to_xyz(estimate.xyz), parts_.white));
  Measured<Lab> out;
  out.value = to_lab(to_xyz(estimate.xyz), parts_.white);
  const Eigen::Matrix3d slope = to_lab_slope * estimate.jacobian;
  const Eigen::Matrix3d raw_slope = slope * tone_slope.asDiagonal() / gain;
  out.random = to_mat3(raw_slope * to_eigen(rgb_cov) * raw_slope.transpose());

  const Eigen::Vector3d by_light = slope * even;
  Eigen::Matrix3d shared = parts_.error_model.map_variance_factor * to_lab_slope *
                           estimate.covariance * to_lab_slope.transpose();
  const double log_variance =
      parts_.light.log_variance(at) + (parts_.tone ? tone_log_sd * tone_log_sd : 0);
  shared += log_variance * by_light * by_light.transpose();
  shared += parts_.error_model.leave_one_out_factor * error_around(out.value);
  if (parts_.second_opinion) {
    // 0.3 of what two honest maps disagree by.
    const Lab other = to_lab(to_xyz((*parts_.second_opinion)(even).xyz), parts_.white);
    const Eigen::Vector3d apart = 0.3 * (to_eigen(other) - to_eigen(out.value));
    shared += apart * apart.transpose();
  }
  shared(0, 0) += placement_sd_l * placement_sd_l;
  shared(1, 1) += placement_sd_ab * placement_sd_ab;
  shared(2, 2) += placement_sd_ab * placement_sd_ab;
  out.shared = to_mat3((shared + shared.transpose()) / 2);
  return out;
}

}  // namespace mamelon::detail
