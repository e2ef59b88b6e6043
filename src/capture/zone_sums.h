#pragma once
// Mean of a mask's pixels.

#include <cstddef>
#include <string>

#include <Eigen/Dense>

#include "mamelon/zones.h"

namespace mamelon::detail {

// In linear light 0–1, with the covariance of that mean.
struct ZoneSums {
  std::size_t count = 0;
  Eigen::Vector3d mean = Eigen::Vector3d::Zero();
  Eigen::Matrix3d mean_cov = Eigen::Matrix3d::Zero();
  PointPx centre;
};

ZoneSums sum_zone(const Photo& photo, const Mask& mask);

// The zone in a sentence: `cervical third`, `cusps`.
std::string named(const Zone& zone);

// Throws ArgumentError for a mask whose values do not fit its size or that leaves the photo.
void check_mask(const Photo& photo, const Mask& mask);

// Fewer pixels than this are no measurement.
inline constexpr std::size_t min_zone_pixels = 30;

}  // namespace mamelon::detail
