#pragma once
// The closed rim of one tooth around a point on it, parted from the teeth that it touches.

#include <vector>

#include <opencv2/core.hpp>

#include "capture/lab_view.h"

namespace mamelon::detail {

struct Rim {
  cv::Mat1b tooth;  // 1 inside, on the view's pixels
  // Overlap (area in common over area of both) of the rim as first found from the seed with the one
  // that most centres share, 0–1.
  double agreement = 0;
};

// What a person said about the tooth, in pixels of the view.
struct RimLimits {
  cv::Mat1b allowed;  // 1 where the tooth may lie
  cv::Mat1b drawn;    // 1 inside a roughly drawn rim; empty without one
  std::vector<cv::Point2f> inside;
  std::vector<cv::Point2f> outside;
};

Rim find_rim(const LabView& view, cv::Point2f seed, const RimLimits& limits);

}  // namespace mamelon::detail
