#include "capture/tooth_cells.h"

#include <algorithm>
#include <cmath>

#include <opencv2/imgproc.hpp>

namespace mamelon::detail {

ToothCells tooth_cells(const LabView& view, const cv::Mat1b& tooth) {
  const double scale = std::min(1.0, cells_per_mm / view.px_per_mm);
  const cv::Size size(std::max(1, static_cast<int>(std::lround(tooth.cols * scale))),
                      std::max(1, static_cast<int>(std::lround(tooth.rows * scale))));
  cv::Mat1f share;
  tooth.convertTo(share, CV_32F);
  cv::Mat3f lab(cv::Mat3f::zeros(tooth.size()));
  view.lab.copyTo(lab, tooth);
  ToothCells cells;
  cv::resize(share, share, size, 0, 0, cv::INTER_AREA);
  cv::resize(lab, cells.lab, size, 0, 0, cv::INTER_AREA);
  cells.inside = (share > 0.9F) & 1;
  cv::erode(cells.inside, cells.inside, cv::Mat::ones(3, 3, CV_8U), {-1, -1}, 1,
            cv::BORDER_CONSTANT, 0);
  cv::findNonZero(cells.inside, cells.places);
  for (const cv::Point& p : cells.places) cells.lab(p) /= share(p);
  return cells;
}

std::vector<std::vector<cv::Point>> parts_of(const cv::Mat1b& cells, double least_mm2) {
  cv::Mat1b smooth;
  cv::medianBlur(cells, smooth, 3);
  cv::Mat1i labels;
  const int count = cv::connectedComponents(smooth, labels, 8);
  std::vector<std::vector<cv::Point>> all(static_cast<std::size_t>(count));
  for (int y = 0; y < smooth.rows; ++y) {
    for (int x = 0; x < smooth.cols; ++x) {
      if (labels(y, x) > 0) all[static_cast<std::size_t>(labels(y, x))].emplace_back(x, y);
    }
  }
  std::vector<std::vector<cv::Point>> parts;
  for (std::size_t i = 1; i < all.size(); ++i) {
    if (static_cast<double>(all[i].size()) < least_mm2 * cells_per_mm2) continue;
    parts.push_back(std::move(all[i]));
  }
  return parts;
}

cv::Mat1b to_view_size(const cv::Mat1b& cells, const cv::Mat1b& tooth) {
  cv::Mat1f soft;
  cells.convertTo(soft, CV_32F);
  cv::resize(soft, soft, tooth.size(), 0, 0, cv::INTER_LINEAR);
  return cv::Mat1b((soft > 0.5F) & tooth);
}

}  // namespace mamelon::detail
