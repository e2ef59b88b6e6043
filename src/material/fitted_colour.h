#pragma once
// The error of a prediction from fitted constants.

#include <span>
#include <vector>

#include <Eigen/Dense>

#include "mamelon/drawdown.h"

namespace mamelon::detail {

// ∂(L*, a*, b*) / ∂(X, Y, Z).
Eigen::Matrix3d slope_of_lab(const Eigen::Vector3d& xyz, const Xyz& white);

struct PredictedCurve {
  Reflectance reflectance;
  Eigen::MatrixXd covariance;  // bands × bands
};
// The errors of a fit by transport as few independent modes: those that move the colours of single
// layers most, and the standard deviation of a reflectance that they and the engine leave.
struct ErrorModes {
  std::vector<ConstantsMode> modes;
  double reflectance_sd = 0;
};
ErrorModes error_modes(const PasteFit& fit);

PredictedCurve predicted_curve(const Reflectance& floor, std::span<const FittedLayer> layers,
                               int streams);

}  // namespace mamelon::detail
