#include "capture/long_axis.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include <opencv2/imgproc.hpp>

namespace mamelon::detail {
namespace {

cv::Point2f unit_vector(double radians) {
  // Pictures run downwards.
  return {static_cast<float>(std::cos(radians)), static_cast<float>(-std::sin(radians))};
}

double angle_of(const cv::Point2f& v) {
  return std::atan2(-v.y, v.x);
}

// Mean outward direction of the outline where gingiva lies within a few pixels of it.
std::optional<double> towards_gingiva(const cv::Mat1b& tooth, const cv::Mat1b& gingiva) {
  cv::Mat1b padded;
  constexpr int reach = 3;
  cv::dilate(gingiva, padded, cv::Mat(), {-1, -1}, reach);
  cv::Mat1f smooth;
  tooth.convertTo(smooth, CV_32F);
  cv::GaussianBlur(smooth, smooth, {0, 0}, 2.5);
  cv::Mat1f dx;
  cv::Mat1f dy;
  cv::Sobel(smooth, dx, CV_32F, 1, 0);
  cv::Sobel(smooth, dy, CV_32F, 0, 1);
  cv::Mat1b inner;
  cv::erode(tooth, inner, cv::Mat());
  cv::Point2d sum(0, 0);
  int edge = 0;
  int beside = 0;
  for (int y = 0; y < tooth.rows; ++y) {
    for (int x = 0; x < tooth.cols; ++x) {
      if (tooth(y, x) == 0 || inner(y, x) != 0) continue;
      ++edge;
      if (padded(y, x) == 0) continue;
      ++beside;
      const double size = std::hypot(dx(y, x), dy(y, x));
      if (size > 0) sum -= cv::Point2d(dx(y, x) / size, dy(y, x) / size);
    }
  }
  if (edge == 0 || beside < edge / 10 || std::hypot(sum.x, sum.y) < 0.2 * beside) {
    return std::nullopt;
  }
  return angle_of(cv::Point2f(sum));
}

// Share of the tooth that stays tooth when mirrored at the axis through `centre`.
double symmetry(const std::vector<cv::Point2f>& points, const cv::Mat1b& tooth, cv::Point2f centre,
                double radians) {
  const cv::Point2f axis = unit_vector(radians);
  std::size_t kept = 0;
  for (const cv::Point2f& p : points) {
    const cv::Point2f d = p - centre;
    const cv::Point2f mirrored = centre + 2 * d.dot(axis) * axis - d;
    const int x = static_cast<int>(std::lround(mirrored.x));
    const int y = static_cast<int>(std::lround(mirrored.y));
    if (x >= 0 && y >= 0 && x < tooth.cols && y < tooth.rows && tooth(y, x) != 0) ++kept;
  }
  return static_cast<double>(kept) / static_cast<double>(points.size());
}

}  // namespace

LongAxis find_long_axis(const cv::Mat1b& tooth, const cv::Mat1b& gingiva,
                        std::optional<double> cervical_direction_deg) {
  constexpr double degree = std::numbers::pi / 180;
  LongAxis axis;
  double direction = std::numbers::pi / 2;
  std::vector<cv::Point2f> points;
  cv::Point2d total(0, 0);
  for (int y = 0; y < tooth.rows; ++y) {
    for (int x = 0; x < tooth.cols; ++x) {
      if (tooth(y, x) == 0) continue;
      points.emplace_back(static_cast<float>(x), static_cast<float>(y));
      total += cv::Point2d(x, y);
    }
  }
  const cv::Point2f centre(total / static_cast<double>(points.size()));
  if (cervical_direction_deg) {
    direction = *cervical_direction_deg * degree;
  } else {
    const auto gingival = towards_gingiva(tooth, gingiva);
    axis.guessed = !gingival;
    const double start = gingival.value_or(direction);
    // Every seventh point is enough for the search.
    std::vector<cv::Point2f> some;
    for (std::size_t i = 0; i < points.size(); i += 7) some.push_back(points[i]);
    double best = -1;
    for (int turn = -20; turn <= 20; ++turn) {
      // A turn away from the gingiva's direction has to earn its keep.
      const double score =
          symmetry(some, tooth, centre, start + turn * degree) - 2e-5 * turn * turn;
      if (score > best) {
        best = score;
        direction = start + turn * degree;
      }
    }
  }
  const cv::Point2f up = unit_vector(direction);
  float low = 0;
  float high = 0;
  for (const cv::Point2f& p : points) {
    const float along = (p - centre).dot(up);
    low = std::min(low, along);
    high = std::max(high, along);
  }
  axis.cervical = centre + up * (high + 0.5F);
  axis.incisal = centre + up * (low - 0.5F);
  return axis;
}

}  // namespace mamelon::detail
