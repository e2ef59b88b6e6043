#include "capture/outline.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include <opencv2/imgproc.hpp>

#include "mamelon/error.h"

#include "base/numbers.h"
#include "capture/flood.h"

namespace mamelon::detail {
namespace {

// Resolution that outlines are found at; finer detail is texture.
constexpr double view_px_per_mm = 14;
// Half the side of the square looked at: a large tooth with its surroundings.
constexpr double reach_mm = 14;

// CIELAB envelope of natural teeth and tooth-coloured restorations in shade and light, wide: it
// only has to exclude gingiva, lips, dark and white.
bool is_tooth_colour(const cv::Vec3f& lab) {
  const float chroma = std::hypot(lab[1], lab[2]);
  return lab[0] > 38 && lab[0] < 94 && lab[1] > -8 && lab[1] < 13 && lab[2] > 1 && lab[2] < 42 &&
         lab[2] > 0.9F * lab[1] && (chroma > 4 || lab[0] < 84);
}

bool is_gingiva_colour(const cv::Vec3f& lab, const cv::Vec3f& tooth) {
  return lab[1] > tooth[1] + 6 && lab[1] > 0.55F * lab[2] && lab[0] > 12;
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

// Median colour of the tooth-coloured pixels around a place; nothing where they are few.
std::optional<cv::Vec3f> colour_around(const LabView& view, cv::Point2f at, double radius_mm) {
  const int radius = pixels(radius_mm, view);
  std::array<std::vector<float>, 3> values;
  int all = 0;
  for (int y = std::max(0, static_cast<int>(at.y) - radius);
       y <= std::min(view.lab.rows - 1, static_cast<int>(at.y) + radius); ++y) {
    for (int x = std::max(0, static_cast<int>(at.x) - radius);
         x <= std::min(view.lab.cols - 1, static_cast<int>(at.x) + radius); ++x) {
      ++all;
      const cv::Vec3f& lab = view.lab(y, x);
      if (view.clipped(y, x) != 0 || !is_tooth_colour(lab)) continue;
      for (std::size_t c = 0; c < 3; ++c) values[c].push_back(lab[static_cast<int>(c)]);
    }
  }
  if (values[0].empty() || 3 * values[0].size() < static_cast<std::size_t>(all)) {
    return std::nullopt;
  }
  return cv::Vec3f(median_of(values[0]), median_of(values[1]), median_of(values[2]));
}

// The tooth's pixels by colour alone, glare filled in, dark seams left out.
cv::Mat1b tooth_coloured(const LabView& view, const cv::Vec3f& seed, const cv::Mat1b& seams,
                         const cv::Mat1b& forbidden) {
  cv::Mat1b mask(view.lab.size());
  for (int y = 0; y < mask.rows; ++y) {
    for (int x = 0; x < mask.cols; ++x) {
      const cv::Vec3f& lab = view.lab(y, x);
      const bool near = std::abs(lab[0] - seed[0]) < 22 && std::abs(lab[1] - seed[1]) < 7.5F &&
                        std::abs(lab[2] - seed[2]) < 13;
      mask(y, x) = near && is_tooth_colour(lab) && seams(y, x) == 0 && forbidden(y, x) == 0;
    }
  }
  // Glare is a hole of another colour, closed all around.
  cv::Mat1b outside(1 - mask);
  cv::Mat1i components;
  cv::Mat1i stats;
  cv::Mat1d centres;
  const int count = cv::connectedComponentsWithStats(outside, components, stats, centres, 4);
  const double largest_hole = 8 * view.px_per_mm * view.px_per_mm;
  std::vector<std::uint8_t> fill(static_cast<std::size_t>(count), 0);
  for (int i = 1; i < count; ++i) {
    const int x0 = stats(i, cv::CC_STAT_LEFT);
    const int y0 = stats(i, cv::CC_STAT_TOP);
    const bool inside = x0 > 0 && y0 > 0 && x0 + stats(i, cv::CC_STAT_WIDTH) < mask.cols &&
                        y0 + stats(i, cv::CC_STAT_HEIGHT) < mask.rows;
    fill[static_cast<std::size_t>(i)] = inside && stats(i, cv::CC_STAT_AREA) < largest_hole;
  }
  for (int y = 0; y < mask.rows; ++y) {
    for (int x = 0; x < mask.cols; ++x) {
      if (fill[static_cast<std::size_t>(components(y, x))] != 0 && forbidden(y, x) == 0) {
        mask(y, x) = 1;
      }
    }
  }
  return mask;
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

// Cores: what stays of the tooth-coloured pixels when they are eroded just far enough that the
// seed's core is no wider than a tooth.
cv::Mat1i separate_cores(const LabView& view, const cv::Mat1b& coloured, cv::Point2f seed,
                         int& own_core) {
  cv::Mat1f depth;
  cv::Mat1b padded;
  cv::copyMakeBorder(coloured, padded, 1, 1, 1, 1, cv::BORDER_CONSTANT, 0);
  cv::distanceTransform(padded, depth, cv::DIST_L2, cv::DIST_MASK_5);
  depth = depth(cv::Rect(1, 1, coloured.cols, coloured.rows));
  cv::Mat1i cores;
  for (const double radius_mm : {0.25, 0.45, 0.7, 1.0, 1.4, 1.8}) {
    const cv::Mat1b eroded((depth > radius_mm * view.px_per_mm) & 1);
    cv::Mat1i stats;
    cv::Mat1d centres;
    cv::connectedComponentsWithStats(eroded, cores, stats, centres, 4);
    own_core = component_at(cores, seed, view);
    if (own_core == 0) break;
    const double width = stats(own_core, cv::CC_STAT_WIDTH) / view.px_per_mm + 2 * radius_mm;
    const double height = stats(own_core, cv::CC_STAT_HEIGHT) / view.px_per_mm + 2 * radius_mm;
    const double area = stats(own_core, cv::CC_STAT_AREA) / (view.px_per_mm * view.px_per_mm);
    if (std::max(width, height) < 14.5 && std::min(width, height) < 12.5 && area < 130) break;
  }
  return cores;
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
  static constexpr int gingiva = 2;
  static constexpr int other = 3;
};

Outline outline_in(LabView view, const CardFit& fit, cv::Point2f seed, const cv::Vec3f& colour,
                   const cv::Mat1b& allowed) {
  cv::Mat3f lab;
  cv::medianBlur(view.lab, lab, 3);
  const cv::Mat1f seam_depth = seams_of(view, lab);
  const cv::Mat1b seams((seam_depth > 4.0F) & 1);
  cv::Mat1b forbidden = card_mask(view, fit);
  forbidden |= (allowed == 0) & 1;
  const LabView smooth = [&] {
    LabView v = view;
    v.lab = lab;
    return v;
  }();
  const cv::Mat1b coloured = tooth_coloured(smooth, colour, seams, forbidden);
  int own_core = 0;
  const cv::Mat1i cores = separate_cores(view, coloured, seed, own_core);
  if (own_core == 0) {
    throw CaptureError("no tooth-like region at the place given; point at the middle of a tooth");
  }

  cv::Mat1i labels(cv::Mat1i::zeros(lab.size()));
  cv::Mat1b red(lab.size());
  for (int y = 0; y < lab.rows; ++y) {
    for (int x = 0; x < lab.cols; ++x) {
      const cv::Vec3f& here = lab(y, x);
      red(y, x) = coloured(y, x) == 0 && is_gingiva_colour(here, colour);
      if (cores(y, x) == own_core) {
        labels(y, x) = Labels::tooth;
      } else if (forbidden(y, x) != 0 || cores(y, x) > 0 || here[0] < colour[0] - 38) {
        labels(y, x) = Labels::other;
      }
    }
  }
  cv::Mat1b red_core;
  cv::erode(red, red_core, disc(pixels(0.15, view)));
  for (int y = 0; y < lab.rows; ++y) {
    for (int x = 0; x < lab.cols; ++x) {
      if (labels(y, x) == 0 && red_core(y, x) != 0) labels(y, x) = Labels::gingiva;
      const bool border = x == 0 || y == 0 || x == lab.cols - 1 || y == lab.rows - 1;
      if (border && labels(y, x) == 0) labels(y, x) = Labels::other;
    }
  }
  flood(edge_landscape(lab, seam_depth), labels);

  Outline outline;
  cv::Mat1b tooth((labels == Labels::tooth) & 1);
  // Thin tongues along seams are not tooth.
  cv::morphologyEx(tooth, tooth, cv::MORPH_OPEN, disc(pixels(0.35, view)));
  cv::Mat1i components;
  cv::connectedComponents(tooth, components, 4);
  const int own = component_at(components, seed, view);
  outline.tooth = (components == std::max(own, 1)) & 1;
  outline.gingiva = (labels == Labels::gingiva) & 1;
  // The tooth is smoother than what surrounds it and is flooded first, ridge included; the edge
  // runs along the middle of the ridge.
  outline.rim = 0.5F;
  outline.view = std::move(view);
  const cv::Rect box = cv::boundingRect(outline.tooth);
  outline.touches_border =
      box.x == 0 || box.y == 0 || box.x + box.width == lab.cols || box.y + box.height == lab.rows;
  return outline;
}

cv::Rect square_around(PointPx at, double half_px) {
  return {static_cast<int>(at.x - half_px), static_cast<int>(at.y - half_px),
          static_cast<int>(2 * half_px), static_cast<int>(2 * half_px)};
}

void check_size(const Outline& outline) {
  const double area =
      cv::countNonZero(outline.tooth) / (outline.view.px_per_mm * outline.view.px_per_mm);
  if (area < 6) {
    throw CaptureError("no tooth-like region at the place given: only " + format_fixed(area, 1) +
                       " mm² of it; point at the middle of a tooth");
  }
}

}  // namespace

Outline outline_from_point(const Photo& photo, const CardFit& fit, PointPx at) {
  LabView view =
      make_view(photo, fit, square_around(at, reach_mm * px_per_mm_at(fit, at)), view_px_per_mm);
  const cv::Point2f seed = view.to_view(at);
  const auto colour = colour_around(view, seed, 0.7);
  if (!colour) {
    throw CaptureError("no tooth-like colour at the place given; point at the middle of a tooth");
  }
  const cv::Mat1b allowed(cv::Mat1b::ones(view.lab.size()));
  Outline outline = outline_in(std::move(view), fit, seed, *colour, allowed);
  check_size(outline);
  return outline;
}

Outline outline_from_box(const Photo& photo, const CardFit& fit, const BoxPx& box) {
  const PointPx middle = {box.x + box.width / 2, box.y + box.height / 2};
  const double half = std::max({box.width, box.height}) / 2 + 2 * px_per_mm_at(fit, middle);
  LabView view = make_view(photo, fit, square_around(middle, half), view_px_per_mm);
  const cv::Point2f seed = view.to_view(middle);
  const auto colour = colour_around(
      view, seed, 0.25 * std::min(box.width, box.height) / view.step / view.px_per_mm);
  if (!colour) {
    throw CaptureError("no tooth-like colour in the middle of the box; draw it around one tooth");
  }
  cv::Mat1b allowed(cv::Mat1b::zeros(view.lab.size()));
  const cv::Point first = view.to_view({box.x, box.y});
  const cv::Point last = view.to_view({box.x + box.width, box.y + box.height});
  cv::rectangle(allowed, first, last, 1, cv::FILLED);
  Outline outline = outline_in(std::move(view), fit, seed, *colour, allowed);
  check_size(outline);
  return outline;
}

Outline outline_from_mask(const Photo& photo, const CardFit& fit, const Mask& mask) {
  const PointPx middle = {static_cast<double>(mask.x) + static_cast<double>(mask.width) / 2,
                          static_cast<double>(mask.y) + static_cast<double>(mask.height) / 2};
  const double half =
      static_cast<double>(std::max(mask.width, mask.height)) / 2 + 2 * px_per_mm_at(fit, middle);
  Outline outline;
  outline.view = make_view(photo, fit, square_around(middle, half), view_px_per_mm);
  const LabView& view = outline.view;
  outline.tooth = cv::Mat1b::zeros(view.lab.size());
  outline.gingiva = cv::Mat1b::zeros(view.lab.size());
  std::vector<float> redness;
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
      redness.push_back(view.lab(y, x)[1]);
    }
  }
  if (redness.empty()) throw ArgumentError("the tooth mask is empty");
  const cv::Vec3f colour(0, median_of(redness), 0);
  for (int y = 0; y < view.lab.rows; ++y) {
    for (int x = 0; x < view.lab.cols; ++x) {
      outline.gingiva(y, x) = outline.tooth(y, x) == 0 && is_gingiva_colour(view.lab(y, x), colour);
    }
  }
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

}  // namespace mamelon::detail
