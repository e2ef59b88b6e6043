#include "mamelon/preview.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>

#include <opencv2/imgproc.hpp>

#include "mamelon/colour.h"
#include "mamelon/error.h"

namespace mamelon {
namespace {

constexpr std::size_t levels = 4096;

// sRGB code of light in steps of 1/4095 of full scale.
std::array<std::uint8_t, levels> code_of_light() {
  std::array<std::uint8_t, levels> codes{};
  for (std::size_t i = 0; i < levels; ++i) {
    const double light = static_cast<double>(i) / (levels - 1);
    codes[i] =
        static_cast<std::uint8_t>(std::lround(255 * to_display(Vec3{light, light, light}).r));
  }
  return codes;
}

}  // namespace

Preview preview_of(const Photo& photo, std::size_t longest_px) {
  if (longest_px < 16) throw ArgumentError("a preview is at least 16 pixels long");
  const std::size_t longest = std::max(photo.width, photo.height);
  const std::size_t square = (longest + longest_px - 1) / longest_px;
  const auto codes = code_of_light();
  Preview out{.width = photo.width / square, .height = photo.height / square, .rgba = {}};
  out.rgba.reserve(4 * out.width * out.height);
  const auto full = std::uint64_t{square} * square * 65535;
  for (std::size_t y = 0; y < out.height; ++y) {
    for (std::size_t x = 0; x < out.width; ++x) {
      std::array<std::uint64_t, 3> sum{};
      for (std::size_t v = 0; v < square; ++v) {
        for (std::size_t u = 0; u < square; ++u) {
          const auto light = photo.pixel(x * square + u, y * square + v);
          for (std::size_t c = 0; c < 3; ++c) sum[c] += light[c];
        }
      }
      for (const std::uint64_t light : sum) {
        out.rgba += static_cast<char>(codes[(light * (levels - 1) + full / 2) / full]);
      }
      out.rgba += '\xff';
    }
  }
  return out;
}

std::vector<PointPx> outline_of(const Mask& mask, std::size_t corners) {
  if (corners < 3) throw ArgumentError("an outline has at least 3 corners");
  const cv::Mat1b inside(static_cast<int>(mask.height), static_cast<int>(mask.width),
                         const_cast<std::uint8_t*>(mask.inside.data()));
  std::vector<std::vector<cv::Point>> contours;
  cv::findContours(inside, contours, cv::RETR_EXTERNAL, cv::CHAIN_APPROX_NONE);
  if (contours.empty()) return {};
  const auto& contour = *std::max_element(
      contours.begin(), contours.end(),
      [](const auto& a, const auto& b) { return cv::contourArea(a) < cv::contourArea(b); });
  const double length = cv::arcLength(contour, true);
  std::vector<PointPx> out;
  double walked = 0;
  for (std::size_t i = 0; i < contour.size() && out.size() < corners; ++i) {
    const cv::Point& at = contour[i];
    const cv::Point& next = contour[(i + 1) % contour.size()];
    // Centres of pixels, in coordinates whose origin is the corner of the first.
    if (walked >= length * static_cast<double>(out.size()) / static_cast<double>(corners)) {
      out.push_back(
          {static_cast<double>(mask.x) + at.x + 0.5, static_cast<double>(mask.y) + at.y + 0.5});
    }
    walked += std::hypot(next.x - at.x, next.y - at.y);
  }
  return out;
}

}  // namespace mamelon
