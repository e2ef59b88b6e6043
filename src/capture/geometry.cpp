#include "capture/geometry.h"

#include <cmath>

#include "mamelon/error.h"

#include "colour/vectors.h"

namespace mamelon::detail {
namespace {

Eigen::Matrix3d matrix(const Homography& h) {
  return Eigen::Map<const Eigen::Matrix<double, 3, 3, Eigen::RowMajor>>(h.data());
}

}  // namespace

Homography inverse(const Homography& h) {
  const Eigen::Matrix3d m = matrix(h);
  if (!(std::abs(m.determinant()) > 1e-12 * std::pow(m.norm(), 3))) {
    throw CaptureError("the card is seen edge-on; photograph it facing the camera");
  }
  Homography out{};
  Eigen::Map<Eigen::Matrix<double, 3, 3, Eigen::RowMajor>>(out.data()) = m.inverse();
  return out;
}

LocalScale local_scale(const Homography& h, PointMm at) {
  const double w = h[6] * at.x + h[7] * at.y + h[8];
  const PointPx p = apply(h, at);
  Eigen::Matrix2d jacobian;
  jacobian << h[0] - p.x * h[6], h[1] - p.x * h[7], h[3] - p.y * h[6], h[4] - p.y * h[7];
  const Eigen::Vector2d values = (jacobian / w).jacobiSvd().singularValues();
  return {values[0], values[1]};
}

}  // namespace mamelon::detail

namespace mamelon {

PointPx to_px(const CardFit& fit, PointMm at) {
  return detail::apply(fit.mm_to_px, at);
}

}  // namespace mamelon
