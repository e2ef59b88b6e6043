#pragma once
// The broad reflection of a softbox, a window or a ring lamp on a tooth.

#include <opencv2/core.hpp>

#include "capture/lab_view.h"

namespace mamelon::detail {

// Pixels of `tooth` over which a wide patch of white light lies. The light of the surface adds the
// same to all channels (Shafer 1985, Color Res Appl 10:210); shade within the tooth multiplies
// them. So the ratio of the short to the middle wavelengths says how much was added, where the
// tooth's own ratio is a smooth function of the place that most of the tooth lies above.
cv::Mat1b find_sheen(const LabView& view, const cv::Mat1b& tooth);

}  // namespace mamelon::detail
