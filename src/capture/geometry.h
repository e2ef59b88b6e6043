#pragma once
// The homography between the card's millimetres and the photo's pixels.

#include <array>

#include "mamelon/card.h"

namespace mamelon::detail {

using Homography = std::array<double, 9>;  // row-major

inline PointPx apply(const Homography& h, PointMm at) {
  const double w = h[6] * at.x + h[7] * at.y + h[8];
  return {(h[0] * at.x + h[1] * at.y + h[2]) / w, (h[3] * at.x + h[4] * at.y + h[5]) / w};
}
inline PointMm apply_inverse(const Homography& h, PointPx at) {
  const double w = h[6] * at.x + h[7] * at.y + h[8];
  return {(h[0] * at.x + h[1] * at.y + h[2]) / w, (h[3] * at.x + h[4] * at.y + h[5]) / w};
}
// Throws CaptureError when the card is seen edge-on.
Homography inverse(const Homography& h);

// Pixels for one millimetre at a point of the card: the larger and the smaller of all directions.
struct LocalScale {
  double largest = 0;
  double smallest = 0;
};
LocalScale local_scale(const Homography& mm_to_px, PointMm at);

struct RectMm {
  double x = 0;
  double y = 0;
  double width = 0;
  double height = 0;
};

}  // namespace mamelon::detail
