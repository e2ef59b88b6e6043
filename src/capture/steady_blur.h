#pragma once
// A Gaussian blur that gives the same bits on every processor: OpenCV's multiplies and adds with
// other instructions where it finds wider registers.

#include <opencv2/core.hpp>

namespace mamelon::detail {

// Blurs an image of floats, of any number of channels, in place. `sigma` is in pixels; the image is
// mirrored at its borders, the outermost pixels standing once.
void steady_blur(cv::Mat& image, double sigma);

}  // namespace mamelon::detail
