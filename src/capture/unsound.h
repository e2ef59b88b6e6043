#pragma once
// What within the outline is not sound tooth.

#include <string_view>
#include <vector>

#include <opencv2/core.hpp>

#include "capture/lab_view.h"

namespace mamelon::detail {

struct UnsoundPart {
  std::string_view what;  // in words
  double share = 0;       // of the tooth
};

struct Unsound {
  cv::Mat1b where;  // on the view's pixels
  std::vector<UnsoundPart> parts;
};

// Parts of half a square millimetre or more that differ from a smooth surface through the tooth's
// colours: dark and brown (caries, stain), dark and grey (metal), whiter with an edge of its own
// (dehydrated or poorly mineralised enamel), of another colour with an edge of its own (old
// composite). White patches that `glare` covers are not seen. The limits are our own, chosen
// on defects painted over photos; how often they are right on real ones has not been measured.
Unsound find_unsound(const LabView& view, const cv::Mat1b& tooth, const cv::Mat1b& glare);

}  // namespace mamelon::detail
