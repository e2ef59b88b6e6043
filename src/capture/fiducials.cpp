#include "capture/fiducials.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <vector>

#include <opencv2/aruco.hpp>
#include <opencv2/calib3d.hpp>
#include <opencv2/imgproc.hpp>

#include "mamelon/error.h"

#include "base/numbers.h"
#include "base/parallel.h"

namespace mamelon::detail {
namespace {

using Quad = std::array<cv::Point2f, 4>;

// The 8-bit square root of a mean of `area` values of light, from their sum.
class Root {
 public:
  explicit Root(std::uint32_t area) : area_(area), of_mean_(65536) {
    // Both are filled from one rule, which grows with the sum.
    for (std::uint32_t k = 1; k < least_.size(); ++k) {
      std::uint32_t low = least_[k - 1];
      std::uint32_t high = 65535 * area + 1;
      while (low < high) {
        const std::uint32_t middle = low + (high - low) / 2;
        if (exact(middle) >= k) {
          high = middle;
        } else {
          low = middle + 1;
        }
      }
      least_[k] = low;
    }
    std::uint32_t k = 0;
    for (std::uint32_t mean = 0; mean < of_mean_.size(); ++mean) {
      while (k < 255 && least_[k + 1] <= mean * area) ++k;
      of_mean_[mean] = static_cast<std::uint8_t>(k);
    }
  }
  // Roots lie more than one mean apart: the whole part of the mean leaves one step open.
  std::uint8_t operator()(std::uint32_t sum) const {
    const std::uint8_t k = of_mean_[sum / area_];
    return static_cast<std::uint8_t>(k + (sum >= least_[k + 1U] ? 1 : 0));
  }

 private:
  [[nodiscard]] std::uint32_t exact(std::uint32_t sum) const {
    const double mean = static_cast<double>(sum) / area_;
    return static_cast<std::uint8_t>(std::sqrt(mean) * (255.0 / 256.0));
  }

  std::uint32_t area_;
  std::array<std::uint32_t, 257> least_{};  // sum from which on the root is k
  std::vector<std::uint8_t> of_mean_;       // root at the least sum of a whole mean
};

// The green channel as 8-bit square roots, `step` × `step` pixels made into one; square roots
// keep the dark fiducials' edges as steep as the bright ones'.
cv::Mat1b grey_view(const Photo& photo, const cv::Rect& part, int step) {
  cv::Mat1b grey(part.height / step, part.width / step);
  // Every second pixel of a large photo is enough for a picture of this size.
  const int skip = step >= 4 ? 2 : 1;
  const auto read = static_cast<std::size_t>((step + skip - 1) / skip);
  const Root root(static_cast<std::uint32_t>(read * read));
  // Where the greens that a row is made of stand, from the start of a row of the photo.
  std::vector<std::size_t> places;
  for (int column = 0; column < grey.cols; ++column) {
    for (int dx = 0; dx < step; dx += skip) {
      places.push_back(3 * static_cast<std::size_t>(part.x + column * step + dx) + 1);
    }
  }
  const auto fill = [&](const auto& green_at) {
    parallel_for(static_cast<std::size_t>(grey.rows), 32, [&](std::size_t begin, std::size_t end) {
      std::vector<std::uint32_t> sums(places.size());
      for (std::size_t row = begin; row < end; ++row) {
        std::fill(sums.begin(), sums.end(), 0);
        for (int dy = 0; dy < step; dy += skip) {
          const auto y = static_cast<std::size_t>(part.y + static_cast<int>(row) * step + dy);
          const std::size_t start = 3 * y * photo.width;
          for (std::size_t i = 0; i < places.size(); ++i) sums[i] += green_at(start + places[i]);
        }
        std::uint8_t* out = grey.ptr(static_cast<int>(row));
        for (std::size_t i = 0; i < sums.size(); i += read) {
          std::uint32_t sum = 0;
          for (std::size_t k = 0; k < read; ++k) sum += sums[i + k];
          *out++ = root(sum);
        }
      }
    });
  };
  if (photo.codes.empty()) {
    fill([light = photo.rgb.data()](std::size_t i) { return light[i]; });
  } else {
    fill([codes = photo.codes.data(), light = photo.light_of_code[1].data()](std::size_t i) {
      return light[codes[i]];
    });
  }
  return grey;
}

struct Found {
  int id = 0;
  Quad corners;
};

std::vector<Found> detect(const cv::Mat1b& grey, const Card& card) {
  const auto dictionary = cv::aruco::getPredefinedDictionary(cv::aruco::DICT_4X4_50);
  const auto parameters = cv::aruco::DetectorParameters::create();
  parameters->minMarkerPerimeterRate = 0.02;
  std::vector<std::vector<cv::Point2f>> corners;
  std::vector<int> ids;
  cv::aruco::detectMarkers(grey, dictionary, corners, ids, parameters);
  std::vector<Found> found;
  for (std::size_t i = 0; i < ids.size(); ++i) {
    for (const Fiducial& fiducial : card.fiducials) {
      if (fiducial.id != ids[i]) continue;
      found.push_back({ids[i], {corners[i][0], corners[i][1], corners[i][2], corners[i][3]}});
    }
  }
  return found;
}

std::size_t distinct_ids(const std::vector<Found>& found, const Card& card) {
  return static_cast<std::size_t>(
      std::count_if(card.fiducials.begin(), card.fiducials.end(), [&](const Fiducial& f) {
        return std::any_of(found.begin(), found.end(),
                           [&](const Found& q) { return q.id == f.id; });
      }));
}

// Corners at full resolution, by the gradients around each.
void refine(const Photo& photo, Found& found) {
  const double side = std::sqrt(std::abs(cv::contourArea(found.corners)));
  // Less than one of the fiducial's six cells, so that no other edge comes into the window.
  const int half = std::clamp(static_cast<int>(side / 6 * 0.45), 2, 12);
  const int pad = 2 * half + 4;
  cv::Rect part =
      cv::boundingRect(std::vector<cv::Point2f>(found.corners.begin(), found.corners.end()));
  part = cv::Rect(part.x - pad, part.y - pad, part.width + 2 * pad, part.height + 2 * pad) &
         cv::Rect(0, 0, static_cast<int>(photo.width), static_cast<int>(photo.height));
  if (part.width < 2 * pad || part.height < 2 * pad) return;
  const cv::Mat1b grey = grey_view(photo, part, 1);
  const cv::Point2f origin(static_cast<float>(part.x), static_cast<float>(part.y));
  std::vector<cv::Point2f> points;
  for (const auto& corner : found.corners) points.push_back(corner - origin);
  cv::cornerSubPix(grey, points, {half, half}, {-1, -1},
                   {cv::TermCriteria::COUNT + cv::TermCriteria::EPS, 40, 0.005});
  for (std::size_t i = 0; i < 4; ++i) found.corners[i] = points[i] + origin;
}

struct Fit {
  Homography mm_to_px{};
  double rms_px = 0;
  double mean_side_px = 0;
};

// From the corners of all four fiducials, or of three where one (null) is hidden.
Fit fit_homography(const Card& card, const std::array<const Found*, 4>& quads) {
  std::vector<cv::Point2d> mm;
  std::vector<cv::Point2d> px;
  double area = 0;
  for (std::size_t i = 0; i < 4; ++i) {
    if (quads[i] == nullptr) continue;
    const Fiducial& f = card.fiducials[i];
    const double right = f.x_mm + f.size_mm;
    const double low = f.y_mm + f.size_mm;
    for (const auto& p : {cv::Point2d(f.x_mm, f.y_mm), cv::Point2d(right, f.y_mm),
                          cv::Point2d(right, low), cv::Point2d(f.x_mm, low)}) {
      mm.push_back(p);
    }
    for (const auto& corner : quads[i]->corners) px.emplace_back(corner.x, corner.y);
    area += std::abs(cv::contourArea(quads[i]->corners));
  }
  const cv::Mat h = cv::findHomography(mm, px, 0);
  if (h.empty()) throw CaptureError("the card's fiducials lie on one line; photograph it facing");
  Fit fit;
  std::copy_n(h.ptr<double>(), 9, fit.mm_to_px.begin());
  double sum = 0;
  for (std::size_t i = 0; i < mm.size(); ++i) {
    const PointPx at = apply(fit.mm_to_px, {mm[i].x, mm[i].y});
    sum += std::pow(at.x - px[i].x, 2) + std::pow(at.y - px[i].y, 2);
  }
  fit.rms_px = std::sqrt(sum / static_cast<double>(mm.size()));
  fit.mean_side_px = std::sqrt(4 * area / static_cast<double>(mm.size()));
  return fit;
}

// Every way to pick one detection for each fiducial that agrees with the card's layout.
std::vector<Fit> consistent_fits(const Card& card, const std::vector<Found>& found) {
  std::array<std::vector<const Found*>, 4> candidates;
  for (std::size_t i = 0; i < 4; ++i) {
    for (const Found& f : found) {
      if (f.id == card.fiducials[i].id && candidates[i].size() < 4) candidates[i].push_back(&f);
    }
    if (candidates[i].empty()) candidates[i].push_back(nullptr);
  }
  std::vector<Fit> fits;
  for (const Found* a : candidates[0]) {
    for (const Found* b : candidates[1]) {
      for (const Found* c : candidates[2]) {
        for (const Found* d : candidates[3]) {
          const Fit fit = fit_homography(card, {a, b, c, d});
          if (fit.rms_px < std::max(1.5, 0.04 * fit.mean_side_px)) fits.push_back(fit);
        }
      }
    }
  }
  return fits;
}

bool is_mirrored(const cv::Mat1b& grey, const Card& card) {
  cv::Mat1b flipped;
  cv::flip(grey, flipped, 1);
  return distinct_ids(detect(flipped, card), card) >= 2;
}

// The rim of the card may be cut off; a patch may not.
void check_within(const Photo& photo, const Card& card, const Homography& h) {
  for (const Patch& patch : card.patches) {
    for (const double u : {0.0, 1.0}) {
      for (const double v : {0.0, 1.0}) {
        const PointPx p =
            apply(h, {patch.x_mm + u * patch.width_mm, patch.y_mm + v * patch.height_mm});
        if (!(p.x >= 0 && p.y >= 0 && p.x <= static_cast<double>(photo.width) - 1 &&
              p.y <= static_cast<double>(photo.height) - 1)) {
          throw CaptureError("the card is cut off by the photo's edge at patch '" + patch.name +
                             "'; show the whole card");
        }
      }
    }
  }
}

std::string missing_ids(const std::vector<Found>& found, const Card& card) {
  std::string text;
  for (const Fiducial& f : card.fiducials) {
    const bool there =
        std::any_of(found.begin(), found.end(), [&](const Found& q) { return q.id == f.id; });
    if (!there) text += (text.empty() ? "" : ", ") + std::to_string(f.id);
  }
  return text;
}

// Width over which the rim of a fiducial turns from white to black: the rise over the steepest
// slope along the normal at the middle of each side, the median of the four.
double edge_width_px(const Photo& photo, const Found& found) {
  const Quad& q = found.corners;
  const cv::Point2f centre = (q[0] + q[1] + q[2] + q[3]) / 4.0F;
  std::vector<double> widths;
  for (std::size_t side = 0; side < 4; ++side) {
    const cv::Point2f middle = (q[side] + q[(side + 1) % 4]) / 2.0F;
    // One cell of the black rim inwards, as far outwards.
    const cv::Point2f reach = (centre - middle) / 3.0F;
    const double length = cv::norm(reach);
    const int steps = std::max(8, static_cast<int>(4 * length));
    std::vector<double> profile;
    for (int i = 0; i <= steps; ++i) {
      const cv::Point2f p =
          middle + reach * (2.0F * static_cast<float>(i) / static_cast<float>(steps) - 1.0F);
      const auto x = static_cast<int>(p.x);
      const auto y = static_cast<int>(p.y);
      if (x < 0 || y < 0 || x + 1 >= static_cast<int>(photo.width) ||
          y + 1 >= static_cast<int>(photo.height)) {
        continue;
      }
      const double u = p.x - static_cast<float>(x);
      const double v = p.y - static_cast<float>(y);
      const auto green = [&](int dx, int dy) {
        return static_cast<double>(
            photo.pixel(static_cast<std::size_t>(x + dx), static_cast<std::size_t>(y + dy))[1]);
      };
      profile.push_back((1 - v) * ((1 - u) * green(0, 0) + u * green(1, 0)) +
                        v * ((1 - u) * green(0, 1) + u * green(1, 1)));
    }
    if (profile.size() < 8) continue;
    const double px_a_step = 2 * length / steps;
    // Slopes over a pixel: noise between neighbouring steps is no edge.
    const auto lag = std::max<std::size_t>(1, static_cast<std::size_t>(std::lround(1 / px_a_step)));
    double steepest = 0;
    for (std::size_t i = 0; i + lag < profile.size(); ++i) {
      steepest = std::max(steepest, std::abs(profile[i + lag] - profile[i]) /
                                        (static_cast<double>(lag) * px_a_step));
    }
    const auto [low, high] = std::minmax_element(profile.begin(), profile.end());
    if (steepest > 0) widths.push_back((*high - *low) / steepest);
  }
  if (widths.empty()) return 0;
  std::sort(widths.begin(), widths.end());
  return widths[widths.size() / 2];
}

// Width of the photo's sharpest edges in pixels of the view: the rise within a window over the
// steepest slope in it, along the rows and along the columns; the larger, as a photo may be moved
// one way only.
double sharpest_edges_px(const cv::Mat1b& coarse) {
  cv::Mat1f grey;
  coarse.convertTo(grey, CV_32F);
  cv::GaussianBlur(grey, grey, {0, 0}, 0.7);
  double widest = 0;
  for (const bool along_rows : {true, false}) {
    constexpr int window = 15;
    const cv::Mat line =
        along_rows ? cv::Mat::ones(1, window, CV_8U) : cv::Mat::ones(window, 1, CV_8U);
    cv::Mat1f high;
    cv::Mat1f low;
    cv::Mat1f slope;
    cv::dilate(grey, high, line);
    cv::erode(grey, low, line);
    cv::Sobel(grey, slope, CV_32F, along_rows ? 1 : 0, along_rows ? 0 : 1, 3, 1.0 / 8);
    slope = cv::abs(slope);
    cv::dilate(slope, slope, line);
    const cv::Mat1f rise(high - low);
    std::vector<float> rises(rise.begin(), rise.end());
    const auto top =
        rises.begin() + static_cast<std::ptrdiff_t>(0.97 * static_cast<double>(rises.size()));
    std::nth_element(rises.begin(), top, rises.end());
    std::vector<float> widths;
    for (int y = 0; y < rise.rows; ++y) {
      for (int x = 0; x < rise.cols; ++x) {
        if (rise(y, x) >= *top && slope(y, x) > 0) widths.push_back(rise(y, x) / slope(y, x));
      }
    }
    if (widths.empty()) continue;
    const auto middle = widths.begin() + static_cast<std::ptrdiff_t>(widths.size() / 2);
    std::nth_element(widths.begin(), middle, widths.end());
    widest = std::max(widest, static_cast<double>(*middle));
  }
  return widest;
}

// What a photo that is far too bright or too dark adds to a refusal.
std::string exposure_hint(const Photo& photo) {
  constexpr std::size_t grid = 400;
  std::size_t clipped = 0;
  std::size_t lit = 0;
  for (std::size_t i = 0; i < grid * grid; ++i) {
    const auto p = photo.pixel(photo.width * (i % grid) / grid, photo.height * (i / grid) / grid);
    clipped += photo.is_clipped(p);
    lit += std::max({p[0], p[1], p[2]}) > 65535 / 25;
  }
  constexpr double all = grid * grid;
  if (static_cast<double>(clipped) > 0.1 * all) {
    return "; the photo is over-exposed: " +
           format_fixed(100 * static_cast<double>(clipped) / all, 0) + " % of it is burnt out";
  }
  if (static_cast<double>(lit) < 0.02 * all) return "; the photo is under-exposed";
  return {};
}

}  // namespace

CardPose find_card(const Photo& photo, const Card& card) {
  const cv::Rect whole(0, 0, static_cast<int>(photo.width), static_cast<int>(photo.height));
  const int longest = std::max(whole.width, whole.height);
  std::vector<Found> found;
  cv::Mat1b coarse;
  // Coarse first: fast, and noise is averaged away; finer when the card is small in the photo.
  for (const int side : {1600, 3200}) {
    const int step = std::max(1, (longest + side - 1) / side);
    const cv::Mat1b grey = grey_view(photo, whole, step);
    if (coarse.empty()) coarse = grey;
    std::vector<Found> now = detect(grey, card);
    for (Found& f : now) {
      for (auto& corner : f.corners) {
        const float half = static_cast<float>(step - 1) / 2;
        corner = corner * static_cast<float>(step) + cv::Point2f(half, half);
      }
    }
    if (distinct_ids(now, card) >= distinct_ids(found, card)) found = std::move(now);
    if (distinct_ids(found, card) == 4 || step == 1) break;
  }
  if (distinct_ids(found, card) < 2 && is_mirrored(coarse, card)) {
    throw CaptureError(
        "the card is mirrored: its fiducials read only in a mirror. A photo taken in a mirror is "
        "flipped when it is said to be mirrored, and has to show the card in the mirror too");
  }
  constexpr double blurred_px = 5;
  if (distinct_ids(found, card) < 3 && sharpest_edges_px(coarse) > blurred_px) {
    throw CaptureError("the photo is blurred: the fiducials of '" + card.name +
                       "' cannot be read; focus on the card and the teeth, and hold the camera "
                       "still" +
                       exposure_hint(photo));
  }
  if (found.empty()) {
    throw CaptureError("no card found: none of the fiducials of '" + card.name +
                       "' is visible; show the whole card, sharp and unshaded" +
                       exposure_hint(photo));
  }
  if (distinct_ids(found, card) < 3) {
    throw CaptureError("the card is cut off or partly hidden: fiducials " +
                       missing_ids(found, card) + " of '" + card.name + "' are not visible" +
                       exposure_hint(photo));
  }
  for (Found& f : found) refine(photo, f);
  const std::vector<Fit> fits = consistent_fits(card, found);
  if (fits.empty()) {
    throw CaptureError("the fiducials do not lie where the definition of '" + card.name +
                       "' has them: wrong card definition, or a bent card");
  }
  if (fits.size() > 1) {
    throw CaptureError("more than one card '" + card.name + "' is in the photo; show only one");
  }
  check_within(photo, card, fits.front().mm_to_px);
  std::vector<double> widths;
  for (const Found& f : found) widths.push_back(edge_width_px(photo, f));
  std::sort(widths.begin(), widths.end());
  return {.mm_to_px = fits.front().mm_to_px,
          .reprojection_rms_px = fits.front().rms_px,
          .edge_blur_px = widths[widths.size() / 2],
          .hidden = missing_ids(found, card)};
}

CardPose pose_from_corners(const Photo& photo, const Card& card,
                           const std::array<PointPx, 4>& corners_px) {
  std::vector<cv::Point2d> px;
  for (const PointPx& p : corners_px) {
    if (!(p.x >= 0 && p.y >= 0 && p.x < static_cast<double>(photo.width) &&
          p.y < static_cast<double>(photo.height))) {
      throw ArgumentError("a given card corner lies outside the photo");
    }
    px.emplace_back(p.x, p.y);
  }
  for (std::size_t i = 0; i < 4; ++i) {
    const cv::Point2d along = px[(i + 1) % 4] - px[i];
    const cv::Point2d next = px[(i + 2) % 4] - px[(i + 1) % 4];
    if (!(along.cross(next) > 0)) {
      throw ArgumentError(
          "the card corners must be given clockwise from the card's upper left and form a convex "
          "quadrilateral");
    }
  }
  const std::vector<cv::Point2d> mm = {
      {0, 0}, {card.width_mm, 0}, {card.width_mm, card.height_mm}, {0, card.height_mm}};
  const cv::Mat h = cv::findHomography(mm, px, 0);
  CardPose pose;
  std::copy_n(h.ptr<double>(), 9, pose.mm_to_px.begin());
  return pose;
}

}  // namespace mamelon::detail
