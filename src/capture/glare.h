#pragma once
// Specular reflections on a tooth.

#include <opencv2/core.hpp>

#include "capture/lab_view.h"

namespace mamelon::detail {

// Spots: pixels of `tooth` where the least of the three channels, in which added white light weighs
// most, stands out from the tooth around it, and a rim around them. Beside them the broad patches
// of find_sheen. Through crossed polarisers the surface gives no light: only spots that stand far
// out, where the polarisers are not crossed, and over-exposed ones are left.
cv::Mat1b find_glare(const LabView& view, const cv::Mat1b& tooth, bool polarised = false);

}  // namespace mamelon::detail
