#include "capture/outline.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include <opencv2/imgproc.hpp>

#include "mamelon/error.h"

#include "base/numbers.h"
#include "capture/flood.h"
#include "capture/rim_path.h"

namespace mamelon::detail {
namespace {

// Resolution that outlines are found at; finer detail is texture.
constexpr double view_px_per_mm = 14;
// Half the side of the square looked at: a large tooth with its surroundings.
constexpr double reach_mm = 14;
// What is seen around a tooth whose place is drawn.
constexpr double border_mm = 2;

// What is plainly no tooth: dark, red, or far from white. Wider than the envelope below, since a
// camera's white balance may be off: the outline's confidence judges the rest.
bool may_be_tooth(const cv::Vec3f& lab) {
  return lab[0] > 25 && lab[1] > -12 && lab[1] < 18 && lab[2] > -10 && lab[2] < 48 &&
         lab[1] < 0.8F * lab[2] + 7;
}

// CIELAB envelope of natural teeth and tooth-coloured restorations in shade and light, wide: it
// only has to exclude gingiva, lips, dark and white.
bool is_tooth_colour(const cv::Vec3f& lab) {
  const float chroma = std::hypot(lab[1], lab[2]);
  return lab[0] > 38 && lab[0] < 94 && lab[1] > -8 && lab[1] < 13 && lab[2] > 1 && lab[2] < 42 &&
         lab[2] > 0.9F * lab[1] && (chroma > 4 || lab[0] < 84);
}

// Redder than the tooth, and not the dark of the mouth behind the teeth.
bool is_gingiva_colour(const cv::Vec3f& lab, float tooth_l, float tooth_a) {
  return lab[1] > tooth_a + 6 && lab[1] > 0.55F * lab[2] && lab[0] > 0.4F * tooth_l;
}

int pixels(double mm, const LabView& view) {
  return std::max(1, static_cast<int>(std::lround(mm * view.px_per_mm)));
}

cv::Mat disc(int radius) {
  return cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * radius + 1, 2 * radius + 1});
}

cv::Mat1b card_mask(const LabView& view, const CardFit& fit) {
  cv::Mat1b mask(cv::Mat1b::zeros(view.lab.size()));
  for (const WhiteArea& part : fit.card_parts) {
    std::vector<cv::Point> corners;
    for (const auto& [u, v] :
         {std::pair{0, 0}, std::pair{1, 0}, std::pair{1, 1}, std::pair{0, 1}}) {
      corners.emplace_back(view.to_view(
          to_px(fit, {part.x_mm + u * part.width_mm, part.y_mm + v * part.height_mm})));
    }
    cv::fillConvexPoly(mask, corners, 1);
  }
  return mask;
}

float median_of(std::vector<float>& values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

// Median colour around a place, clipped pixels left out; nothing where there are no others.
std::optional<cv::Vec3f> colour_around(const LabView& view, cv::Point2f at, double radius_mm) {
  const int radius = pixels(radius_mm, view);
  std::array<std::vector<float>, 3> values;
  for (int y = std::max(0, static_cast<int>(at.y) - radius);
       y <= std::min(view.lab.rows - 1, static_cast<int>(at.y) + radius); ++y) {
    for (int x = std::max(0, static_cast<int>(at.x) - radius);
         x <= std::min(view.lab.cols - 1, static_cast<int>(at.x) + radius); ++x) {
      if (view.clipped(y, x) != 0) continue;
      for (int c = 0; c < 3; ++c) values[static_cast<std::size_t>(c)].push_back(view.lab(y, x)[c]);
    }
  }
  if (values[0].empty()) return std::nullopt;
  return cv::Vec3f(median_of(values[0]), median_of(values[1]), median_of(values[2]));
}

// Component of `cores` at the seed, or the nearest one within 2 mm; 0 when there is none.
int component_at(const cv::Mat1i& cores, cv::Point2f seed, const LabView& view) {
  const int reach = pixels(2.0, view);
  int best = 0;
  double best_distance = 1e9;
  for (int y = std::max(0, static_cast<int>(seed.y) - reach);
       y <= std::min(cores.rows - 1, static_cast<int>(seed.y) + reach); ++y) {
    for (int x = std::max(0, static_cast<int>(seed.x) - reach);
         x <= std::min(cores.cols - 1, static_cast<int>(seed.x) + reach); ++x) {
      const double distance =
          std::hypot(static_cast<float>(x) - seed.x, static_cast<float>(y) - seed.y);
      if (cores(y, x) > 0 && distance < best_distance) {
        best = cores(y, x);
        best_distance = distance;
      }
    }
  }
  return best;
}

cv::Mat1b to_landscape(const cv::Mat1f& height, double full) {
  cv::Mat1b out;
  height.convertTo(out, CV_8U, 255.0 / full);
  return out;
}

// High where the tooth ends: where the colour turns red, where lightness falls off, and along dark
// seams.
cv::Mat1b edge_landscape(const cv::Mat3f& lab, const cv::Mat1f& seam_depth) {
  std::array<cv::Mat1f, 3> channels;
  cv::split(lab, channels.data());
  // a*/(L*+16): free of shading, so that its steps lie where the tissue changes.
  cv::Mat1f redness(channels[1] / (channels[0] + 16.0F));
  const auto gradient = [](const cv::Mat1f& image) {
    cv::Mat1f dx;
    cv::Mat1f dy;
    cv::Mat1f size;
    cv::Sobel(image, dx, CV_32F, 1, 0, 3, 1.0 / 8);
    cv::Sobel(image, dy, CV_32F, 0, 1, 3, 1.0 / 8);
    cv::magnitude(dx, dy, size);
    return size;
  };
  cv::Mat1f height(400.0F * gradient(redness) + 0.8F * gradient(channels[0]) + 2.0F * seam_depth);
  return to_landscape(height, 60);
}

// Depth in L* of lines darker than both sides, up to about 0.7 mm wide.
cv::Mat1f seams_of(const LabView& view, const cv::Mat3f& lab) {
  cv::Mat1f lightness;
  cv::extractChannel(lab, lightness, 0);
  cv::Mat1f closed;
  cv::morphologyEx(lightness, closed, cv::MORPH_CLOSE, disc(pixels(0.4, view)));
  return cv::Mat1f(closed - lightness);
}

struct Labels {
  static constexpr int tooth = 1;
  static constexpr int other = 2;
};

// Where the tissue beside the tooth is redder than the tooth. Only within the border that every
// view has around a tooth, so that it does not depend on how the tooth was pointed at.
void mark_gingiva(Outline& outline) {
  const LabView& view = outline.view;
  outline.gingiva = cv::Mat1b::zeros(view.lab.size());
  std::vector<float> lightness;
  std::vector<float> redness;
  for (int y = 0; y < view.lab.rows; ++y) {
    for (int x = 0; x < view.lab.cols; ++x) {
      if (outline.tooth(y, x) == 0) continue;
      lightness.push_back(view.lab(y, x)[0]);
      redness.push_back(view.lab(y, x)[1]);
    }
  }
  if (redness.empty()) return;
  const float tooth_l = median_of(lightness);
  const float tooth_a = median_of(redness);
  cv::Mat1f away;
  cv::distanceTransform((outline.tooth == 0) & 1, away, cv::DIST_L2, cv::DIST_MASK_PRECISE);
  const double reach = border_mm * view.px_per_mm;
  for (int y = 0; y < view.lab.rows; ++y) {
    for (int x = 0; x < view.lab.cols; ++x) {
      outline.gingiva(y, x) = outline.tooth(y, x) == 0 && away(y, x) < reach &&
                              is_gingiva_colour(view.lab(y, x), tooth_l, tooth_a);
    }
  }
}

// Moves the rim onto a strong edge within a band beside it. Where there is none it stays: a ridge
// of its own along the rim stands above weak edges, and touching teeth stay parted as they were.
cv::Mat1b on_edges(const LabView& view, const cv::Mat1b& tooth, const cv::Mat1b& forbidden) {
  constexpr double band_mm = 0.35;
  cv::Mat3f lab;
  cv::medianBlur(view.lab, lab, 3);
  cv::Mat1b inner;
  cv::Mat1b outer;
  const cv::Mat band = disc(pixels(band_mm, view));
  cv::erode(tooth, inner, band, {-1, -1}, 1, cv::BORDER_CONSTANT, 0);
  cv::dilate(tooth, outer, band);
  cv::Mat1i labels(cv::Mat1i::zeros(lab.size()));
  labels.setTo(Labels::other, outer == 0);
  labels.setTo(Labels::other, forbidden);
  labels.setTo(Labels::tooth, inner);
  constexpr double ridge_height = 70;  // of 255: a seam about 8 units of L* deep
  cv::Mat1b border;
  cv::morphologyEx(tooth, border, cv::MORPH_GRADIENT, cv::Mat());
  const cv::Mat1b landscape = edge_landscape(lab, seams_of(view, lab));
  const cv::Mat1b ridge(border * ridge_height);
  flood(cv::Mat1b(cv::max(landscape, ridge)), labels);
  return cv::Mat1b((labels == Labels::tooth) & 1);
}

Outline outline_in(LabView view, const CardFit& fit, cv::Point2f seed, RimLimits limits) {
  const cv::Mat1b forbidden((card_mask(view, fit) | (limits.allowed == 0)) & 1);
  limits.allowed = (forbidden == 0) & 1;
  Rim rim = find_rim(view, seed, limits);
  cv::Mat1b tooth = on_edges(view, rim.tooth, forbidden);
  cv::morphologyEx(tooth, tooth, cv::MORPH_OPEN, disc(pixels(0.35, view)));
  cv::Mat1i components;
  cv::connectedComponents(tooth, components, 4);
  const int own = component_at(components, seed, view);
  if (own == 0) {
    throw CaptureError("no tooth-like region at the place given; point at the middle of a tooth");
  }
  Outline outline;
  outline.tooth = (components == own) & 1;
  outline.agreement = rim.agreement;
  outline.view = std::move(view);
  mark_gingiva(outline);
  const cv::Rect box = cv::boundingRect(outline.tooth);
  outline.touches_border = box.x == 0 || box.y == 0 || box.x + box.width == outline.tooth.cols ||
                           box.y + box.height == outline.tooth.rows;
  return outline;
}

cv::Rect square_around(PointPx at, double half_px) {
  return {static_cast<int>(at.x - half_px), static_cast<int>(at.y - half_px),
          static_cast<int>(2 * half_px), static_cast<int>(2 * half_px)};
}

void check_size(const Outline& outline) {
  const double area =
      cv::countNonZero(outline.tooth) / (outline.view.px_per_mm * outline.view.px_per_mm);
  if (area < 2) {
    throw CaptureError("no tooth-like region at the place given: only " + format_fixed(area, 1) +
                       " mm² of it; point at the middle of a tooth");
  }
}

}  // namespace

namespace {

struct Around {
  PointPx middle;
  double half_px = 0;
};

Around around(const CardFit& fit, const ToothHint& hint) {
  if (hint.box) {
    const BoxPx& box = *hint.box;
    const PointPx middle = {box.x + box.width / 2, box.y + box.height / 2};
    return {middle, std::max({box.width, box.height}) / 2 + border_mm * px_per_mm_at(fit, middle)};
  }
  if (!hint.rim.empty()) {
    PointPx low = hint.rim.front();
    PointPx high = low;
    for (const PointPx& p : hint.rim) {
      low = {std::min(low.x, p.x), std::min(low.y, p.y)};
      high = {std::max(high.x, p.x), std::max(high.y, p.y)};
    }
    const PointPx middle = {(low.x + high.x) / 2, (low.y + high.y) / 2};
    return {middle,
            std::max(high.x - low.x, high.y - low.y) / 2 + border_mm * px_per_mm_at(fit, middle)};
  }
  return {*hint.point, reach_mm * px_per_mm_at(fit, *hint.point)};
}

}  // namespace

Outline outline_from_hint(const Photo& photo, const CardFit& fit, const ToothHint& hint) {
  const Around place = around(fit, hint);
  LabView view = make_view(photo, fit, square_around(place.middle, place.half_px), view_px_per_mm);
  RimLimits limits;
  limits.allowed = cv::Mat1b::ones(view.lab.size());
  if (hint.box) {
    const BoxPx& box = *hint.box;
    limits.allowed.setTo(0);
    cv::rectangle(limits.allowed, cv::Point(view.to_view({box.x, box.y})),
                  cv::Point(view.to_view({box.x + box.width, box.y + box.height})), 1, cv::FILLED);
  }
  if (!hint.rim.empty()) {
    std::vector<cv::Point> corners;
    for (const PointPx& p : hint.rim) corners.emplace_back(view.to_view(p));
    limits.drawn = cv::Mat1b::zeros(view.lab.size());
    cv::fillPoly(limits.drawn, std::vector<std::vector<cv::Point>>{corners}, 1);
  }
  for (const PointPx& p : hint.inside) limits.inside.push_back(view.to_view(p));
  for (const PointPx& p : hint.outside) limits.outside.push_back(view.to_view(p));
  const cv::Point2f seed = view.to_view(place.middle);
  const auto colour = colour_around(view, seed, 0.7);
  if (!colour || !may_be_tooth(*colour)) {
    throw CaptureError("no tooth-like colour at the place given; point at the middle of a tooth");
  }
  Outline outline = outline_in(std::move(view), fit, seed, std::move(limits));
  check_size(outline);
  return outline;
}

Outline outline_from_mask(const Photo& photo, const CardFit& fit, const Mask& mask) {
  const PointPx middle = {static_cast<double>(mask.x) + static_cast<double>(mask.width) / 2,
                          static_cast<double>(mask.y) + static_cast<double>(mask.height) / 2};
  const double half = static_cast<double>(std::max(mask.width, mask.height)) / 2 +
                      border_mm * px_per_mm_at(fit, middle);
  Outline outline;
  outline.view = make_view(photo, fit, square_around(middle, half), view_px_per_mm);
  const LabView& view = outline.view;
  outline.tooth = cv::Mat1b::zeros(view.lab.size());
  for (int y = 0; y < view.lab.rows; ++y) {
    for (int x = 0; x < view.lab.cols; ++x) {
      const PointPx p = view.to_photo(cv::Point2f(static_cast<float>(x), static_cast<float>(y)));
      const double column = std::round(p.x) - static_cast<double>(mask.x);
      const double row = std::round(p.y) - static_cast<double>(mask.y);
      if (column < 0 || row < 0 || column >= static_cast<double>(mask.width) ||
          row >= static_cast<double>(mask.height)) {
        continue;
      }
      const auto at = static_cast<std::size_t>(row) * mask.width + static_cast<std::size_t>(column);
      if (mask.inside[at] == 0) continue;
      outline.tooth(y, x) = 1;
    }
  }
  if (cv::countNonZero(outline.tooth) == 0) throw ArgumentError("the tooth mask is empty");
  mark_gingiva(outline);
  return outline;
}

PointPx find_a_tooth(const Photo& photo, const CardFit& fit) {
  const LabView view = make_view(
      photo, fit, {0, 0, static_cast<int>(photo.width), static_cast<int>(photo.height)}, 4);
  const cv::Mat1b card = card_mask(view, fit);
  cv::Mat1b coloured(view.lab.size());
  for (int y = 0; y < coloured.rows; ++y) {
    for (int x = 0; x < coloured.cols; ++x) {
      coloured(y, x) = card(y, x) == 0 && is_tooth_colour(view.lab(y, x));
    }
  }
  cv::Mat1b cores;
  cv::erode(coloured, cores, disc(pixels(1.0, view)));
  cv::Mat1i components;
  cv::Mat1i stats;
  cv::Mat1d centres;
  const int count = cv::connectedComponentsWithStats(cores, components, stats, centres, 4);
  const double diagonal = std::hypot(cores.cols, cores.rows);
  int best = 0;
  double best_score = 3 * view.px_per_mm * view.px_per_mm;  // at least 3 mm² of core
  for (int i = 1; i < count; ++i) {
    const double away =
        std::hypot(centres(i, 0) - cores.cols / 2.0, centres(i, 1) - cores.rows / 2.0);
    const double score = stats(i, cv::CC_STAT_AREA) / (1 + std::pow(away / (0.25 * diagonal), 2));
    if (score > best_score) {
      best = i;
      best_score = score;
    }
  }
  if (best == 0) {
    throw CaptureError("no tooth-like region in the photo; say where the tooth is");
  }
  cv::Mat1f depth;
  cv::distanceTransform((components == best) & 1, depth, cv::DIST_L2, cv::DIST_MASK_3);
  cv::Point deepest;
  cv::minMaxLoc(depth, nullptr, nullptr, nullptr, &deepest);
  return view.to_photo(cv::Point2f(deepest));
}

std::vector<PointPx> likely_teeth(const Photo& photo, const CardFit& fit) {
  const LabView view = make_view(
      photo, fit, {0, 0, static_cast<int>(photo.width), static_cast<int>(photo.height)}, 7);
  const cv::Mat1b card = card_mask(view, fit);
  const cv::Mat1f seam_depth = seams_of(view, view.lab);
  cv::Mat1b coloured(view.lab.size());
  for (int y = 0; y < coloured.rows; ++y) {
    for (int x = 0; x < coloured.cols; ++x) {
      coloured(y, x) = card(y, x) == 0 && seam_depth(y, x) < 4 && is_tooth_colour(view.lab(y, x));
    }
  }
  cv::Mat1f depth;
  cv::distanceTransform(coloured, depth, cv::DIST_L2, cv::DIST_MASK_5);
  cv::GaussianBlur(depth, depth, {0, 0}, 0.3 * view.px_per_mm);
  cv::Mat1f highest;
  cv::dilate(depth, highest, disc(pixels(1.5, view)));
  std::vector<PointPx> places;
  for (int y = 0; y < depth.rows; ++y) {
    for (int x = 0; x < depth.cols; ++x) {
      if (depth(y, x) < 0.7 * view.px_per_mm || depth(y, x) < highest(y, x)) continue;
      places.push_back(view.to_photo(cv::Point2f(static_cast<float>(x), static_cast<float>(y))));
    }
  }
  return places;
}

}  // namespace mamelon::detail
