#include "capture/fissures.h"

#include <algorithm>
#include <cmath>

#include <opencv2/imgproc.hpp>

namespace mamelon::detail {

cv::Mat1b find_fissures(const LabView& view, const cv::Mat1b& tooth, const cv::Mat1b& glare) {
  constexpr double half_width_mm = 0.9;
  constexpr double rim_mm = 0.8;
  constexpr double least_length_mm = 1.2;
  constexpr float least_depth = 3;  // of L*
  const auto disc = [&](double mm) {
    const int r = std::max(1, static_cast<int>(std::lround(mm * view.px_per_mm)));
    return cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * r + 1, 2 * r + 1});
  };
  cv::Mat1f lightness;
  cv::extractChannel(view.lab, lightness, 0);
  // Glare and what lies beside the tooth take the lightness of the tooth around them.
  cv::Mat1f known;
  cv::Mat1b(tooth & (glare == 0)).convertTo(known, CV_32F, 1.0);
  cv::Mat1f kept(lightness.mul(known));
  cv::Mat1f weight;
  const double spread = 0.6 * view.px_per_mm;
  cv::GaussianBlur(known, weight, {0, 0}, spread);
  cv::GaussianBlur(kept, kept, {0, 0}, spread);
  const cv::Mat1f around(kept / cv::max(weight, 1e-3F));
  around.copyTo(lightness, known < 0.5F);
  cv::GaussianBlur(lightness, lightness, {0, 0}, 0.06 * view.px_per_mm);
  cv::Mat1f closed;
  cv::morphologyEx(lightness, closed, cv::MORPH_CLOSE, disc(half_width_mm));
  cv::Mat1b inner;
  cv::erode(tooth, inner, disc(rim_mm), {-1, -1}, 1, cv::BORDER_CONSTANT, 0);
  const cv::Mat1b deep((closed - lightness > least_depth) & inner);
  cv::Mat1i parts;
  cv::Mat1i stats;
  cv::Mat1d centres;
  cv::connectedComponentsWithStats(deep, parts, stats, centres, 8);
  cv::Mat1b fissures(cv::Mat1b::zeros(tooth.size()));
  for (int y = 0; y < parts.rows; ++y) {
    for (int x = 0; x < parts.cols; ++x) {
      const int i = parts(y, x);
      if (i == 0) continue;
      const int length = std::max(stats(i, cv::CC_STAT_WIDTH), stats(i, cv::CC_STAT_HEIGHT));
      fissures(y, x) = length > least_length_mm * view.px_per_mm ? 1 : 0;
    }
  }
  return fissures;
}

}  // namespace mamelon::detail
