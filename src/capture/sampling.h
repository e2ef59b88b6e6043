#pragma once
// Mean colour of a rectangle of the card.

#include <cstddef>

#include "mamelon/image.h"
#include "mamelon/measured.h"

#include "capture/geometry.h"

namespace mamelon::detail {

struct RegionSample {
  std::size_t pixels = 0;
  Vec3 rgb{};      // trimmed mean, 0–1 of full scale
  Mat3 rgb_cov{};  // covariance of that mean
  double clipped_fraction = 0;
  double black_fraction = 0;  // at the bottom of the file's range in some channel
  PointPx centre;
};

// Pixels whose centres lie in `rect` shrunk by `inset` of its size on every side. Pixels beyond
// 3.5 robust standard deviations of the median in any channel are left out (dust, text, glints).
// The covariance comes from the means of 4 × 4 cells, so that noise which neighbouring pixels
// share through interpolation and compression counts in full; 8-bit files add their rounding, which
// is the same all over an even patch.
RegionSample sample_region(const Photo& photo, const Homography& mm_to_px,
                           const Homography& px_to_mm, const RectMm& rect, double inset);

}  // namespace mamelon::detail
