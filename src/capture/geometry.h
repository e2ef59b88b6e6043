#pragma once
// The homography between the card's millimetres and the photo's pixels.

#include <array>

#include "mamelon/card.h"

namespace mamelon::detail {

using Homography = std::array<double, 9>;  // row-major

PointPx apply(const Homography& mm_to_px, PointMm at);
PointMm apply_inverse(const Homography& px_to_mm, PointPx at);
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
