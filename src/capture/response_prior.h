#pragma once
// What is known of a camera in front of a light before the card is seen.

#include <vector>

#include <Eigen/Dense>

#include "mamelon/viewing.h"

namespace mamelon::detail {

// A camera's three responses W (3 × bands, sensitivity times light) are M⁻¹(S + D): S are the
// tristimulus weights of the viewing, M is any 3×3, and D is how far the camera is from the Luther
// condition. D, its rows one after the other, is Gaussian with this mean and covariance. Each row
// holds one band more than the grid: an offset equal for all reflectances, which stands for flare.
struct ResponsePrior {
  Eigen::MatrixXd weights;  // S, 3 × bands; the offset band weighs nothing
  Eigen::VectorXd mean;     // 3·bands
  Eigen::MatrixXd covariance;
};

// Learnt from four measured cameras, mixtures and deformations of them, in front of daylight,
// incandescent and phosphor lights. M is chosen for each camera and light so that D weighs least
// over the reflectances of teeth and of smooth surfaces.
ResponsePrior make_response_prior(const Viewing& viewing);

// Responses (3 × bands of the grid) of every camera of the population before every light.
std::vector<Eigen::MatrixXd> response_population();

// A reflectance on the response grid with the offset band's 1 added.
Eigen::VectorXd with_offset(const Eigen::VectorXd& reflectance);

}  // namespace mamelon::detail
