#include "capture/flood.h"

#include <algorithm>
#include <array>
#include <deque>

namespace mamelon::detail {

void flood(const cv::Mat1b& landscape, cv::Mat1i& labels) {
  constexpr std::array<std::array<int, 2>, 4> steps = {{{0, -1}, {-1, 0}, {1, 0}, {0, 1}}};
  // One queue a level, first in first out, so that plateaus are shared evenly.
  std::array<std::deque<cv::Point>, 256> queues;
  for (int y = 0; y < labels.rows; ++y) {
    for (int x = 0; x < labels.cols; ++x) {
      if (labels(y, x) > 0) queues.at(landscape(y, x)).emplace_back(x, y);
    }
  }
  for (std::size_t level = 0; level < queues.size(); ++level) {
    while (!queues.at(level).empty()) {
      const cv::Point p = queues.at(level).front();
      queues.at(level).pop_front();
      for (const auto& step : steps) {
        const cv::Point q(p.x + step[0], p.y + step[1]);
        if (q.x < 0 || q.y < 0 || q.x >= labels.cols || q.y >= labels.rows) continue;
        if (labels(q) != 0) continue;
        labels(q) = labels(p);
        queues.at(std::max<std::size_t>(level, landscape(q))).push_back(q);
      }
    }
  }
}

}  // namespace mamelon::detail
