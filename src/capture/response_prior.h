#pragma once
// What is known of a camera in front of a light before the card is seen.

#include <optional>
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

inline constexpr int measured_cameras = 4;

// Learnt from four measured cameras, mixtures and deformations of them, in front of daylight,
// incandescent and phosphor lights. M is chosen for each camera and light so that D weighs least
// over the reflectances of teeth and of smooth surfaces. `left_out` (0–3) keeps one of the four out
// of it, to be simulated with.
ResponsePrior make_response_prior(const Viewing& viewing, std::optional<int> left_out = {});

enum class LightKind { daylight, incandescent, diode };

// A light of the population: relative power on the grid.
struct PopulationLight {
  Eigen::RowVectorXd power;
  LightKind kind;
};
std::vector<PopulationLight> light_population();

// A measured camera (3 × bands) and `count` deformations of it.
std::vector<Eigen::MatrixXd> cameras_like(int measured, int count);

// One camera of the population before one light.
struct PopulationMember {
  Eigen::MatrixXd response;  // 3 × bands of the grid
  double weight = 0;         // daylight, incandescent light and diodes weigh alike; adds up to 1
};
// Every camera before every light.
std::vector<PopulationMember> response_population();

// The 3×3 from a response's signals to tristimulus values that is right for teeth and smooth
// surfaces: what a developer of raw files would use.
Eigen::Matrix3d developing_matrix(const Eigen::MatrixXd& response, const Viewing& viewing);

// A reflectance on the response grid with the offset band's 1 added.
Eigen::VectorXd with_offset(const Eigen::VectorXd& reflectance);

}  // namespace mamelon::detail
