#include "capture/long_axis.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include <opencv2/imgproc.hpp>

#include "capture/steady_blur.h"

namespace mamelon::detail {
namespace {

cv::Point2f unit_vector(double radians) {
  // Pictures run downwards.
  return {static_cast<float>(std::cos(radians)), static_cast<float>(-std::sin(radians))};
}

double angle_of(const cv::Point2f& v) {
  return std::atan2(-v.y, v.x);
}

struct GumSide {
  double direction = 0;
  bool found = false;
};

// Where the gum lies: the direction that most of the outline's outward normals beside gingiva
// share. Seen from above gum lies on two opposite sides; normals count as lines too (twice their
// angle), so that the axis then runs between both sides and not along the row of teeth. Which of
// the two ends is the cervical one is settled by the red tissue all around.
GumSide towards_gingiva(const cv::Mat1b& tooth, const cv::Mat1b& gingiva, cv::Point2f centre,
                        double px_per_mm) {
  const int reach = std::max(2, static_cast<int>(std::lround(0.4 * px_per_mm)));
  cv::Mat1b near;
  cv::dilate(gingiva, near,
             cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * reach + 1, 2 * reach + 1}));
  cv::Mat1f smooth;
  tooth.convertTo(smooth, CV_32F);
  steady_blur(smooth, 0.25 * px_per_mm);
  cv::Mat1f dx;
  cv::Mat1f dy;
  cv::Sobel(smooth, dx, CV_32F, 1, 0);
  cv::Sobel(smooth, dy, CV_32F, 0, 1);
  cv::Mat1b inner;
  cv::erode(tooth, inner, cv::Mat());
  cv::Point2d once(0, 0);
  cv::Point2d twice(0, 0);
  int edge = 0;
  int beside = 0;
  cv::Point2d around(0, 0);
  double weight = 0;
  for (int y = 0; y < tooth.rows; ++y) {
    for (int x = 0; x < tooth.cols; ++x) {
      if (gingiva(y, x) != 0) {
        const cv::Point2d d(x - static_cast<double>(centre.x), y - static_cast<double>(centre.y));
        const double distance = std::max(1.0, std::hypot(d.x, d.y));
        around += d * (1 / (distance * distance * distance));
        weight += 1 / (distance * distance);
      }
      if (tooth(y, x) == 0 || inner(y, x) != 0) continue;
      ++edge;
      if (near(y, x) == 0) continue;
      ++beside;
      const double angle = angle_of({-dx(y, x), -dy(y, x)});
      once += cv::Point2d(std::cos(angle), std::sin(angle));
      twice += cv::Point2d(std::cos(2 * angle), std::sin(2 * angle));
    }
  }
  GumSide side;
  if (edge == 0 || beside < edge / 10 || weight <= 0) return side;
  once *= 1.0 / beside;
  twice *= 1.0 / beside;
  around *= 1 / weight;
  // Where one side has most of the gum, that side alone decides.
  const double two_sided = std::clamp((0.45 - std::hypot(once.x, once.y)) / 0.25, 0.0, 1.0);
  double best = -1e9;
  for (int degree = 0; degree < 360; ++degree) {
    const double t = degree * std::numbers::pi / 180;
    const double score = once.x * std::cos(t) + once.y * std::sin(t) +
                         two_sided * (twice.x * std::cos(2 * t) + twice.y * std::sin(2 * t) +
                                      0.5 * (around.x * std::cos(t) - around.y * std::sin(t)));
    if (score > best) {
      best = score;
      side.direction = t;
    }
  }
  side.found = std::hypot(once.x, once.y) + std::hypot(twice.x, twice.y) > 0.2;
  return side;
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

LongAxis find_long_axis(const cv::Mat1b& tooth, const cv::Mat1b& gingiva, double px_per_mm,
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
    const GumSide gum = towards_gingiva(tooth, gingiva, centre, px_per_mm);
    axis.guessed = !gum.found;
    const double start = gum.found ? gum.direction : direction;
    // Every seventh point is enough for the search.
    std::vector<cv::Point2f> some;
    for (std::size_t i = 0; i < points.size(); i += 7) some.push_back(points[i]);
    double best = -1;
    for (int turn = -20; turn <= 20; ++turn) {
      // A turn away from the gingiva's direction has to earn its keep.
      const double score =
          symmetry(some, tooth, centre, start + turn * degree) - 5e-5 * turn * turn;
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
