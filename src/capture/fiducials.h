#pragma once
// Where the card lies in the photo.

#include <string>

#include "mamelon/card.h"
#include "mamelon/image.h"

#include "capture/geometry.h"

namespace mamelon::detail {

struct CardPose {
  Homography mm_to_px{};
  double reprojection_rms_px = 0;
  double edge_blur_px = 0;  // width of the fiducials' edges, 10 % to 90 %
  std::string hidden;       // id of the fiducial that was not seen; empty when all were
};

// Three of the four fiducials are enough. Throws CaptureError when more are missing or hidden, when
// they are mirrored, there twice, or not where the definition has them, and when a patch reaches
// beyond the photo.
CardPose find_card(const Photo& photo, const Card& card);
// The same from the card's own four corners; throws ArgumentError for corners that are not a
// convex quadrilateral within the photo in the stated order.
CardPose pose_from_corners(const Photo& photo, const Card& card,
                           const std::array<PointPx, 4>& corners_px);

}  // namespace mamelon::detail
