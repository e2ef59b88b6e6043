// All teeth in view, each with its outline.

#include <algorithm>
#include <array>
#include <vector>

#include <opencv2/imgproc.hpp>

#include "mamelon/error.h"
#include "mamelon/zones.h"

#include "capture/outline.h"
#include "capture/rim_shift.h"

namespace mamelon {
namespace {

using detail::Outline;

// The outline at the photo's resolution, without what earlier teeth hold.
Mask mask_of(const Outline& outline, const cv::Mat1b& taken) {
  const detail::LabView& view = outline.view;
  const cv::Rect small = cv::boundingRect(outline.tooth);
  const cv::Rect box(view.part.x + small.x * view.step, view.part.y + small.y * view.step,
                     small.width * view.step, small.height * view.step);
  Mask mask;
  mask.x = static_cast<std::size_t>(box.x);
  mask.y = static_cast<std::size_t>(box.y);
  mask.width = static_cast<std::size_t>(box.width);
  mask.height = static_cast<std::size_t>(box.height);
  mask.inside.reserve(mask.width * mask.height);
  for (int y = 0; y < box.height; ++y) {
    for (int x = 0; x < box.width; ++x) {
      const bool tooth = outline.tooth(small.y + y / view.step, small.x + x / view.step) != 0;
      mask.inside.push_back(tooth && taken(box.y + y, box.x + x) == 0 ? 1 : 0);
    }
  }
  return mask;
}

void take(const Mask& mask, cv::Mat1b& taken) {
  for (std::size_t i = 0; i < mask.inside.size(); ++i) {
    if (mask.inside[i] == 0) continue;
    taken(static_cast<int>(mask.y + i / mask.width), static_cast<int>(mask.x + i % mask.width)) = 1;
  }
}

struct Candidate {
  PointPx at;
  Outline outline;
  double confidence = 0;
};

}  // namespace

std::vector<ToothInView> find_teeth(const Photo& photo, const CardFit& fit) {
  if (!fit.correction) throw ArgumentError("the card fit holds no correction");
  std::vector<Candidate> candidates;
  for (const PointPx& at : detail::likely_teeth(photo, fit)) {
    try {
      ToothHint hint;
      hint.point = at;
      Outline outline = detail::outline_from_hint(photo, fit, hint);
      const double confidence = detail::outline_confidence(outline, Vec3{});
      if (confidence < least_confidence) continue;
      candidates.push_back({at, std::move(outline), confidence});
    } catch (const CaptureError&) {
      continue;  // no tooth there
    }
  }
  std::stable_sort(
      candidates.begin(), candidates.end(),
      [](const Candidate& a, const Candidate& b) { return a.confidence > b.confidence; });
  // The surest first; what is left of a later one has to be most of it.
  cv::Mat1b taken(cv::Mat1b::zeros(static_cast<int>(photo.height), static_cast<int>(photo.width)));
  std::vector<ToothInView> teeth;
  for (const Candidate& candidate : candidates) {
    Mask mask = mask_of(candidate.outline, taken);
    const auto left = std::count(mask.inside.begin(), mask.inside.end(), 1);
    const int step = candidate.outline.view.step;
    const int whole = cv::countNonZero(candidate.outline.tooth) * step * step;
    if (static_cast<double>(left) < 0.7 * whole) continue;
    take(mask, taken);
    teeth.push_back({candidate.at, std::move(mask), candidate.confidence});
  }
  std::stable_sort(teeth.begin(), teeth.end(), [](const ToothInView& a, const ToothInView& b) {
    return std::pair(a.at.y, a.at.x) < std::pair(b.at.y, b.at.x);
  });
  return teeth;
}

}  // namespace mamelon
