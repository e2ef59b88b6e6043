#pragma once
// Smooth functions of the place that a share of the values lies below.

#include <vector>

#include <Eigen/Dense>
#include <opencv2/core.hpp>

namespace mamelon::detail {

// 1, u, v, u², uv, v² of every place, in standard deviations from their middle.
Eigen::MatrixXd quadratic_basis(const std::vector<cv::Point>& places);

// Values at the places of the function in `basis` that `share` of `values` lies below: quantile
// regression (Koenker & Bassett 1978, Econometrica 46:33) by reweighted least squares.
Eigen::VectorXd quantile_surface(const Eigen::MatrixXd& basis, const Eigen::VectorXd& values,
                                 double share);

}  // namespace mamelon::detail
