#pragma once
// Watershed by flooding (Meyer 1994, Signal Processing 38:113) over a given landscape.

#include <opencv2/core.hpp>

namespace mamelon::detail {

// Grows the labels (> 0) of `labels` into its zeros in the order of `landscape`, lowest first, over
// the four neighbours. Every pixel that can be reached ends with a label.
void flood(const cv::Mat1b& landscape, cv::Mat1i& labels);

}  // namespace mamelon::detail
