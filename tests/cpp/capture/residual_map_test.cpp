#include "capture/residual_map.h"

#include <algorithm>
#include <cmath>

#include <gtest/gtest.h>

#include "mamelon/difference.h"

#include "colour/vectors.h"

namespace mamelon::detail {
namespace {

const Viewing d65 = viewing_from_string("D65/2");

// A camera whose channels bend, which no 3×3 follows.
Eigen::Vector3d bent_rgb(const Lab& lab) {
  const Xyz white = white_point(d65);
  const Xyz xyz = to_xyz(lab, white);
  return {std::pow(xyz.x / white.x, 1.15), std::pow(xyz.y / white.y, 1.05),
          std::pow(xyz.z / white.z, 0.9)};
}

Training patches_every_eight_units() {
  Training training{.patches = {}, .viewing = d65, .white = white_point(d65)};
  for (const double l : {56.0, 64.0, 72.0, 80.0}) {
    for (const double a : {-2.0, 6.0}) {
      for (const double b : {6.0, 14.0, 22.0}) {
        TrainingPatch patch;
        patch.lab = {l, a, b};
        patch.xyz = to_eigen(to_xyz(patch.lab, training.white));
        patch.rgb = bent_rgb(patch.lab);
        training.patches.push_back(patch);
      }
    }
  }
  return training;
}

double greatest_error_between_patches(const ColourMap& map) {
  double greatest = 0;
  for (const double l : {60.0, 68.0, 76.0}) {
    for (const double b : {10.0, 18.0}) {
      const Lab lab{l, 2, b};
      const Lab read = to_lab(to_xyz(map({bent_rgb(lab)}).xyz), white_point(d65));
      greatest = std::max(greatest, de00(read, lab));
    }
  }
  return greatest;
}

TEST(ResidualMap, CarriesWhatTheMatrixLeavesToColoursBetweenThePatches) {
  const Training training = patches_every_eight_units();
  const double by_matrix = greatest_error_between_patches(*fit_matrix(training));
  const double with_residual = greatest_error_between_patches(*fit_matrix_with_residual(training));
  ASSERT_GT(by_matrix, 0.3);
  EXPECT_LT(with_residual, by_matrix / 3);
}

TEST(ResidualMap, KnowsLessFarFromEveryPatch) {
  const auto map = fit_matrix_with_residual(patches_every_eight_units());
  const double near = (*map)({bent_rgb({68, 2, 14})}).covariance.trace();
  const double far = (*map)({bent_rgb({68, 60, 70})}).covariance.trace();
  EXPECT_GT(far, 2 * near);
}

// A Gaussian process knows the residual at its samples and nothing of it far away: there its own
// variance stands in full (Rasmussen and Williams 2006, eq. 2.24).
TEST(ResidualMap, AddsLittleOfItsOwnBesideAPatch) {
  const Training training = patches_every_eight_units();
  const auto matrix = fit_matrix(training);
  const auto both = fit_matrix_with_residual(training);
  const auto own_variance = [&](const Lab& lab) {
    const MapEstimate estimate = (*both)({bent_rgb(lab)});
    const Eigen::Matrix3d to_lab = to_eigen(lab_jacobian(to_xyz(estimate.xyz), white_point(d65)));
    const Eigen::Matrix3d own = estimate.covariance - (*matrix)({bent_rgb(lab)}).covariance;
    return (to_lab * own * to_lab.transpose()).trace();
  };
  const double far = own_variance({68, 60, 70});
  EXPECT_GT(far, 0);
  EXPECT_LT(own_variance({64, -2, 14}), 0.2 * far);
  EXPECT_GT(own_variance({64, -2, 14}), 0);
}

}  // namespace
}  // namespace mamelon::detail
