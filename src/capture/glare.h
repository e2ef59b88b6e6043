#pragma once
// Specular reflections on a tooth.

#include <opencv2/core.hpp>

#include "capture/lab_view.h"

namespace mamelon::detail {

// Pixels of `tooth` where the least of the three channels, in which added white light weighs most,
// stands out from the tooth around it, and a rim around them.
cv::Mat1b find_glare(const LabView& view, const cv::Mat1b& tooth);

}  // namespace mamelon::detail
