#pragma once
// The grooves of a premolar or molar seen from above.

#include <opencv2/core.hpp>

#include "capture/lab_view.h"

namespace mamelon::detail {

// Lines and hollows darker than what lies on both sides of them within about a millimetre, as
// light that enters them is lost between their walls. Glare makes no hollow beside itself.
cv::Mat1b find_fissures(const LabView& view, const cv::Mat1b& tooth, const cv::Mat1b& glare);

}  // namespace mamelon::detail
