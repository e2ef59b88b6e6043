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
  // As in Rim; 1 where a person drew the whole outline.
  double agreement = 1;
  bool touches_border = false;
};

// From a point, a box or a drawn rim, with points inside and outside; `hint` holds one of them.
// Throws CaptureError when no tooth-like region is there.
Outline outline_from_hint(const Photo& photo, const CardFit& fit, const ToothHint& hint);
// A given mask on a view of its surroundings.
Outline outline_from_mask(const Photo& photo, const CardFit& fit, const Mask& mask);

// The middle of the largest tooth-coloured region, the photo's centre preferred. Throws
// CaptureError when there is none.
PointPx find_a_tooth(const Photo& photo, const CardFit& fit);

// Places that may be the middle of a tooth: the deepest ones of tooth-coloured regions.
std::vector<PointPx> likely_teeth(const Photo& photo, const CardFit& fit);

}  // namespace mamelon::detail
