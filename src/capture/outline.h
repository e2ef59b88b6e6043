#pragma once
// The outline of one tooth.

#include <vector>

#include <opencv2/core.hpp>

#include "mamelon/zones.h"

#include "capture/lab_view.h"

namespace mamelon::detail {

struct Outline {
  LabView view;
  cv::Mat1b tooth;    // 1 inside, on the view's pixels
  cv::Mat1b gingiva;  // 1 where the tissue beside it is red
  // How far inside the outermost pixels' outer edges the outline runs, in pixels.
  float rim = 0;
  bool touches_border = false;
};

// From a place on the tooth. Throws CaptureError when the colour there is not a tooth's.
Outline outline_from_point(const Photo& photo, const CardFit& fit, PointPx at);
// From a rectangle around the tooth; nothing outside it belongs to the tooth.
Outline outline_from_box(const Photo& photo, const CardFit& fit, const BoxPx& box);
// A given mask on a view of its surroundings.
Outline outline_from_mask(const Photo& photo, const CardFit& fit, const Mask& mask);

// The middle of the largest tooth-coloured region, the photo's centre preferred. Throws
// CaptureError when there is none.
PointPx find_a_tooth(const Photo& photo, const CardFit& fit);

}  // namespace mamelon::detail
