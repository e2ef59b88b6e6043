#include "capture/glare.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include <opencv2/imgproc.hpp>

#include "base/parallel.h"
#include "capture/sheen.h"

namespace mamelon::detail {
namespace {

float median_of(std::vector<float>& values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

// The tooth without its highlights: a wide median of the tooth's own pixels, on a coarse copy.
cv::Mat1f without_highlights(const LabView& view, const cv::Mat1b& tooth) {
  const int step = std::max(1, static_cast<int>(view.px_per_mm / 4));
  const int columns = (tooth.cols + step - 1) / step;
  const int rows = (tooth.rows + step - 1) / step;
  const int radius = static_cast<int>(std::lround(1.8 * view.px_per_mm / step));
  // Coarse cells: median of the tooth's pixels in the cell.
  cv::Mat1f coarse(rows, columns, -1.0F);
  std::vector<float> values;
  for (int r = 0; r < rows; ++r) {
    for (int c = 0; c < columns; ++c) {
      values.clear();
      for (int y = r * step; y < std::min(tooth.rows, (r + 1) * step); ++y) {
        for (int x = c * step; x < std::min(tooth.cols, (c + 1) * step); ++x) {
          if (tooth(y, x) != 0) values.push_back(view.least(y, x));
        }
      }
      if (!values.empty()) coarse(r, c) = median_of(values);
    }
  }
  cv::Mat1f smooth(rows, columns, 0.0F);
  parallel_for(static_cast<std::size_t>(rows), 4, [&](std::size_t begin, std::size_t end) {
    std::vector<float> around;
    for (int r = static_cast<int>(begin); r < static_cast<int>(end); ++r) {
      for (int c = 0; c < columns; ++c) {
        if (coarse(r, c) < 0) continue;
        around.clear();
        for (int y = std::max(0, r - radius); y <= std::min(rows - 1, r + radius); ++y) {
          for (int x = std::max(0, c - radius); x <= std::min(columns - 1, c + radius); ++x) {
            if (coarse(y, x) >= 0) around.push_back(coarse(y, x));
          }
        }
        smooth(r, c) = median_of(around);
      }
    }
  });
  // A value for every pixel of the tooth, also in cells that the outline barely enters.
  cv::Mat1f full;
  cv::Mat1f filled = smooth.clone();
  cv::dilate(smooth, filled, cv::Mat());
  smooth.copyTo(filled, (smooth > 0));
  cv::resize(filled, full, {columns * step, rows * step}, 0, 0, cv::INTER_LINEAR);
  return full(cv::Rect(0, 0, tooth.cols, tooth.rows));
}

}  // namespace

cv::Mat1b find_glare(const LabView& view, const cv::Mat1b& tooth, bool polarised) {
  const cv::Mat1f around = without_highlights(view, tooth);
  std::vector<float> excess;
  cv::Mat1f relative(cv::Mat1f::zeros(tooth.size()));
  for (int y = 0; y < tooth.rows; ++y) {
    for (int x = 0; x < tooth.cols; ++x) {
      if (tooth(y, x) == 0 || around(y, x) <= 0) continue;
      relative(y, x) = view.least(y, x) / around(y, x) - 1;
      excess.push_back(std::abs(relative(y, x)));
    }
  }
  cv::Mat1b glare(cv::Mat1b::zeros(tooth.size()));
  if (excess.empty()) return glare;
  const auto middle = excess.begin() + static_cast<std::ptrdiff_t>(excess.size() / 2);
  std::nth_element(excess.begin(), middle, excess.end());
  const float spread = 1.4826F * *middle;
  // Enamel itself reaches twice the blue light of what is around it, and no more (white spots;
  // common practice).
  const float certain = polarised ? 1.0F : std::max(0.16F, 5 * spread);
  const float possible = std::max(0.06F, 2.5F * spread);
  // Certain glare, and what is possibly glare and touches it.
  cv::Mat1b candidates(cv::Mat1b::zeros(tooth.size()));
  for (int y = 0; y < tooth.rows; ++y) {
    for (int x = 0; x < tooth.cols; ++x) {
      if (tooth(y, x) == 0) continue;
      candidates(y, x) = relative(y, x) > possible || view.clipped(y, x) != 0;
    }
  }
  cv::Mat1i components;
  const int count = cv::connectedComponents(candidates, components, 8);
  std::vector<std::uint8_t> is_glare(static_cast<std::size_t>(count), 0);
  for (int y = 0; y < tooth.rows; ++y) {
    for (int x = 0; x < tooth.cols; ++x) {
      const int i = components(y, x);
      if (i > 0 && (relative(y, x) > certain || view.clipped(y, x) != 0)) {
        is_glare[static_cast<std::size_t>(i)] = 1;
      }
    }
  }
  for (int y = 0; y < tooth.rows; ++y) {
    for (int x = 0; x < tooth.cols; ++x) {
      glare(y, x) = is_glare[static_cast<std::size_t>(components(y, x))];
    }
  }
  const int rim = std::max(1, static_cast<int>(std::lround(0.15 * view.px_per_mm)));
  cv::dilate(glare, glare,
             cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * rim + 1, 2 * rim + 1}));
  glare &= tooth;
  if (!polarised) glare |= find_sheen(view, tooth);
  return glare;
}

}  // namespace mamelon::detail
