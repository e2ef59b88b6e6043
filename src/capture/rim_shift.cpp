#include "capture/rim_shift.h"

#include <algorithm>
#include <cmath>

#include <opencv2/imgproc.hpp>

namespace mamelon::detail {

cv::Mat1f signed_distance(const cv::Mat1b& tooth, float rim) {
  cv::Mat1b padded;
  cv::copyMakeBorder(tooth, padded, 1, 1, 1, 1, cv::BORDER_CONSTANT, 0);
  cv::Mat1f inside;
  cv::Mat1f outside;
  cv::distanceTransform(padded, inside, cv::DIST_L2, cv::DIST_MASK_PRECISE);
  cv::distanceTransform(1 - padded, outside, cv::DIST_L2, cv::DIST_MASK_PRECISE);
  // Distances are to the nearest centre of the other kind; the outline runs half a pixel before it.
  cv::Mat1f distance(cv::max(inside - 0.5F, 0.0F) - cv::max(outside - 0.5F, 0.0F) - rim);
  cv::GaussianBlur(distance, distance, {0, 0}, 1.0);
  return distance(cv::Rect(1, 1, tooth.cols, tooth.rows)).clone();
}

std::array<Vec3, 3> rim_shifts(const Outline& outline, const cv::Mat1b& glare, const LongAxis& axis,
                               const ZonePlaces& places, double margin_mm) {
  constexpr double move_mm = 0.3;
  const LabView& view = outline.view;
  const cv::Mat1f distance = signed_distance(outline.tooth, outline.rim);
  const cv::Point2f along = axis.incisal - axis.cervical;
  const float length = along.dot(along);
  struct Sum {
    cv::Vec3d lab{0, 0, 0};
    double count = 0;
  };
  // Sums with the rim moved outwards and inwards.
  std::array<std::array<Sum, 2>, 3> sums;
  for (int y = 0; y < distance.rows; ++y) {
    for (int x = 0; x < distance.cols; ++x) {
      const double depth_mm = static_cast<double>(distance(y, x)) / view.px_per_mm;
      if (depth_mm <= margin_mm - move_mm || glare(y, x) != 0 || view.clipped(y, x) != 0) continue;
      const cv::Point2f p(static_cast<float>(x), static_cast<float>(y));
      const std::size_t zone =
          places.empty() ? third_at((p - axis.cervical).dot(along) / length) : places(y, x);
      if (zone >= sums.size()) continue;
      auto& third = sums.at(zone);
      for (std::size_t k = 0; k < 2; ++k) {
        if (k == 1 && depth_mm <= margin_mm + move_mm) continue;
        third.at(k).lab += view.lab(y, x);
        third.at(k).count += 1;
      }
    }
  }
  std::array<Vec3, 3> shifts{};
  for (std::size_t i = 0; i < 3; ++i) {
    const auto& [outer, inner] = sums.at(i);
    if (outer.count < 1 || inner.count < 1) continue;
    for (int c = 0; c < 3; ++c) {
      shifts.at(i).at(static_cast<std::size_t>(c)) =
          (outer.lab[c] / outer.count - inner.lab[c] / inner.count) / 2;
    }
  }
  return shifts;
}

double outline_confidence(const Outline& outline, const Vec3& middle_shift) {
  const double shift = std::hypot(middle_shift[0], middle_shift[1], middle_shift[2]);
  // Fitted to 109 photographed teeth of two people, each with weights learned from the other.
  const double logit =
      -5.72 - 2.75 * std::log(1.01 - std::clamp(outline.agreement, 0.0, 1.0)) - 1.05 * shift;
  return 1 / (1 + std::exp(-logit));
}

}  // namespace mamelon::detail
