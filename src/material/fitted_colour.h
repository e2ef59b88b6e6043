#pragma once
// The error of a prediction from fitted constants.

#include <span>

#include <Eigen/Dense>

#include "mamelon/drawdown.h"

namespace mamelon::detail {

// ∂(L*, a*, b*) / ∂(X, Y, Z).
Eigen::Matrix3d slope_of_lab(const Eigen::Vector3d& xyz, const Xyz& white);

struct PredictedCurve {
  Reflectance reflectance;
  Eigen::MatrixXd covariance;  // bands × bands
};
PredictedCurve predicted_curve(const Reflectance& floor, std::span<const FittedLayer> layers,
                               int streams);

}  // namespace mamelon::detail
