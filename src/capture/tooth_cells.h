#pragma once
// A tooth in cells of a quarter of a millimetre, in which texture and noise are averaged away.

#include <vector>

#include <opencv2/core.hpp>

#include "capture/lab_view.h"

namespace mamelon::detail {

inline constexpr double cells_per_mm = 4;
inline constexpr double cells_per_mm2 = cells_per_mm * cells_per_mm;

struct ToothCells {
  cv::Mat1b inside;               // the tooth without its rim
  cv::Mat3f lab;                  // mean over the tooth's part of the cell
  std::vector<cv::Point> places;  // of the cells inside
};

ToothCells tooth_cells(const LabView& view, const cv::Mat1b& tooth);

// Connected parts of `cells` (1 in, 0 out) of `least_mm2` or more, single cells smoothed away.
std::vector<std::vector<cv::Point>> parts_of(const cv::Mat1b& cells, double least_mm2);

// Cells as a mask of the view's size.
cv::Mat1b to_view_size(const cv::Mat1b& cells, const cv::Mat1b& tooth);

}  // namespace mamelon::detail
