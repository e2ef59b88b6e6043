#pragma once
// The long axis of a tooth.

#include <optional>

#include <opencv2/core.hpp>

namespace mamelon::detail {

struct LongAxis {
  cv::Point2f cervical;  // where the axis leaves the outline at either end
  cv::Point2f incisal;
  bool guessed = false;  // no gingiva beside the tooth and no direction given: cervical is up
};

// `cervical_direction_deg` is counter-clockwise from the picture's right-hand side. Without it the
// cervical end is where the outline meets the gingiva; the axis is then turned, by up to 20°, to
// where the outline is most nearly its own mirror image.
LongAxis find_long_axis(const cv::Mat1b& tooth, const cv::Mat1b& gingiva, double px_per_mm,
                        std::optional<double> cervical_direction_deg);

}  // namespace mamelon::detail
